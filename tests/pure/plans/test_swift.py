"""A common swift from day 1 to day 40: between need and ceiling, at the meals printed for it."""

from datetime import time

import pytest

from api.catalog.rules.unlisted import inferred_profile
from api.plans.rules.request import FeedingDay
from tests.safety.birds import plan_for, profiles, request_for

SWIFT = next(profile for profile in profiles() if profile.key == "apus-apus")
AGES = range(1, 41)
#: From here on insects are counted.
PIECES_FROM_DAY = 7
DAYS = [pytest.param(FeedingDay(first=time(6), last=time(6 + hours)), id=f"HRB p.513 {hours} h") for hours in (12, 14)]


def plan(age, day):
    return plan_for(SWIFT, request_for(SWIFT, float(age), feeding_day=day))


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("age", AGES)
def test_it_is_fed_between_its_need_and_the_ceiling(age, day):
    found = plan(age, day)
    energy = found.energy
    assert energy.low_kj_per_day <= energy.planned_kj_per_day
    assert energy.planned_kj_per_day <= max(energy.high_kj_per_day, energy.clinical_high_kj_per_day)
    assert "energy_below_need" not in {caution.code for caution in found.cautions}


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("age", AGES)
def test_it_is_not_stuffed(age, day):
    # The higher of need and clinical low end is fed for (QUE89); whole insects overshoot it by one a meal at most.
    found = plan(age, day)
    target = max(found.energy.need_kj_per_day, found.energy.clinical_low_kj_per_day)
    assert found.energy.planned_kj_per_day <= 1.2 * target


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("age", AGES)
def test_how_often_is_as_printed(age, day):
    found = plan(age, day)
    if age < PIECES_FROM_DAY:  # HRB p.513: every 30 to 60 minutes
        assert 30 <= found.feed.interval_min <= 60
        return
    assert 5 <= found.feed.feeds_per_day <= 8  # MAT06: 5 to 8 meals a day
    assert 6 <= found.feed.items[0].count <= 12  # HRB p.514: 6-7 to 10-12 insects
    assert len(found.timetable) == found.feed.feeds_per_day


def test_seven_meals_of_seven_crickets_meet_the_need_of_day_nine():
    # 7 meals (MAT06) x 7 insects (HRB p.514) x 0.2 g (FIN02, from memory) x 5.54 kJ/g (HRB Table 41.1 x WIL81).
    energy = plan(9, FeedingDay(first=time(6), last=time(18))).energy
    assert energy.planned_kj_per_day == pytest.approx(7 * 7 * 0.2 * 5.54, abs=0.1)
    assert energy.planned_kj_per_day >= energy.need_kj_per_day


def test_a_swallow_is_not_lent_the_few_meals_of_a_swift():
    swallow = inferred_profile(
        scientific_name="Hirundo rustica",
        order="Passeriformes",
        adult_mass_g=19.0,
        developmental_mode="altricial",
        food_guild="aerial_insectivore",
        practice=SWIFT,
    ).profile
    assert len(swallow.stages) == len(SWIFT.stages)
    for stage in swallow.stages:
        assert stage.feeds_per_day is None
        assert (stage.interval_min.low, stage.interval_min.high) == (30, 60)  # HRB p.513
