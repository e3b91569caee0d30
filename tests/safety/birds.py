"""Birds for the hazard tests: every built-in profile, at every stage, well unless a row says otherwise."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from functools import cache
from importlib.resources import files

import msgspec

from api.birds.rules.words import Alertness, Body, BodyCondition, Crop, Droppings, Hydration, Origin, Swallowing
from api.catalog.rules.known import Known
from api.plans.rules.plan import FeedingPlan
from api.plans.rules.planning import feeding_plan
from api.plans.rules.request import Condition, FeedingDay, PlanRequest
from species.domain.pack import Pack
from species.domain.profile import Profile
from species.domain.vocabulary import DevelopmentalMode, FeedingKind
from species.packs.read import read_pack

TODAY = date(2027, 5, 2)
MORNING = datetime(2027, 5, 2, 9, 0, tzinfo=UTC)
DAWN = datetime(2027, 5, 2, 5, 0, tzinfo=UTC)
DAY = FeedingDay(first=time(6, 0), last=time(20, 0))


@cache
def pack() -> Pack:
    reading = read_pack(files("species.builtin"))
    assert reading.pack is not None, [str(finding) for finding in reading.findings]
    return reading.pack


def profiles() -> tuple[Profile, ...]:
    return pack().profiles


def plan_for(profile: Profile, request: PlanRequest, *, now: datetime = MORNING) -> FeedingPlan:
    formula = next((f for f in pack().formulas if f.key == profile.default_formula), None)
    foods = {food.key: food for food in pack().foods}
    return feeding_plan(Known(profile=profile), request, now=now, formula=formula, foods=foods)


def well(profile: Profile, **seen: object) -> Condition:
    """A bird that was looked at and found well, but for what is told."""
    usual: dict[str, object] = {
        "body": Body.WARM,
        "hydration": Hydration.NORMAL,
        "body_condition": BodyCondition.GOOD,
        "alertness": Alertness.BRIGHT,
        "swallowing": Swallowing.STRONG,
        "crop": Crop.EMPTY if profile.has_crop.value else Crop.NO_CROP,
        "droppings": Droppings.NORMAL,
    }
    return Condition(**(usual | seen))  # type: ignore[arg-type]


def request_for(profile: Profile, age_days: float | None, **told: object) -> PlanRequest:
    """A captive-bred bird of the profile today, with its expected mass, already in care and well."""
    usual: dict[str, object] = {
        "on": TODAY,
        "age_days": age_days,
        "mass_g": None if age_days is None or "mass_g" in told else expected_mass_g(profile, age_days),
        "feeding_day": DAY,
        "condition": well(profile),
        "origin": Origin.CAPTIVE,
        "first_feed_in_care": False,
    }
    return PlanRequest(**(usual | told))  # type: ignore[arg-type]


@cache
def expected_mass_g(profile: Profile, age_days: float) -> float:
    """What the plan itself expects at this age; from the adult mass where the profile has no curve."""
    expected = plan_for(profile, request_for(profile, age_days, mass_g=None)).mass.expected_g
    if expected is not None:
        return expected
    adult_g = profile.masses.adult_g.value
    hatch_g = profile.masses.hatch_g.value if profile.masses.hatch_g else adult_g / 10
    return min(adult_g, hatch_g * (1 + age_days))


def stage_ages(profile: Profile) -> Iterator[float]:
    """An age inside each stage, and late on the second day."""
    yield 2.0
    for stage in profile.stages:
        low = max(stage.ages.from_day, 1.5)
        yield (low + (stage.ages.to_day if stage.ages.to_day is not None else low + 4)) / 2


def fed_by_hand(profile: Profile) -> bool:
    return profile.feeding_kind is not FeedingKind.SELF_FEEDING and profile.developmental_mode is not (
        DevelopmentalMode.PRECOCIAL
    )


def altered(profile: Profile, **values: object) -> Profile:
    return msgspec.structs.replace(profile, **values)
