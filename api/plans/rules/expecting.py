"""What the species' curve expects at an age: mass, its spread between healthy birds, and tomorrow's gain."""

import math
from typing import Any

import numpy as np

from api.plans.rules.ageing import Z_90
from api.plans.rules.plan import Age, ExpectedGain, Mass
from api.plans.rules.request import Lately
from api.web.rules.ledger import Ledger
from species.biology import energy, growth_forms, population
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile
from species.domain.vocabulary import FeedingKind

#: Of a bird that is only told.
UNRECORDED = Lately()
#: A decimal slip is a factor of ten; real chicks of known age have not been seen this far from their curve.
SLIP_FACTOR = 5.0
#: Heavier than this many adults no chick is, the fattest shearwaters included (growth.md section 4: 1.3 to 1.8).
ADULTS_AT_MOST = 2.0
#: Lighter than this share of the hatching mass no living hatchling is. Common practice, no source.
HATCH_AT_LEAST = 0.5


def expected_mass_g(
    *, age_days: float, form: str, asymptote_g: float, rate_per_day: float, inflection_days: float
) -> float:
    """Mass of the middle bird at an age, to 0.1 g (0.01 g below 10 g)."""
    return _shown_g(growth_forms.mass_g(form, age_days, asymptote_g, rate_per_day, inflection_days))


def mass_at_centile_g(
    *,
    centile: float,
    age_days: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
    log_asymptote_sd: float,
    log_rate_sd: float,
    inflection_sd_days: float,
    residual_log_sd: float,
) -> float:
    """Mass at a centile of healthy birds of that age, as shown by a scale."""
    masses = population.mass_centiles_g(
        form,
        age_days,
        asymptote_g,
        rate_per_day,
        inflection_days,
        log_asymptote_sd,
        log_rate_sd,
        inflection_sd_days,
        [centile],
        residual_log_sd,
    )
    return _shown_g(float(np.ravel(masses)[0]))


def centile_of_mass(
    *,
    mass_g: float,
    age_days: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
    log_asymptote_sd: float,
    log_rate_sd: float,
    inflection_sd_days: float,
    residual_log_sd: float,
) -> float:
    """Centile of a measured mass among healthy birds of that age, to 0.1."""
    centile = population.centile_of_mass(
        form,
        mass_g,
        age_days,
        asymptote_g,
        rate_per_day,
        inflection_days,
        log_asymptote_sd,
        log_rate_sd,
        inflection_sd_days,
        residual_log_sd,
    )
    return round(float(centile), 1)


def next_day_gain_g(
    *,
    mass_g: float,
    age_days: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
) -> float:
    """Gain until this time tomorrow of a bird that grows as its species does: its own mass times the curve's ratio."""
    today = growth_forms.mass_g(form, age_days, asymptote_g, rate_per_day, inflection_days)
    tomorrow = growth_forms.mass_g(form, age_days + 1.0, asymptote_g, rate_per_day, inflection_days)
    return _shown_g(mass_g * (float(tomorrow) / float(today) - 1.0))


def next_day_gain_end_g(
    *, mass_g: float, gain_g: float, log_rate_sd: float, residual_log_sd: float, sign: int
) -> float:
    """An end (``sign`` -1 or 1) of the 90 % interval of tomorrow's gain: unequal rates, and two weighings' gut fill."""
    rate = gain_g * log_rate_sd
    weighings = math.sqrt(2.0) * residual_log_sd * mass_g
    return _shown_g(gain_g + sign * Z_90 * math.hypot(rate, weighings))


def mass_read(
    profile: Profile,
    curve: GrowthCurve | None,
    age: Age,
    mass_g: float | None,
    ledger: Ledger,
    *,
    lately: Lately = UNRECORDED,
) -> Mass:
    """Read the mass beside what is expected.

    Where it was not weighed, the least that its own record leads to expect stands before the low end of what its kind
    weighs.

    Raises
    ------
    DomainError
        Code ``implausible_weight``: no bird of this species, or none of this age, weighs that.
    """
    if mass_g is not None:
        within_species(profile, curve, mass_g)
    unweighed_g = None
    if mass_g is None and lately.last_weighed_g is not None:
        unweighed_g = ledger.derive(
            "/mass/value_g",
            unweighed_mass_g,
            last_weighed_g=lately.last_weighed_g,
            forecast_low_g=lately.forecast_low_g,
        )
    if curve is None:
        return Mass(
            value_g=mass_g if mass_g is not None else unweighed_g,
            basis=_basis(mass_g, unweighed_g) or "unknown",
            expected_g=None,
            low_g=None,
            high_g=None,
            centile=None,
        )
    sources = curve.asymptote_g.sources + curve.rate_per_day.sources
    at_age = {"age_days": age.days, **_parameters(curve)}
    spreads = _spreads(curve)
    expected = ledger.derive("/mass/expected_g", expected_mass_g, sources=sources, **at_age)
    low, high = (
        ledger.derive(f"/mass/{end}_g", mass_at_centile_g, sources=sources, centile=centile, **at_age, **spreads)
        for end, centile in (("low", population.LOW_CENTILE), ("high", population.HIGH_CENTILE))
    )
    centile = unweighed_low = None
    if mass_g is not None:
        _within_age(mass_g, expected, age)
        if age.basis != "estimated_from_mass":
            centile = ledger.derive(
                "/mass/centile", centile_of_mass, sources=sources, mass_g=mass_g, **at_age, **spreads
            )
    if mass_g is None and unweighed_g is None and (hatch := profile.masses.hatch_g) is not None:
        least = least_alive_g(hatch_g=hatch.value)
        if least > low:  # the centiles of the first days know nothing of eggs
            unweighed_low = ledger.derive("/mass/value_g", least_alive_g, sources=hatch.sources, hatch_g=hatch.value)
    return Mass(
        value_g=next(mass for mass in (mass_g, unweighed_g, unweighed_low, low) if mass is not None),
        basis=_basis(mass_g, unweighed_g) or "low_end_of_expected",
        expected_g=expected,
        low_g=low,
        high_g=high,
        centile=centile,
    )


