"""From a stored bird's record to the request that its plan is made from.

What the record does not say stays unknown, so that the plan asks for it. A weight counts for a feed only if it is
believed, and new enough: hazards 8 and 30.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import msgspec

from api.birds.rules.words import Context, WeighingState
from api.catalog.rules.known import Known
from api.catalog.rules.strain import curve_of_strain
from api.growth.rules.assessment import Assessment, assess
from api.growth.rules.assessment_cautions import record_cautions
from api.growth.rules.gaining import (
    GROWING_WEIGHED_WITHIN,
    GROWN_WEIGHED_WITHIN,
    day_weights,
    is_growing,
    own_peak_g,
    stands_still,
)
from api.growth.rules.record import GrowthKept, WeighingKept, milestones_now
from api.growth.rules.series import hatched_at
from api.growth.rules.stored import Judged, age_known, among_themselves, asked_of, being_weaned, judged_by
from api.kitchen.rules.powders import Powder
from api.plans.rules.ageing import reference_instant
from api.plans.rules.care import RESTED_AFTER, CareKept, condition_now, first_feed, food_is_slow
from api.plans.rules.expecting import within_species
from api.plans.rules.plausible import CLOCK_SKEW
from api.plans.rules.request import Lately, MilestoneSeen, PlanRequest
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, Caution, Severity
from species.domain.errors import DomainError
from species.domain.record import Record

#: Findings of weight that a plan says too; it finds a light bird by itself.
SAID = ("weight_loss", "weaning_loss", "no_gain", "implausible_weight")
#: The record is too short for a curve, or there is none for the species: the plan is made without.
WITHOUT_ASSESSMENT = frozenset({"no_weighings", "weighed_before_hatching", "no_growth_curve"})


class Asked(Record, frozen=True, kw_only=True):
    """A request made from a record, and what the record asks to be said beside the plan."""

    request: PlanRequest
    cautions: tuple[Caution, ...]


class _Weights(Record, frozen=True, kw_only=True):
    """A bird's weights as a plan takes them."""

    judged: Judged | None = None
    assessment: Assessment | None = None
    believed: tuple[WeighingKept, ...] = ()

    def last(self, zone: ZoneInfo) -> WeighingKept | None:
        """The last believed weight; of one with a crop just filled, an emptier one of the same day."""
        if not self.believed:
            return None
        last = self.believed[-1]
        day = [one for one in self.believed if one.at.astimezone(zone).date() == last.at.astimezone(zone).date()]
        emptier = [one for one in day if one.context is not Context.AFTER_FEED]
        return emptier[-1] if emptier else last


class _Aged(Record, frozen=True, kw_only=True):
    """How old it is now, and by what; an estimate has a spread."""

    days: float
    hatched_at: datetime | None = None
    hatched_on: date | None = None
    sd_days: float | None = None


