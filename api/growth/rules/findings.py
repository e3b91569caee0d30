"""First findings: what of a bird's weights asks for somebody, with the evidence and what to do.

Rules of practice that need no alarm statistics; a later rule joins by the same protocol (:class:`AlarmRule`).
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any, Protocol

from api.birds.rules.words import Context
from api.growth.rules.limits import Limits, limits_of, small_parrot
from api.growth.rules.mornings import day_before, lost_fraction, one_a_day, without_gain
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Severity
from species.domain.record import Record
from species.domain.vocabulary import FoodGuild

#: A chick is growing while the species gains at least this much a day, and full-grown below a quarter of it.
GROWING_FRACTION_PER_DAY = 0.02
#: A loss since the day before that is never one of growing up: 5 to 10 % is where an ill adult is tube fed (TUBE).
LOST_IN_A_DAY = 0.10
LEVEL_FRACTION_PER_DAY = GROWING_FRACTION_PER_DAY / 4
#: From this share of the earliest fledging age on birds may slim, and before the other none does (growth.md section 4:
#: peaks at 0.67 to 0.83, medians of groups).
SLIMS_FROM, SLIMS_NOT_BEFORE = 0.8, 0.67
RAPID_Z, DOUBTFUL_Z = 3.0, 2.5


class Seen(Record, frozen=True, kw_only=True):
    """A point as the rules see it."""

    index: int
    at: datetime
    on: date
    age_days: float
    mass_g: float
    context: Context
    state: str
    meant_g: float | None
    centile: float | None
    expected_g: float
    low_g: float
    species_gain_g_per_day: float
    conditional_z: float | None
    conditional_expected_g: float | None


class GrowthSeen(Record, frozen=True, kw_only=True):
    """Everything the alarm rules may look at."""

    order: str
    family: str
    food_guild: FoodGuild
    points: tuple[Seen, ...]
    feathered: bool
    weaning: bool
    fledging_from_day: float | None
    loss_limit_fraction: float | None
    age_shift_days: float
    age_shift_prior_sd_days: float


class Finding(Record, frozen=True, kw_only=True):
    """Something about a bird's weight, how soon somebody must act, and on what evidence."""

    code: str
    severity: Severity
    act_within_h: float | None
    since: datetime
    text: str
    evidence: dict[str, Any]
    actions: tuple[str, ...]


class AlarmRule(Protocol):
    """A rule that turns what was seen into findings."""

    def __call__(self, seen: GrowthSeen) -> tuple[Finding, ...]:
        """Give the findings."""
        ...


CHECK_FIRST = "Weigh again on the same scale, crop empty."
CAUSES = "Check warmth, crop, droppings, how thick and how warm the food is, and whether all of it goes down."
ASK_VET = "Ring a vet who knows birds."


def first_rules(seen: GrowthSeen) -> tuple[Finding, ...]:
    """Findings of practice: slips, loss, no gain, low for age, loss at weaning, rapid gain, a doubtful age."""
    accepted = [point for point in seen.points if point.state == "accepted"]
    found = list(_implausible(seen.points))
    if accepted:
        days = one_a_day(accepted)
        limits = limits_of(seen.order, seen.family, seen.food_guild)
        slimming = _slims(seen, days[-1], limits)
        found += _after_growth(seen, days, limits) if slimming else _while_growing(seen, days, limits)
        found += _low(seen, days[-1], limits.recession_fraction if slimming else 0.0)
        found += _rapid(accepted[-1], days, limits)
        found += _age_doubtful(seen, accepted[-1])
    order = [Severity.URGENT, Severity.ACT_TODAY, Severity.NOTE]
    return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))


def _implausible(points: Sequence[Seen]) -> Iterator[Finding]:
    for point in points:
        if point.state != "questioned":
            continue
        meant = f" Was {point.meant_g:g} g meant?" if point.meant_g is not None else ""
        yield _finding(
            "implausible_weight",
            Severity.ACT_TODAY,
            point.at,
            f"{point.mass_g:g} g does not fit this bird; about {point.expected_g:.3g} g is expected.{meant} It is "
            "kept, and nothing is reckoned from it.",
            {
                "weighing": point.index,
                "seen_g": point.mass_g,
                "expected_g": point.expected_g,
                "meant_g": point.meant_g,
            },
            CHECK_FIRST,
            "Check the decimal point, grams against kilograms, and that it was this bird.",
        )


