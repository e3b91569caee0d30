"""What was not told is looked at before the feed."""

import pytest

from api.birds.rules.words import Alertness, Body, Crop, Droppings, Hydration, Swallowing
from api.plans.rules.checks import checks
from api.plans.rules.request import Condition, PlanRequest
from tests.safety.birds import TODAY, pack

PROFILES = {profile.key: profile for profile in pack().profiles}
COCKATIEL, OWL = PROFILES["nymphicus-hollandicus"], PROFILES["tyto-alba"]
ALL_TOLD = {
    "body": Body.WARM,
    "hydration": Hydration.NORMAL,
    "alertness": Alertness.BRIGHT,
    "swallowing": Swallowing.STRONG,
    "crop": Crop.EMPTY,
    "droppings": Droppings.NORMAL,
}


def codes(profile=COCKATIEL, first=False, **seen):
    request = PlanRequest(on=TODAY, age_days=5.0, condition=Condition(**seen), first_feed_in_care=first)
    return [check.code for check in checks(profile, request)]


def test_a_first_feed_of_which_nothing_is_told():
    """HRB pp.5, 333: body temperature, hydration and crop before the first feed."""
    assert codes(first=True) == ["body", "hydration", "crop", "alertness", "swallow", "droppings", "mouth"]


def test_what_was_told_is_not_asked_again():
    assert codes(**ALL_TOLD) == []


@pytest.mark.parametrize(
    ("missing", "code"),
    [
        ("body", "body"),
        ("hydration", "hydration"),
        ("crop", "crop"),
        ("alertness", "alertness"),
        ("swallowing", "swallow"),
        ("droppings", "droppings"),
    ],
)
def test_each_unknown_has_its_check(missing, code):
    assert codes(**{word: value for word, value in ALL_TOLD.items() if word != missing}) == [code]


def test_a_share_of_dehydration_tells_the_hydration():
    told = {word: value for word, value in ALL_TOLD.items() if word != "hydration"}
    assert codes(**told, dehydration_fraction=0.0) == []


def test_a_mild_dehydration_is_looked_at_again():
    assert codes(**(ALL_TOLD | {"hydration": Hydration.MILD})) == ["hydration"]


def test_a_bird_without_a_crop_has_none_to_feel():
    """HRB pp.8, 491: owls have no crop."""
    assert "crop" not in codes(OWL, first=True)


def test_every_check_says_what_to_do_if_it_fails():
    request = PlanRequest(on=TODAY, age_days=5.0, first_feed_in_care=True)
    assert all(check.text and check.if_not for check in checks(COCKATIEL, request))