def asked_of_record(
    known: Known, growth: GrowthKept, care: CareKept, *, on: date, now: datetime, powder: Powder | None = None
) -> Asked:
    """Make the request of a stored bird's plan.

    Parameters
    ----------
    known
        Its species.
    growth, care
        Its record. What lies after the instant that the plan speaks of is left out.
    on
        The day the plan is for, where the bird is.
    now
        The present instant, aware.
    powder
        What it is fed with; null where the profile's own formula serves.

    Returns
    -------
    Asked

    Raises
    ------
    DomainError
        Where nothing tells its age, or what is recorded of it cannot be.
    """
    zone = ZoneInfo(growth.time_zone)
    at = reference_instant(PlanRequest(on=on, time_zone=growth.time_zone), now)
    growth, care = _until(growth, care, at + CLOCK_SKEW)
    weights = _weights(known, growth)
    days = day_weights(weights.believed, growth.time_zone)
    last = weights.last(zone)
    aged = _aged(known, growth, weights, at)
    growing = is_growing(curve_of_strain(known.profile, growth.adult_mass_g), aged.days)
    fresh = last is not None and at - last.at <= (GROWING_WEIGHED_WITHIN if growing else GROWN_WEIGHED_WITHIN)
    still = stands_still(days, weights.assessment, growing=growing)
    codes = {finding.code for finding in weights.assessment.findings} if weights.assessment else set()
    first = first_feed(care, weighed_since=growth.weighings[0].at if growth.weighings else None, at=at)
    slow = food_is_slow(care, at=at)
    overdue = last if not fresh else None
    forecast_low_g = _forecast_low_g(weights, overdue, at, zone)
    request = PlanRequest(
        on=on,
        time_zone=growth.time_zone,
        time_zone_given=True,
        hatched_at=aged.hatched_at,
        hatched_on=aged.hatched_on,
        age_days=aged.days if aged.sd_days is not None else None,
        age_sd_days=aged.sd_days,
        mass_g=last.mass_g if last and fresh else None,
        peak_mass_g=max(own_peak_g(days) or last.mass_g, last.mass_g) if last and fresh else None,
        feeding_day=care.feeding_day,
        powder=powder,
        condition=condition_now(care, at=at),
        milestones=tuple(MilestoneSeen(key=key, seen=seen) for key, seen in milestones_now(growth.milestones).items()),
        sex=care.sex,
        adult_mass_g=growth.adult_mass_g,
        strain=growth.strain,
        brood_size=care.brood_size,
        rearing=care.rearing,
        origin=care.origin,
        aim=care.aim,
        species_certainty=care.species_certainty,
        first_feed_in_care=first,
        lately=Lately(
            no_gain=still if fresh or still else None,
            being_weaned=being_weaned(growth, by=at),
            weaning_loss="weaning_loss" in codes,
            food_slow=slow,
            rested=at - care.intake_at > RESTED_AFTER or last is not None or bool(care.looks),
            last_weighed_g=overdue.mass_g if overdue else None,
            forecast_low_g=forecast_low_g,
        ),
    )
    said = [
        *_of_age(known, growth, weights),
        *_of_growth(weights),
        *_of_an_old_weight(overdue, at, forecast_low_g),
        *_of_slow_food(slow),
    ]
    return Asked(request=request, cautions=tuple(said))


def unknown_powder(key: str | None) -> Iterator[Caution]:
    """Say so where the powder chosen for a bird is not known any more."""
    if key is not None:
        yield Caution(
            code="formula_unknown",
            severity=Severity.ACT_TODAY,
            act_within_h=ACT_TODAY_WITHIN_H,
            text=f"No formula of the key {key} is known here any more: the plan is for the species' usual one. Choose "
            "what it is fed with.",
        )


def _until(growth: GrowthKept, care: CareKept, at: datetime) -> tuple[GrowthKept, CareKept]:
    """The record as it stood at an instant."""
    fed = growth.weaning_fed_at
    return (
        msgspec.structs.replace(
            growth,
            weighings=tuple(one for one in growth.weighings if one.at <= at),
            milestones=tuple(one for one in growth.milestones if one.observed_at <= at),
            weaning_fed_at=fed if fed is not None and fed <= at else None,
        ),
        msgspec.structs.replace(
            care,
            feeds=tuple(one for one in care.feeds if one.at <= at),
            looks=tuple(one for one in care.looks if one.at <= at),
        ),
    )


def _weights(known: Known, growth: GrowthKept) -> _Weights:
    """The weights that the growth rules do not question, here and now, whoever has been asked about them or not."""
    judged: Judged | None = None
    assessment: Assessment | None = None
    try:
        judged = judged_by(known, growth)
        assessment = assess(known, judged.asked)
    except DomainError as error:
        if error.code not in WITHOUT_ASSESSMENT:
            raise
        heard = [] if judged is None else [one for one in judged.kept if one.state is not WeighingState.QUESTIONED]
        believed: Sequence[WeighingKept] = among_themselves(heard)
    else:
        believed = [judged.kept[point.index] for point in assessment.points if point.state == "accepted"]
    return _Weights(
        judged=judged,
        assessment=assessment,
        believed=tuple(one for one in believed if _of_its_kind(known, one)),
    )


