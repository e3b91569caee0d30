"""First findings: what of a bird's weights asks for somebody, with the evidence and what to do.

Rules of practice that need no alarm statistics; a later rule joins by the same protocol (:class:`AlarmRule`).
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any, Protocol

from api.growth.rules.limits import SMALL_PARROT_DAYS, SMALL_PARROT_G, Limits, limits_of
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Severity
from species.domain.record import Record

#: Gains smaller than this share of mass are no gain: scale, a dropping. Common practice, no source.
NO_GAIN_FRACTION = 0.005
#: A chick is growing while the species gains at least this much a day.
GROWING_FRACTION_PER_DAY = 0.02
#: Two weighings of one day are no day apart, and longer gaps say nothing of a single day.
A_DAY_AT_LEAST, A_DAY_AT_MOST = 0.6, 1.6
LOW_CENTILE = 3.0
RAPID_Z, DOUBTFUL_Z = 3.0, 2.5


class Seen(Record, frozen=True, kw_only=True):
    """A point as the rules see it."""

    index: int
    at: datetime
    age_days: float
    mass_g: float
    state: str
    meant_g: float | None
    centile: float | None
    expected_g: float
    species_gain_g_per_day: float
    conditional_z: float | None
    conditional_expected_g: float | None


class GrowthSeen(Record, frozen=True, kw_only=True):
    """Everything the alarm rules may look at."""

    order: str
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
        limits = limits_of(seen.order)
        found += _loss_or_no_gain(seen, accepted, limits)
        found += _low(seen, accepted[-1])
        found += _rapid(accepted[-1])
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


def _loss_or_no_gain(seen: GrowthSeen, accepted: Sequence[Seen], limits: Limits) -> Iterator[Finding]:
    last, before = accepted[-1], _morning_before(accepted)
    if _past_growth(seen, last):
        yield from _weaning_loss(seen, accepted)
        return
    if before is None:
        return
    lost = 1 - last.mass_g / before.mass_g
    in_lag = last.age_days <= limits.lag_days
    if lost > max(limits.loss_fraction, 0.0) and not (in_lag and lost <= 0.10):
        yield _loss(seen, accepted, last, before, lost, limits)
        return
    growing = last.species_gain_g_per_day >= GROWING_FRACTION_PER_DAY * last.mass_g
    mornings = _mornings_without_gain(accepted)
    small = seen.order == "Psittaciformes" and (last.age_days < SMALL_PARROT_DAYS or last.mass_g < SMALL_PARROT_G)
    needed = 1 if small else limits.mornings_without_gain
    if growing and not in_lag and mornings >= needed:
        yield _finding(
            "no_gain",
            Severity.ACT_TODAY,
            accepted[-1 - mornings].at,
            f"No gain for {mornings} morning{'s' if mornings > 1 else ''}: {last.mass_g:g} g, and about "
            f"{last.species_gain_g_per_day:.2g} g a day is expected at this age.",
            {
                "mornings": mornings,
                "seen_g": last.mass_g,
                "before_g": accepted[-1 - mornings].mass_g,
                "expected_gain_g_per_day": round(last.species_gain_g_per_day, 2),
                "sources": list(limits.sources),
            },
            CHECK_FIRST,
            CAUSES,
            "Do not feed larger portions while the crop is slow or feeds are refused.",
            f"{ASK_VET} No gain tomorrow makes it urgent.",
        )


def _loss(seen: GrowthSeen, accepted: Sequence[Seen], last: Seen, before: Seen, lost: float, limits: Limits) -> Finding:
    confirmed = len(accepted) > 2 and accepted[-3].mass_g > before.mass_g
    small = seen.order == "Psittaciformes" and (last.age_days < SMALL_PARROT_DAYS or last.mass_g < SMALL_PARROT_G)
    urgent = confirmed or small or lost > 0.10
    return _finding(
        "weight_loss",
        Severity.URGENT if urgent else Severity.ACT_TODAY,
        before.at,
        f"Lost {lost:.1%} since {before.mass_g:g} g the day before, while it should gain.",
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


def _weaning_loss(seen: GrowthSeen, accepted: Sequence[Seen]) -> Iterator[Finding]:
    """Before flight and at weaning birds slim by themselves: only a loss from the own peak beyond the limit counts."""
    if seen.loss_limit_fraction is None:
        return
    peak, last = max(accepted, key=lambda point: point.mass_g), accepted[-1]
    lost = 1 - last.mass_g / peak.mass_g
    if lost > seen.loss_limit_fraction + 1e-9:
        yield _finding(
            "weaning_loss",
            Severity.ACT_TODAY,
            peak.at,
            f"{lost:.1%} below its own peak of {peak.mass_g:g} g; {seen.loss_limit_fraction:.0%} may be lost.",
            {
                "lost_fraction": round(lost, 4),
                "seen_g": last.mass_g,
                "peak_g": peak.mass_g,
                "limit_fraction": seen.loss_limit_fraction,
            },
            "Give back the feed that was dropped last.",
            CAUSES,
        )


def _low(seen: GrowthSeen, last: Seen) -> Iterator[Finding]:
    if last.centile is None or last.centile >= LOW_CENTILE or _past_growth(seen, last):
        return
    feathered = seen.feathered
    yield _finding(
        "light_for_milestones" if feathered else "low_for_age",
        Severity.ACT_TODAY,
        last.at,
        f"{last.mass_g:g} g is below the 3rd centile of its age ({last.expected_g:.3g} g is the middle)."
        + (" It is feathered: thin, not younger." if feathered else ""),
        {"seen_g": last.mass_g, "expected_g": last.expected_g, "centile": last.centile, "age_days": last.age_days},
        "Check age and species: by what it shows, not by weight.",
        CAUSES,
    )


def _rapid(last: Seen) -> Iterator[Finding]:
    if last.conditional_z is not None and last.conditional_z > RAPID_Z:
        yield _finding(
            "rapid_gain",
            Severity.NOTE,
            last.at,
            f"{last.mass_g:g} g is more than its own record led to expect ({last.conditional_expected_g:.3g} g).",
            {
                "seen_g": last.mass_g,
                "expected_g": last.conditional_expected_g,
                "conditional_z": last.conditional_z,
            },
            "Weigh before the feed, crop empty.",
        )


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


def _past_growth(seen: GrowthSeen, last: Seen) -> bool:
    """Whether loss and standstill are expected: being weaned, near fledging, or where the species no longer gains."""
    near_fledging = seen.fledging_from_day is not None and last.age_days >= 0.8 * seen.fledging_from_day
    still = last.species_gain_g_per_day < GROWING_FRACTION_PER_DAY / 4 * last.mass_g
    return seen.weaning or near_fledging or still


def _morning_before(accepted: Sequence[Seen]) -> Seen | None:
    """The weighing about a day before the last."""
    last = accepted[-1]
    days = [p for p in accepted[:-1] if A_DAY_AT_LEAST <= last.age_days - p.age_days <= A_DAY_AT_MOST]
    return min(days, key=lambda p: abs(last.age_days - p.age_days - 1)) if days else None


def _mornings_without_gain(accepted: Sequence[Seen]) -> int:
    """How many weighings in a row, each about a day from the next, brought no gain."""
    count = 0
    for earlier, later in zip(reversed(accepted[:-1]), reversed(accepted[1:]), strict=True):
        apart = later.age_days - earlier.age_days
        if not A_DAY_AT_LEAST <= apart <= A_DAY_AT_MOST:
            break
        if later.mass_g - earlier.mass_g > NO_GAIN_FRACTION * earlier.mass_g:
            break
        count += 1
    return count


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