def unweighed_mass_g(*, last_weighed_g: float, forecast_low_g: float | None) -> float:
    """Mass to reckon with where the last weight is too old: the least that the bird's record leads to expect.

    The low end of its own forecast, but no more than it was seen to weigh, for it may have stood still since: the
    largest feed is a share of actual mass (APN, ZWE).
    """
    return last_weighed_g if forecast_low_g is None else min(last_weighed_g, forecast_low_g)


def least_alive_g(*, hatch_g: float) -> float:
    """Mass below which no chick of its kind lives, :data:`HATCH_AT_LEAST` of what it hatches with."""
    return _shown_g(HATCH_AT_LEAST * hatch_g)


def _basis(mass_g: float | None, unweighed_g: float | None) -> str | None:
    if mass_g is not None:
        return "measured"
    return None if unweighed_g is None else "low_end_of_own_record"


def gain_read(curve: GrowthCurve | None, age: Age, mass: Mass, ledger: Ledger) -> ExpectedGain:
    """Read the gain expected until tomorrow."""
    if curve is None or mass.value_g is None:
        return ExpectedGain(next_day_g=None, low_g=None, high_g=None)
    gain = ledger.derive(
        "/expected_gain/next_day_g",
        next_day_gain_g,
        sources=curve.rate_per_day.sources,
        mass_g=mass.value_g,
        age_days=age.days,
        **_parameters(curve),
    )
    low, high = (
        ledger.derive(
            f"/expected_gain/{end}_g",
            next_day_gain_end_g,
            sources=curve.residual_log_sd.sources,
            mass_g=mass.value_g,
            gain_g=gain,
            log_rate_sd=curve.log_rate_sd.value,
            residual_log_sd=curve.residual_log_sd.value,
            sign=sign,
        )
        for end, sign in (("low", -1), ("high", 1))
    )
    return ExpectedGain(next_day_g=gain, low_g=low, high_g=high)


def within_species(profile: Profile, curve: GrowthCurve | None, mass_g: float) -> None:
    """Refuse a mass that no bird of the species has.

    Where solid meals are reckoned from energy, twice the curve's asymptote counts as none too: what a bird needs is not
    known beyond it, and every species' heaviest adult lies below.

    Raises
    ------
    DomainError
        Code ``implausible_weight``.
    """
    adult = profile.masses.adult_high_g or profile.masses.adult_g
    heaviest = max(adult.value, profile.masses.peak_g.value if profile.masses.peak_g else 0.0) * ADULTS_AT_MOST
    hatch = profile.masses.hatch_g
    if curve is not None and profile.feeding_kind in (FeedingKind.SOLID, FeedingKind.MIXED):
        heaviest = min(heaviest, energy.GREATEST_MATURITY * curve.asymptote_g.value)
    if mass_g > heaviest or (hatch is not None and mass_g < hatch.value * HATCH_AT_LEAST):
        between = (
            f"between {hatch.value * HATCH_AT_LEAST:.3g} and {heaviest:.4g} g" if hatch else f"up to {heaviest:.4g} g"
        )
        raise DomainError(
            f"{mass_g:g} g is no weight of a {profile.vernacular_name}, which weighs {between}.",
            field="/mass_g",
            code="implausible_weight",
            remedy="Weigh again; check the decimal point, grams against kilograms, the bird and the species.",
        )


def _within_age(mass_g: float, expected_g: float, age: Age) -> None:
    if not expected_g / SLIP_FACTOR <= mass_g <= expected_g * SLIP_FACTOR:
        raise DomainError(
            f"{mass_g:g} g at {age.days:g} d is over {SLIP_FACTOR:g} times away from the {expected_g:g} g expected.",
            field="/mass_g",
            code="implausible_weight",
            remedy="Weigh again; check the decimal point, the bird, its age and the species. No plan is made from it.",
        )


def _parameters(curve: GrowthCurve) -> dict[str, Any]:
    return {
        "form": curve.form.value,
        "asymptote_g": curve.asymptote_g.value,
        "rate_per_day": curve.rate_per_day.value,
        "inflection_days": curve.inflection_days.value,
    }


def _spreads(curve: GrowthCurve) -> dict[str, Any]:
    return {
        "log_asymptote_sd": curve.log_asymptote_sd.value,
        "log_rate_sd": curve.log_rate_sd.value,
        "inflection_sd_days": curve.inflection_sd_days.value,
        "residual_log_sd": curve.residual_log_sd.value,
    }


def _shown_g(mass_g: float | np.ndarray) -> float:
    value = float(mass_g)
    return round(value, 2 if abs(value) < 10 else 1)
