"""A whole rearing, day by day, as the plans of a healthy chick on its species' curve: for who reads a profile."""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime

from api.birds.rules.words import Alertness, Body, BodyCondition, Crop, Droppings, Hydration, Origin, Swallowing
from api.catalog.rules.known import Known
from api.plans.rules.plan import FeedingPlan
from api.plans.rules.planning import feeding_plan
from api.plans.rules.request import Condition, PlanRequest
from species.domain.errors import DomainError
from species.domain.food import Food, Formula
from species.domain.profile import Profile
from species.domain.record import Record

#: Any day will do: a plan knows dates only for its clock times.
_ON = date(2027, 5, 2)
_AT = datetime(2027, 5, 2, 9, tzinfo=UTC)
#: Where neither weaning nor fledging is known.
_USUAL_LAST_DAY = 40.0


class RearingDay(Record, frozen=True, kw_only=True):
    """One day of it. Null where the plan has none; ``given_of_need`` is planned over needed energy."""

    day: int
    stage: str | None
    decision: str
    mass_g: float | None
    feeds_per_day: int | None = None
    night_feeds: int | None = None
    interval_min: int | None = None
    volume_ml: float | None = None
    feed_g: float | None = None
    percent_of_mass: float | None = None
    dry_matter_fraction: float | None = None
    brooder_c: float | None = None
    need_kj: float | None = None
    given_kj: float | None = None
    clinical_low_kj: float | None = None
    clinical_high_kj: float | None = None
    given_of_need: float | None = None
    refused: str | None = None


def last_day(profile: Profile) -> int:
    """To the earliest weaning or the latest fledging, whichever is later."""
    ages = [band for band in (profile.weaning.age_days, profile.fledging_days) if band is not None]
    last_stage_day = profile.stages[-1].ages.from_day
    return round(max([*(band.high for band in ages), last_stage_day] if ages else [_USUAL_LAST_DAY, last_stage_day]))


def rearing(
    profile: Profile, *, formula: Formula | None, foods: Mapping[str, Food], to_day: int | None = None
) -> Iterator[RearingDay]:
    """Plan each day of a chick that is well, weighed at what its species' curve expects, and past its first day here.

    Parameters
    ----------
    profile
        The species.
    formula
        Its powder; null where it takes none.
    foods
        Foods by key.
    to_day
        Last day, in days from hatching; the end of fledging or weaning where left out.
    """
    for day in range((last_day(profile) if to_day is None else to_day) + 1):
        try:
            expected = _plan(profile, formula, foods, day, None).mass.expected_g
            yield _row(day, _plan(profile, formula, foods, day, expected))
        except DomainError as refusal:
            yield RearingDay(day=day, stage=None, decision="refused", mass_g=None, refused=str(refusal))


def _plan(
    profile: Profile, formula: Formula | None, foods: Mapping[str, Food], day: int, mass_g: float | None
) -> FeedingPlan:
    request = PlanRequest(
        on=_ON,
        age_days=day + 0.5,
        mass_g=mass_g,
        condition=Condition(
            body=Body.WARM,
            hydration=Hydration.NORMAL,
            body_condition=BodyCondition.GOOD,
            alertness=Alertness.BRIGHT,
            swallowing=Swallowing.STRONG,
            crop=Crop.EMPTY if profile.has_crop.value else Crop.NO_CROP,
            droppings=Droppings.NORMAL,
        ),
        origin=Origin.CAPTIVE,
        first_feed_in_care=False,
    )
    return feeding_plan(Known(profile=profile), request, now=_AT, formula=formula, foods=foods)


def _row(day: int, plan: FeedingPlan) -> RearingDay:
    feed, energy = plan.feed, plan.energy
    need, given = energy.need_kj_per_day, energy.planned_kj_per_day
    return RearingDay(
        day=day,
        stage=plan.stage.key if plan.stage else None,
        decision=plan.decision.value,
        mass_g=plan.mass.value_g if plan.mass.value_g is not None else plan.mass.expected_g,
        feeds_per_day=feed.feeds_per_day if feed else None,
        night_feeds=feed.night_feeds if feed else None,
        interval_min=feed.interval_min if feed else None,
        volume_ml=feed.volume_ml if feed else None,
        feed_g=feed.mass_g if feed else None,
        percent_of_mass=feed.percent_of_mass if feed else None,
        dry_matter_fraction=plan.formula.dry_matter_fraction if plan.formula else None,
        brooder_c=plan.brooder.target_c if plan.brooder else None,
        need_kj=need,
        given_kj=given,
        clinical_low_kj=energy.clinical_low_kj_per_day,
        clinical_high_kj=energy.clinical_high_kj_per_day,
        given_of_need=given / need if need and given else None,
    )
