"""Which of a species' cautions are shown when, and that all of them together can be read at two in the morning."""

import re

import pytest

from api.birds.rules.words import BodyCondition, Origin
from api.plans.rules.cautions import BROODER_ADVICE, REWORDED
from api.web.rules.cautions import Severity
from species.domain.profile import ProfileCaution
from species.domain.sourcing import Reach
from tests.safety.birds import pack, plan_for, request_for, well

PROFILES = {profile.key: profile for profile in pack().profiles}
COCKATIEL, OWL, SWIFT = (PROFILES[key] for key in ("nymphicus-hollandicus", "tyto-alba", "apus-apus"))
#: What a tired reader takes in. Common practice, no source: ours.
MOST_CAUTIONS, MOST_OF_THE_SPECIES, LONGEST_TEXT = 16, 8, 220


def cautions(profile, days, origin=Origin.CAPTIVE, **told):
    return plan_for(profile, request_for(profile, float(days), origin=origin, **told)).cautions


def codes(*args, **kwargs):
    return {caution.code for caution in cautions(*args, **kwargs)}


@pytest.mark.parametrize(
    ("profile", "code", "days", "shown"),
    [
        pytest.param(COCKATIEL, "thin_food_ends_day_four", 5, True, id="R&G86: thin food must have ended"),
        pytest.param(COCKATIEL, "thin_food_ends_day_four", 9, False, id="R&G86: long past"),
        pytest.param(SWIFT, "saliva", 6.9, True, id="HRB p.513 under seven days"),
        pytest.param(SWIFT, "saliva", 7, False, id="HRB p.513 seven days"),
        pytest.param(OWL, "no_casting", 20, True, id="under three weeks, common practice, no source"),
        pytest.param(OWL, "no_casting", 21, False, id="three weeks, common practice, no source"),
        pytest.param(OWL, "talons", 5, False, id="downy, common practice, no source"),
        pytest.param(OWL, "talons", 30, True, id="armed, common practice, no source"),
    ],
)
def test_a_caution_is_shown_while_it_holds(profile, code, days, shown):
    assert (code in codes(profile, days)) is shown


@pytest.mark.parametrize(
    ("low", "high", "holds"),
    [(0, 4.9, False), (0, 5, True), (5, 5, True), (6.9, 20, True), (7, 20, False), (0, 30, True)],
)
def test_an_uncertain_age_shows_what_may_hold(low, high, holds):
    caution = ProfileCaution(
        code="days", text="Five and six.", reach=Reach.SPECIES, sources=("HRB p.1",), from_day=5.0, to_day=7.0
    )
    assert caution.holds_between(low, high) is holds


def test_a_profile_says_the_usual_ones_in_its_own_words():
    own = {c.code: (c.text, c.sources) for c in COCKATIEL.cautions if c.code in REWORDED}
    assert set(own) == {"measure_in_syringe", "stop_when_it_coughs"}
    found = cautions(COCKATIEL, 9)
    for code, words in own.items():
        assert [(c.text, c.sources) for c in found if c.code == code] == [words]


def test_own_words_on_a_feed_are_not_said_without_one():
    cold = well(COCKATIEL, body="cold")
    assert not {"measure_in_syringe", "stop_when_it_coughs"} & codes(COCKATIEL, 9, condition=cold)


@pytest.mark.parametrize(("origin", "said"), [(Origin.WILD, True), (Origin.UNKNOWN, True), (Origin.CAPTIVE, False)])
def test_parents_are_named_only_where_there_are_any(origin, said):
    assert ("parents_first" in codes(OWL, 15, origin=origin)) is said


@pytest.mark.parametrize(
    ("profile", "last_day", "word"),
    [
        pytest.param(SWIFT, 28, "refused", id="MAR97 every swift loses mass before it flies"),
        pytest.param(OWL, 40, "a fifth", id="D&H01 391 g on day 40, 314 g on day 60"),
    ],
)
def test_past_the_curve_the_fall_is_no_alarm(profile, last_day, word):
    assert "age_beyond_curve" not in codes(profile, last_day)
    (told,) = [c for c in cautions(profile, last_day + 1) if c.code == "age_beyond_curve"]
    assert (told.severity, told.act_within_h) == (Severity.NOTE, None)
    assert f"day {last_day}" in told.text
    assert word in told.text


@pytest.mark.parametrize("key", PROFILES)
def test_past_every_curve_somebody_says_so(key):
    profile = PROFILES[key]
    curve = profile.growth_curve
    assert curve is not None
    (told,) = [c for c in cautions(profile, curve.valid_to_day + 1) if c.code == "age_beyond_curve"]
    assert f"day {curve.valid_to_day:g}" in told.text


def test_of_the_notes_the_vet_stands_first_and_the_law_second():
    found = cautions(OWL, 15, origin=Origin.WILD, condition=well(OWL, body_condition=BodyCondition.THIN))
    assert found[0].severity is Severity.ACT_TODAY
    notes = [caution.code for caution in found if caution.severity is Severity.NOTE]
    assert notes[:2] == ["ask_a_vet", "law_and_licence"]


def test_the_species_stands_before_the_portion():
    notes = [caution.code for caution in cautions(OWL, 12) if caution.severity is Severity.NOTE]
    assert notes.index("no_casting") < notes.index("portion_from_energy")
    assert notes.index("off_the_heat") < notes.index("vary_the_food")


@pytest.mark.parametrize("key", PROFILES)
def test_a_profile_says_each_in_two_sentences(key):
    for caution in PROFILES[key].cautions:
        assert len(re.findall(r"[.!?](?:\s|$)", caution.text)) <= 2, caution.code


@pytest.mark.parametrize("origin", [Origin.CAPTIVE, Origin.WILD])
@pytest.mark.parametrize("key", PROFILES)
def test_no_plan_of_a_well_bird_is_a_wall_of_words(key, origin):
    profile = PROFILES[key]
    own = {caution.code for caution in profile.cautions}
    for age in range(61):
        found = cautions(profile, age, origin=origin)
        assert len(found) <= MOST_CAUTIONS, age
        assert sum(caution.code in own for caution in found) <= MOST_OF_THE_SPECIES, age
        assert [caution.code for caution in found if len(caution.text) > LONGEST_TEXT] == [], age


@pytest.mark.parametrize("key", PROFILES)
def test_no_profile_repeats_the_brooder_advice(key):
    assert "PTFE" in " ".join(BROODER_ADVICE)
    assert "PTFE" not in " ".join(caution.text for caution in PROFILES[key].cautions)
