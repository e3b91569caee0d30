"""How old the bird is, and how sure that is."""

from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from api.plans.rules.plan import Age
from api.plans.rules.request import PlanRequest
from api.web.rules.ledger import Ledger
from species.biology import growth_forms
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve

#: Two-sided 90 % of a normal spread.
Z_90 = 1.6448536269514722
#: Past this share of the asymptote a day's growth is smaller than what a full crop weighs.
TELLING_SHARE = 0.9
#: A hatching day without an hour stands for its noon, half a day either way.
HALF_DAY = 0.5


def age_from_mass_days(
    *,
    mass_g: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
) -> float:
    """Age at which the species' curve passes through a mass; 0 where the bird is lighter than its hatching mass.

    Raises
    ------
    DomainError
        If the bird is so near its full mass that mass no longer tells its age.
    """
    if mass_g >= TELLING_SHARE * asymptote_g:
        raise DomainError(
            f"At {mass_g:g} g a bird is near its full mass of about {asymptote_g:.3g} g; mass no longer tells its age.",
            field="/mass_g",
            code="age_not_told_by_mass",
            remedy="Give age_days, hatched_on or hatched_at as well; an estimate from feathering is better than none.",
        )
    hatch_g = growth_forms.mass_g(form, 0.0, asymptote_g, rate_per_day, inflection_days)
    if mass_g <= hatch_g:
        return 0.0
    return round(float(growth_forms.age_days(form, mass_g, asymptote_g, rate_per_day, inflection_days)), 1)


def age_end_days(
    *,
    age_days: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
    log_asymptote_sd: float,
    log_rate_sd: float,
    inflection_sd_days: float,
    residual_log_sd: float,
    sign: int,
) -> float:
    """An end (``sign`` -1 or 1) of the 90 % interval of an age read from mass; not before hatching.

    Notes
    -----
    Delta method: a spread of log mass, divided by the relative growth d ln m/dt, is a spread of age; the spreads of
    inflection and of rate add to it. A bird kept short of food lies outside: mass alone cannot tell thin from young.
    """
    mass = growth_forms.mass_g(form, age_days, asymptote_g, rate_per_day, inflection_days)
    gain = growth_forms.gain_g_per_day(form, age_days, asymptote_g, rate_per_day, inflection_days)
    relative_gain = float(gain) / float(mass)
    from_mass = float(np.hypot(log_asymptote_sd, residual_log_sd)) / relative_gain
    from_rate = log_rate_sd * abs(age_days - inflection_days)
    spread = Z_90 * float(np.sqrt(from_mass**2 + from_rate**2 + inflection_sd_days**2))
    return max(round(age_days + sign * spread, 1), 0.0)


def reference_instant(request: PlanRequest, now: datetime) -> datetime:
    """The instant the plan speaks of: now, if the day asked for is today where the bird is; else that day's noon."""
    zone = ZoneInfo(request.time_zone)
    if now.astimezone(zone).date() == request.on:
        return now.astimezone(zone)
    return datetime.combine(request.on, time(12), tzinfo=zone)


def age_read(request: PlanRequest, curve: GrowthCurve | None, *, now: datetime, ledger: Ledger) -> Age:
    """Read the age from what was told: hour of hatching, age or an estimate of it, day of hatching, or mass.

    Raises
    ------
    DomainError
        If hatching lies after the day asked for, or only a mass was told and it cannot tell the age.
    """
    if request.hatched_at is not None:
        elapsed = reference_instant(request, now) - request.hatched_at
        return _known(elapsed.total_seconds() / 86_400, "hatched_at", "/hatched_at", spread=0.0)
    if request.age_days is not None and request.age_sd_days is not None:
        return _known(request.age_days, "estimated", "/age_days", spread=round(Z_90 * request.age_sd_days, 1))
    if request.age_days is not None:
        return _known(request.age_days, "given", "/age_days", spread=0.0)
    if request.hatched_on is not None:
        return _known(float((request.on - request.hatched_on).days), "hatched_on", "/hatched_on", spread=HALF_DAY)
    return _from_mass(request, curve, ledger)


def _known(days: float, basis: str, field: str, *, spread: float) -> Age:
    if days < 0:
        raise DomainError(
            "The bird hatches after the day the plan is for.",
            field=field,
            code="hatched_in_the_future",
            remedy="Check the year and the time zone, or ask for a later day with `on`.",
        )
    days = round(days, 2)
    low, high = max(round(days - spread, 2), 0.0), round(days + spread, 2)
    return Age(days=days, basis=basis, low_days=low, high_days=high)


def _from_mass(request: PlanRequest, curve: GrowthCurve | None, ledger: Ledger) -> Age:
    if request.mass_g is None or curve is None:
        raise DomainError(
            "There is nothing to tell the age from.",
            field="/age_days",
            code="age_missing",
            remedy="Give age_days, hatched_on or hatched_at; mass_g alone serves only a bird with a growth curve.",
        )
    parameters: dict[str, Any] = {
        "form": curve.form.value,
        "asymptote_g": curve.asymptote_g.value,
        "rate_per_day": curve.rate_per_day.value,
        "inflection_days": curve.inflection_days.value,
    }
    days = ledger.derive(
        "/age/days",
        age_from_mass_days,
        sources=curve.asymptote_g.sources,
        mass_g=request.mass_g,
        **parameters,
    )
    low, high = (
        ledger.derive(
            f"/age/{end}_days",
            age_end_days,
            sources=curve.inflection_days.sources,
            age_days=days,
            log_asymptote_sd=curve.log_asymptote_sd.value,
            log_rate_sd=curve.log_rate_sd.value,
            inflection_sd_days=curve.inflection_sd_days.value,
            residual_log_sd=curve.residual_log_sd.value,
            sign=sign,
            **parameters,
        )
        for end, sign in (("low", -1), ("high", 1))
    )
    return Age(days=days, basis="estimated_from_mass", low_days=low, high_days=high)
