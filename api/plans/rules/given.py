"""What the carer does now, held against the bands of the stage: comes back as cautions."""

from collections.abc import Iterator

from api.plans.rules.request import Condition, Given
from api.plans.rules.seen import hydration_degree
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Caution, Severity

#: Thinner than this a chick starves after day 4 (R&G86: 10 % solids throughout stunted and killed).
THIN_BELOW_FRACTION = 0.20
THIN_AFTER_DAY = 4.0
#: Slurry of psittacines and doves where the profile has no band (TUBE, VT: 38 or 39 to 41; limit below 43.3, RIV08).
LOW_C, HIGH_C, NEVER_ABOVE_C = 38.0, 41.0, 42.0
#: This far below its band food is called cold, less is a note (bands: feeding-practice notes, section 4).
COLD_BELOW_BAND_C = 1.0
#: A kitchen mixes to about half a per cent of solids, and a syringe is read to a fiftieth of itself.
SOLIDS_SLACK = 0.005
VOLUME_SLACK = 0.02


def given_cautions(
    given: Given,
    condition: Condition,
    *,
    age_days: float,
    slurry: bool,
    nectar: bool = False,
    dry_matter_low_fraction: float | None = None,
    dry_matter_high_fraction: float | None = None,
    low_c: float | None = None,
    high_c: float | None = None,
    never_above_c: float | None = None,
    cap_ml: float | None = None,
    cap_g: float | None = None,
    feeds_low: int | None = None,
    feeds_high: int | None = None,
    need_low_kj_per_day: float | None = None,
    given_kj_per_day: float | None = None,
) -> tuple[Caution, ...]:
    """Say what of the carer's practice is outside the bands.

    Parameters
    ----------
    given, condition
        What is done now, and how the bird is: after a slow crop, in a dry or an emaciated bird, thin recovery food is
        right for a feed or two and is not called too thin.
    age_days
        Age, hatch day = 0.
    slurry, nectar
        Whether the stage is fed slurry, and whether that is nectar, which may be thin.
    dry_matter_low_fraction, dry_matter_high_fraction
        Band of the stage; null where none is printed.
    low_c, high_c, never_above_c
        Band of the profile; null gives the band of psittacines and doves, for slurry only.
    cap_ml, cap_g
        Largest feed for the actual mass; null where it was not weighed.
    feeds_low, feeds_high
        Feeds a day that the stage's intervals allow.
    need_low_kj_per_day, given_kj_per_day
        Low end of the need, and what is given by volume, solids and feeds; null where not judged (days 0-4, first
        48 h in care).

    Returns
    -------
    tuple of Caution
        ``too_dilute``, ``too_thick``, ``too_hot``, ``too_cool``, ``overfilled``, ``fed_too_seldom``,
        ``fed_too_often``, ``underfed``; empty where nothing is amiss.

    Notes
    -----
    R&G86 (7 % grew well to day 4, 30 % after; 10 % throughout killed); TUBE, VT, HRB p.447 (38-41 °C); RIV08 (burns
    from 43.3 °C; 42 is held here); HRB p.616 (overfilling and aspiration).
    """
    found = [*_heat(given.temperature_c, slurry, low_c, high_c, never_above_c)]
    if slurry and given.dry_matter_fraction is not None:
        found += _solids(
            given.dry_matter_fraction,
            age_days=age_days,
            may_be_thin=nectar or _recovering(condition),
            low=dry_matter_low_fraction,
            high=dry_matter_high_fraction,
        )
    found += _size(given.volume_ml, cap_ml, "mL")
    found += _size(given.mass_g, cap_g, "g")
    found += _number(given.feeds_per_day, feeds_low, feeds_high)
    if need_low_kj_per_day is not None and given_kj_per_day is not None and given_kj_per_day < need_low_kj_per_day:
        found.append(
            _today(
                "underfed",
                f"What you give is about {given_kj_per_day:.0f} kJ a day and it needs at least "
                f"{need_low_kj_per_day:.0f}. One more feed comes first, then a larger one, then a thicker one.",
            )
        )
    return tuple(found)