def _while_growing(seen: GrowthSeen, days: Sequence[Seen], limits: Limits) -> Iterator[Finding]:
    last, before = days[-1], day_before(days)
    if before is None:
        return
    small = small_parrot(seen.order, last.age_days, last.mass_g)
    lost = lost_fraction(before, last)
    in_lag = last.age_days <= limits.lag_days
    if lost > (LOST_IN_A_DAY if in_lag else limits.loss_fraction):
        again = len(days) > 2 and lost_fraction(days[-3], before) > 0
        severity = Severity.URGENT if again or small or lost > LOST_IN_A_DAY else Severity.ACT_TODAY
        yield _loss(before, last, lost, severity, "while it should gain", limits)
        return
    mornings, began = without_gain(days)
    growing = last.species_gain_g_per_day >= GROWING_FRACTION_PER_DAY * last.mass_g
    if growing and not in_lag and mornings >= (1 if small else limits.mornings_without_gain):
        yield _finding(
            "no_gain",
            Severity.ACT_TODAY,
            began.at,
            f"No gain for {mornings} morning{'s' if mornings > 1 else ''}: {last.mass_g:g} g, and about "
            f"{last.species_gain_g_per_day:.2g} g a day is expected at this age.",
            {
                "mornings": mornings,
                "seen_g": last.mass_g,
                "before_g": began.mass_g,
                "expected_gain_g_per_day": round(last.species_gain_g_per_day, 2),
                "conditional_z": last.conditional_z,
                "sources": list(limits.sources),
            },
            CHECK_FIRST,
            CAUSES,
            "Do not feed larger portions while the crop is slow or feeds are refused.",
            f"{ASK_VET} No gain tomorrow makes it urgent.",
        )


def _after_growth(seen: GrowthSeen, days: Sequence[Seen], limits: Limits) -> Iterator[Finding]:
    """Before flight and at weaning birds slim by themselves: a loss from the own peak beyond the limit counts.

    So does what no bird loses in a day.
    """
    last, before = days[-1], day_before(days)
    peak = max(days, key=lambda day: day.mass_g)
    limit, told = seen.loss_limit_fraction, seen.loss_limit_fraction is not None
    allowed = limit if limit is not None else limits.recession_fraction
    lost = lost_fraction(peak, last)
    if lost > allowed + 1e-9:
        yield _finding(
            "weaning_loss" if told or seen.weaning else "weight_loss",
            Severity.ACT_TODAY,
            peak.at,
            f"{lost:.1%} below its own peak of {peak.mass_g:g} g; {allowed:.0%} may be lost.",
            {
                "lost_fraction": round(lost, 4),
                "seen_g": last.mass_g,
                "peak_g": peak.mass_g,
                "limit_fraction": allowed,
                "conditional_z": last.conditional_z,
                "sources": [] if told else list(limits.sources),
            },
            "If it is being weaned, give back the feed that was dropped last.",
            CHECK_FIRST,
            CAUSES,
            ASK_VET,
        )
    elif before is not None and (in_a_day := lost_fraction(before, last)) > LOST_IN_A_DAY:
        yield _loss(before, last, in_a_day, Severity.ACT_TODAY, "more than slimming before flight", limits)


def _loss(before: Seen, last: Seen, lost: float, severity: Severity, although: str, limits: Limits) -> Finding:
    apart = round(last.age_days - before.age_days)
    when = "the day before" if apart <= 1 else f"{apart} days before"
    return _finding(
        "weight_loss",
        severity,
        before.at,
        f"Lost {lost:.1%} since {before.mass_g:g} g {when}, {although}.",
        {
            "lost_fraction": round(lost, 4),
            "seen_g": last.mass_g,
            "before_g": before.mass_g,
            "expected_g": last.conditional_expected_g,
            "conditional_z": last.conditional_z,
            "sources": list(limits.sources),
        },
        CHECK_FIRST,
        CAUSES,
        ASK_VET,
    )


