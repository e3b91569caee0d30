"""Days shorter than practice prints, and the rest of a day: nothing crammed, nothing lost, nothing unsaid.

Found by asking the running service as a vet would; common practice, no source, where none is named.
"""

from datetime import date, time

import pytest

from api.birds.rules.words import BodyCondition, Crop, Origin
from api.catalog.rules.unlisted import inferred_profile
from api.plans.rules.planning import feeding_plan
from api.plans.rules.request import FeedingDay, PlanRequest
from tests.safety.birds import MORNING, pack, plan_for, profiles, well

PROFILES = {profile.key: profile for profile in profiles()}
ON = date(2027, 5, 10)


def plan(key, age_days, mass_g, *, first=None, last=None, seen=None, **told):
    day = FeedingDay(first=first, last=last) if first else None
    request = PlanRequest(
        on=ON,
        age_days=age_days,
        mass_g=mass_g,
        feeding_day=day,
        condition=well(PROFILES[key], **(seen or {})),
        **told,
    )
    return plan_for(PROFILES[key], request, now=MORNING)


def caution(found, code):
    return next((c for c in found.cautions if c.code == code), None)


@pytest.mark.parametrize(
    ("key", "age_days", "mass_g", "first", "last"),
    [
        ("falco-sparverius", 16, 124.0, time(8), time(8, 20)),
        ("falco-sparverius", 16, 124.0, time(9), time(10)),
        ("ardea-herodias", 10, 295.0, time(9), time(10)),
        ("nymphicus-hollandicus", 1, 5.5, time(9), time(10)),
        ("passer-domesticus", 8, 21.0, time(8), time(8, 20)),
    ],
)
def test_a_short_day_is_not_crammed_and_is_said(key, age_days, mass_g, first, last):
    short = plan(key, age_days, mass_g, first=first, last=last)
    whole = plan(key, age_days, mass_g)
    assert short.feed.interval_low_min == whole.feed.interval_low_min
    assert short.feed.feeds_per_day <= 3
    amount = short.feed.volume_ml or short.feed.mass_g
    most = whole.feed.high_ml or whole.feed.high_g
    assert amount <= most
    assert caution(short, "feeding_day_too_short").severity == "urgent"
    assert caution(whole, "feeding_day_too_short") is None


@pytest.mark.parametrize(
    ("key", "age_days", "mass_g", "expected"),
    [
        ("tyto-alba", 30, 330.0, 2),
        ("zenaida-macroura", 8, 32.0, 3),
        ("nymphicus-hollandicus", 10, 29.0, 3),
    ],
)
def test_the_rest_of_a_day_keeps_its_feeds(key, age_days, mass_g, expected):
    found = plan(key, age_days, mass_g, start_from=time(15, 10))
    assert found.timetable[0].endswith("15:10:00+00:00")
    assert len(found.timetable) == expected


def test_no_feed_any_more_is_said():
    found = plan("nymphicus-hollandicus", 10, 29.0, start_from=time(23, 50))
    assert found.timetable == ()
    assert "tomorrow" in caution(found, "no_more_today").text


def test_a_bird_without_a_crop_has_no_slow_crop():
    """Hazard 18: no crop rule for owls."""
    told = plan("tyto-alba", 16, 148.0, seen={"crop": Crop.FULL})
    plain = plan("tyto-alba", 16, 148.0)
    assert told.feed.mass_g == plain.feed.mass_g


@pytest.mark.parametrize(("key", "mass_g"), [("passer-domesticus", 26.0), ("falco-sparverius", 124.0)])
def test_a_grown_wild_bird_is_not_brought_back_to_its_parents(key, mass_g):
    assert plan(key, 400, mass_g, origin=Origin.WILD).decision != "return_to_parents"


@pytest.mark.parametrize("key", [k for k, p in PROFILES.items() if p.feeding_kind != "self_feeding"])
@pytest.mark.parametrize("age_days", [1, 8, 20, 70])
def test_the_band_of_an_emaciated_bird_is_a_band(key, age_days):
    profile = PROFILES[key]
    curve = profile.growth_curve
    from species.biology import growth_forms

    mass_g = round(
        0.9
        * float(
            growth_forms.mass_g(
                curve.form.value,
                age_days,
                curve.asymptote_g.value,
                curve.rate_per_day.value,
                curve.inflection_days.value,
            )
        ),
        1,
    )
    found = plan(key, age_days, mass_g, seen={"body_condition": BodyCondition.EMACIATED})
    if found.feed is None:
        return
    amount, low, high = (
        (found.feed.volume_ml, found.feed.low_ml, found.feed.high_ml)
        if found.feed.volume_ml is not None
        else (found.feed.mass_g, found.feed.low_g, found.feed.high_g)
    )
    assert low <= amount <= high
    assert high <= 0.0301 * mass_g + 0.011


@pytest.mark.parametrize(
    ("order", "decision"),
    [("apodiformes", "feed"), ("Nowhereformes", "identify_first"), ("Psittaciformes", "identify_first")],
)
def test_an_unlisted_hunter_of_insects_is_fed_only_where_that_fits(order, decision):
    known = inferred_profile(
        scientific_name="Apus pallidus",
        order=order,
        adult_mass_g=42.0,
        developmental_mode="altricial",
        food_guild="aerial_insectivore",
        practice=PROFILES["apus-apus"],
    )
    request = PlanRequest(on=ON, age_days=12, mass_g=30.0, condition=well(PROFILES["apus-apus"]))
    foods = {food.key: food for food in pack().foods}
    assert feeding_plan(known, request, now=MORNING, formula=None, foods=foods).decision == decision