def _of_its_kind(known: Known, weighing: WeighingKept) -> bool:
    """Whether a bird of its kind can weigh that; what somebody answers for is left to the plan to refuse."""
    if weighing.state is WeighingState.CONFIRMED:
        return True
    try:
        within_species(known.profile, known.profile.growth_curve, weighing.mass_g)
    except DomainError:
        return False
    return True


def _aged(known: Known, growth: GrowthKept, weights: _Weights, at: datetime) -> _Aged:
    age = weights.judged.age if weights.judged else age_known(known, growth, growth.weighings)
    hatching, sd_days = hatched_at(asked_of(growth, age, ()))
    days = max((at - hatching) / timedelta(days=1), 0.0)
    if age.basis == "hatched_at":
        return _Aged(days=days, hatched_at=growth.hatched_at)
    if age.basis == "hatched_on":
        return _Aged(days=days, hatched_on=growth.hatched_on)
    return _Aged(days=round(days, 1), sd_days=round(sd_days, 2))


def _forecast_low_g(weights: _Weights, overdue: WeighingKept | None, at: datetime, zone: ZoneInfo) -> float | None:
    if overdue is None or weights.assessment is None:
        return None
    today = at.astimezone(zone).date()
    return next((day.low_g for day in weights.assessment.forecast if day.on == today), None)


def _of_age(known: Known, growth: GrowthKept, weights: _Weights) -> Iterator[Caution]:
    if weights.judged is not None:
        yield from (caution for caution in weights.judged.cautions if caution.code != "older_weighings_left_out")
        return
    estimate = age_known(known, growth, growth.weighings).estimate
    heard = [one for one in growth.weighings if one.state is not WeighingState.REJECTED]
    before = len(heard) if estimate is None else 0
    yield from record_cautions(older=False, most=0, before_hatching=before, estimate=estimate)
    yield from estimate.cautions if estimate else ()


def _of_growth(weights: _Weights) -> Iterator[Caution]:
    """What was found in its weights, the newest of each kind; the last action of a finding says whom to ask."""
    found = weights.assessment.findings if weights.assessment else ()
    for code in SAID:
        of_code = [finding for finding in found if finding.code == code]
        if of_code:
            last = max(of_code, key=lambda finding: finding.since)
            yield Caution(
                code=last.code,
                severity=last.severity,
                act_within_h=last.act_within_h,
                text=f"{last.text} {last.actions[-1]}",
                sources=tuple(last.evidence.get("sources", ())),
            )


def _of_an_old_weight(overdue: WeighingKept | None, at: datetime, forecast_low_g: float | None) -> Iterator[Caution]:
    if overdue is None:
        return
    days = (at - overdue.at) / timedelta(days=1)
    since = f"{days:.0f} days" if days >= 2 else f"{days * 24:.0f} hours"
    least = overdue.mass_g if forecast_low_g is None else min(overdue.mass_g, forecast_low_g)
    yield Caution(
        code="weighing_overdue",
        severity=Severity.ACT_TODAY,
        act_within_h=ACT_TODAY_WITHIN_H,
        text=f"It was last weighed {since} ago, {overdue.mass_g:g} g: too long to feed by. Weigh it before this feed. "
        f"Any feed is reckoned from {least:g} g, the least that its record leads to expect.",
        sources=("APN volumes", "HRB p.599"),
    )


def _of_slow_food(slow: bool) -> Iterator[Caution]:
    if slow:
        yield Caution(
            code="food_slow",
            severity=Severity.ACT_TODAY,
            act_within_h=ACT_TODAY_WITHIN_H,
            text="Lately its crop was slow, or feeds were not taken well: no larger feed until the crop has been found "
            "empty twice and feeds go down. Check warmth, and how thick and how warm the food is.",
            sources=("HRB p.593",),
        )