def _low(seen: GrowthSeen, last: Seen, slimmed_fraction: float) -> Iterator[Finding]:
    """Below the 3rd centile of its age; while birds slim, below what slimming leaves of it."""
    if last.mass_g >= last.low_g * (1 - slimmed_fraction):
        return
    yield _finding(
        "light_for_milestones" if seen.feathered else "low_for_age",
        Severity.ACT_TODAY,
        last.at,
        f"{last.mass_g:g} g is below the 3rd centile of its age ({last.expected_g:.3g} g is the middle)."
        + (" It is feathered: thin, not younger." if seen.feathered else ""),
        {
            "seen_g": last.mass_g,
            "expected_g": last.expected_g,
            "low_g": last.low_g,
            "centile": last.centile,
            "age_days": last.age_days,
        },
        "Check age and species: by what it shows, not by weight.",
        CAUSES,
    )


def _rapid(last: Seen, days: Sequence[Seen], limits: Limits) -> Iterator[Finding]:
    """More than practice prints for a day, or far more than the bird's own record led to expect."""
    printed, before = limits.rapid_gain, day_before(days)
    if printed is not None and before is not None and printed.from_day <= days[-1].age_days <= printed.to_day:
        apart = days[-1].age_days - before.age_days
        gained = (days[-1].mass_g / before.mass_g) ** (1 / apart) - 1
        if gained > printed.fraction_per_day:
            yield _rapid_finding(
                days[-1],
                f"Gained {gained:.0%} a day; more than {printed.fraction_per_day:.0%} strains the legs.",
                {"gained_fraction_per_day": round(gained, 4), "sources": [printed.source]},
                "Feed less at a time, and look at the legs.",
            )
            return
    if last.conditional_z is not None and last.conditional_z > RAPID_Z:
        yield _rapid_finding(
            last,
            f"{last.mass_g:g} g is more than its own record led to expect ({last.conditional_expected_g:.3g} g).",
            {},
            "Weigh before the feed, crop empty.",
        )


def _rapid_finding(last: Seen, text: str, evidence: dict[str, Any], action: str) -> Finding:
    told = {"seen_g": last.mass_g, "expected_g": last.conditional_expected_g, "conditional_z": last.conditional_z}
    return _finding("rapid_gain", Severity.NOTE, last.at, text, {**told, **evidence}, action)


def _age_doubtful(seen: GrowthSeen, last: Seen) -> Iterator[Finding]:
    if abs(seen.age_shift_days) > DOUBTFUL_Z * seen.age_shift_prior_sd_days:
        ahead = seen.age_shift_days > 0
        yield _finding(
            "age_doubtful",
            Severity.NOTE,
            last.at,
            f"It grows like a bird {abs(seen.age_shift_days):.1f} days {'older' if ahead else 'younger'} than told.",
            {"age_shift_days": seen.age_shift_days, "age_shift_prior_sd_days": seen.age_shift_prior_sd_days},
            "Check the hatching date, or estimate the age from what it shows.",
        )


def _slims(seen: GrowthSeen, last: Seen, limits: Limits) -> bool:
    """Whether standstill and some loss are normal: being weaned, near fledging, or where the species gains no more."""
    if seen.weaning:
        return True
    if not limits.recession_fraction:
        return seen.fledging_from_day is not None and last.age_days >= seen.fledging_from_day
    gain = last.species_gain_g_per_day / last.mass_g
    if seen.fledging_from_day is None:
        return gain < LEVEL_FRACTION_PER_DAY
    # A curve that levels off long before flight, or a wide band of fledging ages, would take an ill chick's loss
    # for slimming.
    if last.age_days < SLIMS_NOT_BEFORE * seen.fledging_from_day:
        return False
    near_flight = last.age_days >= SLIMS_FROM * seen.fledging_from_day
    return gain < (GROWING_FRACTION_PER_DAY if near_flight else LEVEL_FRACTION_PER_DAY)


def _finding(
    code: str, severity: Severity, since: datetime, text: str, evidence: dict[str, Any], *actions: str
) -> Finding:
    within = {Severity.URGENT: URGENT_WITHIN_H, Severity.ACT_TODAY: ACT_TODAY_WITHIN_H}
    return Finding(
        code=code,
        severity=severity,
        act_within_h=within.get(severity),
        since=since,
        text=text,
        evidence=evidence,
        actions=actions,
    )