def _recovering(condition: Condition) -> bool:
    degree = hydration_degree(hydration=condition.hydration, dehydration_fraction=condition.dehydration_fraction)
    return (
        condition.crop in {"residue", "not_emptied", "distended"}
        or degree in {"mild", "moderate", "severe"}
        or condition.body_condition == "emaciated"
    )


def _heat(
    temperature_c: float | None, slurry: bool, low: float | None, high: float | None, never: float | None
) -> Iterator[Caution]:
    if temperature_c is None:
        return
    limit = min(never if never is not None else NEVER_ABOVE_C, NEVER_ABOVE_C)
    top = min(high if high is not None else HIGH_C, limit)
    bottom = low if low is not None else LOW_C if slurry else None
    if temperature_c > limit:
        yield _urgent(
            "too_hot",
            f"{temperature_c:g} °C burns the crop. Give nothing above {limit:g} °C. If it was fed like that, ring a "
            "vet and watch the skin over the crop for 14 days.",
            "RIV08 crop burns",
        )
    elif temperature_c > top:
        yield _today(
            "too_hot", f"{temperature_c:g} °C: stir, wait until {top:g} °C, and measure again.", "VT crop burn"
        )
    elif bottom is not None and temperature_c < bottom - COLD_BELOW_BAND_C:
        yield _today(
            "too_cool",
            f"{temperature_c:g} °C is cold food: it chills a chick and stops the crop. Make it fresh at {bottom:g} to "
            f"{top:g} °C.",
            "HRB p.100",
            "HRB p.616",
        )
    elif bottom is not None and temperature_c < bottom:
        yield Caution(
            code="too_cool",
            severity=Severity.NOTE,
            text=f"{temperature_c:g} °C is a little cool; {bottom:g} to {top:g} °C in the syringe is better taken.",
            sources=("HRB p.616",),
        )


def _solids(
    solids: float, *, age_days: float, may_be_thin: bool, low: float | None, high: float | None
) -> Iterator[Caution]:
    if not may_be_thin:
        if solids < THIN_BELOW_FRACTION and age_days > THIN_AFTER_DAY:
            yield _urgent(
                "too_dilute",
                f"{solids:.0%} solids after day 4: a chick starves on it with a full crop. Mix the next feed at "
                f"{max(low or 0.0, THIN_BELOW_FRACTION):.0%} or more.",
                "R&G86 abstract",
            )
        elif low is not None and solids < low - SOLIDS_SLACK:
            yield _today(
                "too_dilute",
                f"{solids:.0%} solids is thinner than this stage is fed ({low:.0%} at least).",
                "R&G86 abstract",
            )
    if high is not None and solids > high + SOLIDS_SLACK:
        yield _today(
            "too_thick",
            f"{solids:.0%} solids is thicker than this stage is fed ({high:.0%} at most): it dries the bird and slows "
            "the crop.",
            "HRB p.593",
        )


def _size(amount: float | None, cap: float | None, unit: str) -> Iterator[Caution]:
    if amount is not None and cap is not None and amount > cap * (1 + VOLUME_SLACK):
        yield _urgent(
            "overfilled",
            f"{amount:g} {unit} in one feed is more than its mass allows ({cap:.3g} {unit}): it comes back and is "
            "breathed in. Give less, more often.",
            "HRB p.616",
            "APN volumes",
        )


def _number(feeds: int | None, low: int | None, high: int | None) -> Iterator[Caution]:
    if feeds is None:
        return
    if low is not None and feeds < low:
        yield _today("fed_too_seldom", f"{feeds} feeds a day are fewer than this stage gets ({low} at least).")
    if high is not None and feeds > high:
        yield _today(
            "fed_too_often",
            f"{feeds} feeds a day leave the crop no time to empty; this stage gets {high} at most.",
            "APN crop emptying",
        )


def _urgent(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.URGENT, act_within_h=URGENT_WITHIN_H, text=text, sources=sources)


def _today(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.ACT_TODAY, act_within_h=ACT_TODAY_WITHIN_H, text=text, sources=sources)
