"""Stored birds of every profile: what their records must never bring into a plan (hazards 8, 23, 24, 29, 30)."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import msgspec
import pytest

from api.birds.rules.words import Context, Crop, Origin, WeighingState
from api.catalog.rules.known import Known
from api.growth.rules.record import GrowthKept, MilestoneKept, WeighingKept
from api.plans.rules.care import CareKept, CropLook, FeedKept
from api.plans.rules.plan import FEEDING, FeedingPlan
from api.plans.rules.planning import feeding_plan
from api.plans.rules.stored import asked_of_record
from species.domain.profile import Profile
from species.domain.vocabulary import MilestoneKey
from tests.safety import never
from tests.safety.birds import expected_mass_g, fed_by_hand, pack, profiles
from tests.safety.cases import Case

#: A day at which every profile's bird still grows, and some of its mornings before.
DAY, MORNINGS = 8, 5
NOW = datetime(2027, 5, 2, 9, 0, tzinfo=UTC)
HATCHED = date(2027, 5, 2) - timedelta(days=DAY)

all_profiles = pytest.mark.parametrize("profile", profiles(), ids=lambda profile: profile.key)
hand_fed = pytest.mark.parametrize("profile", [p for p in profiles() if fed_by_hand(p)], ids=lambda p: p.key)
with_crop = pytest.mark.parametrize(
    "profile", [p for p in profiles() if fed_by_hand(p) and p.has_crop.value], ids=lambda p: p.key
)


def thriving(profile: Profile) -> list[float]:
    return [expected_mass_g(profile, float(DAY - n)) for n in reversed(range(MORNINGS))]


def record(
    grams: Sequence[float], *, last_hours_ago: float = 1.0, last: WeighingState = WeighingState.ACCEPTED, **told: object
) -> GrowthKept:
    """A bird that was weighed every morning, last some hours ago."""
    weighings = tuple(
        WeighingKept(
            uid=UUID(int=n + 1),
            at=NOW - timedelta(hours=last_hours_ago, days=len(grams) - 1 - n),
            mass_g=round(gram, 2),
            context=Context.BEFORE_FIRST_FEED,
            state=last if n == len(grams) - 1 else WeighingState.ACCEPTED,
        )
        for n, gram in enumerate(grams)
    )
    usual: dict[str, object] = {"time_zone": "Etc/UTC", "hatched_on": HATCHED, "weighings": weighings}
    return GrowthKept(**(usual | told))  # type: ignore[arg-type]


def care(*looks: CropLook, fed_hours_ago: float = 4.0) -> CareKept:
    fed = FeedKept(at=NOW - timedelta(hours=fed_hours_ago))
    return CareKept(intake_at=NOW - timedelta(days=6), origin=Origin.CAPTIVE, feeds=(fed,), looks=looks)


def plan_of(profile: Profile, growth: GrowthKept, cared: CareKept | None = None) -> FeedingPlan:
    known = Known(profile=profile)
    asked = asked_of_record(known, growth, cared or care(), on=NOW.date(), now=NOW)
    return feeding_plan(
        known,
        asked.request,
        now=NOW,
        formula=next((f for f in pack().formulas if f.key == profile.default_formula), None),
        foods={food.key: food for food in pack().foods},
        recorded=asked.cautions,
    )


def amount(plan: FeedingPlan) -> float | None:
    return None if plan.feed is None else plan.feed.volume_ml or plan.feed.mass_g


@all_profiles
@pytest.mark.parametrize("slip", [10.0, 0.1, 100.0, 5.5, 0.18])
@pytest.mark.parametrize("state", [WeighingState.ACCEPTED, WeighingState.QUESTIONED])
def test_a_slip_never_reaches_a_plan(profile: Profile, slip: float, state: WeighingState) -> None:
    grams = thriving(profile)
    without = plan_of(profile, record(grams[:-1], last_hours_ago=25.0))
    with_slip = plan_of(profile, record([*grams[:-1], grams[-1] * slip], last=state))
    assert with_slip.mass.value_g == without.mass.value_g
    assert (with_slip.decision, amount(with_slip)) == (without.decision, amount(without))
    assert "implausible_weight" in {caution.code for caution in with_slip.cautions}


@all_profiles
def test_a_first_weight_that_is_a_slip_leaves_the_bird_to_be_weighed(profile: Profile) -> None:
    plan = plan_of(profile, record([expected_mass_g(profile, float(DAY)) * 10]))
    assert plan.mass.basis == "low_end_of_expected"
    assert plan.feed is None or plan.feed.provisional


@hand_fed
@pytest.mark.parametrize("hours", [27.0, 50.0, 100.0, 300.0])
def test_an_old_weight_of_a_growing_chick_is_no_full_portion(profile: Profile, hours: float) -> None:
    grams = thriving(profile)
    late = DAY + round(hours / 24)
    growth = record(grams, last_hours_ago=hours, hatched_on=NOW.date() - timedelta(days=late))
    plan = plan_of(profile, growth)
    if plan.mass.basis == "measured":  # its kind hardly grows any more at this age
        assert hours < 72
        return
    assert plan.mass.basis == "low_end_of_own_record"
    assert plan.mass.value_g is not None
    assert plan.mass.value_g <= growth.weighings[-1].mass_g
    assert "weighing_overdue" in {caution.code for caution in plan.cautions}
    if plan.decision in FEEDING:
        assert plan.decision == "weigh_first"
        assert plan.feed is not None
        assert plan.feed.provisional
        assert never.overfilled(Case(profile, msgspec.structs.replace(request_of(profile, growth))), plan) is None


def request_of(profile: Profile, growth: GrowthKept):  # type: ignore[no-untyped-def]
    """The request that the plan was made from, with the weight it was reckoned from as measured."""
    asked = asked_of_record(Known(profile=profile), growth, care(), on=NOW.date(), now=NOW).request
    return msgspec.structs.replace(asked, mass_g=growth.weighings[-1].mass_g)


@with_crop
def test_no_gain_and_a_slow_crop_brings_no_larger_feed(profile: Profile) -> None:
    still = [*thriving(profile)[:2], *[thriving(profile)[1]] * 3]
    look = CropLook(at=NOW - timedelta(minutes=20), crop=Crop.RESIDUE)
    slow, free = plan_of(profile, record(still), care(look)), plan_of(profile, record(still))
    assert slow.vet.needed
    if slow.feed is not None and free.feed is not None:
        assert (amount(slow) or 0) <= (amount(free) or 0)


@with_crop
def test_no_gain_and_a_crop_that_stays_full_is_a_vets(profile: Profile) -> None:
    still = [*thriving(profile)[:2], *[thriving(profile)[1]] * 3]
    look = CropLook(at=NOW - timedelta(minutes=20), crop=Crop.NOT_EMPTIED)
    plan = plan_of(profile, record(still), care(look))
    assert (plan.decision, plan.feed) == ("see_vet", None)


@hand_fed
def test_a_weaning_loss_drops_no_feed(profile: Profile) -> None:
    eats = (MilestoneKept(key=MilestoneKey.SELF_FEEDS_SOME, seen=True, observed_at=NOW - timedelta(days=3)),)
    age = profile.weaning.age_days.high if profile.weaning.age_days else 40.0
    adult = profile.masses.adult_g.value
    hatched = NOW.date() - timedelta(days=round(age))
    losing = record([adult, adult * 0.95, adult * 0.88, adult * 0.76], hatched_on=hatched, milestones=eats)
    plan = plan_of(profile, losing)
    assert (plan.weaning.phase, plan.weaning.drop_feed) == ("step_back", None)


@all_profiles
def test_a_confirmed_weight_is_believed(profile: Profile) -> None:
    """Within what a plan can be made from at all: the third of what is expected, and somebody looked twice."""
    grams = thriving(profile)
    light = plan_of(profile, record([*grams[:-1], grams[-1] / 3], last=WeighingState.CONFIRMED))
    assert light.mass.value_g == pytest.approx(grams[-1] / 3, abs=0.01)
