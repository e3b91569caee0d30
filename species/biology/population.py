"""Mass of a population at an age: centiles of a species whose individuals differ in size, speed and start.

The log mass at an age is taken as normal. Its spread is carried over from the spreads of ln A, ln K and the
age shift by the delta method, to which the residual noise of scale, gut fill and crop is added.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from species.biology.bounds import FloatArray, FloatOrArray, positive, scalar_or_array, within
from species.biology.growth_forms import growth_form, scaled_age
from species.domain.errors import DomainError

LOW_CENTILE = 3.0
HIGH_CENTILE = 97.0
"""Ends of the expected mass band, per cent."""


@dataclass(frozen=True, slots=True)
class MassBand:
    """3rd, 50th and 97th centile of mass at an age, in g."""

    low_g: FloatOrArray
    expected_g: FloatOrArray
    high_g: FloatOrArray


def log_mass_sd(
    form: str,
    age_days: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    log_asymptote_sd: ArrayLike,
    log_rate_sd: ArrayLike,
    inflection_sd_days: ArrayLike,
    residual_log_sd: ArrayLike,
) -> FloatOrArray:
    """Spread of ln mass between individuals at an age.

    Parameters
    ----------
    form, age_days, rate_per_day, inflection_days
        Curve of the species' typical individual, see :func:`species.biology.growth_forms.mass_g`.
    log_asymptote_sd, log_rate_sd
        Standard deviations of ln A and ln K between individuals.
    inflection_sd_days
        Standard deviation of the shift in age, with the uncertainty of the age itself.
    residual_log_sd
        Noise of a single weighing, on ln mass.

    Returns
    -------
    float or numpy.ndarray
        Standard deviation of ln mass, broadcast shape of the arguments.

    Raises
    ------
    DomainError
        On a spread below zero, or where the curve has no mass.

    Notes
    -----
    With x = K (t - t_i) and s = d ln u / dx: var = sd(ln A)^2 + (s x sd(ln K))^2 + (s K sd(t_i))^2 +
    sd(residual)^2, taking the three as independent. The delta method on log mass (a first-order Taylor
    series; textbook, no figure from the notes), exact for A. For K and t_i it draws a straight line along a
    curve that bends down, so well before the inflection both ends of a band lie too high: with spreads of
    0.07, 0.10 and 0.8 d, below a fifth of the asymptote, by 5 % of mass in the logistic and by 15 to 18 % in
    the other two forms (simulated individuals); from a third of the asymptote on within 5 %.
    """
    shape = growth_form(form)
    x = scaled_age(form, age_days, rate_per_day, inflection_days)
    slope = shape.relative_slope(x)
    rate = np.asarray(rate_per_day, dtype=np.float64)
    variance = (
        within(log_asymptote_sd, "log_asymptote_sd", low=0.0) ** 2
        + (slope * x * within(log_rate_sd, "log_rate_sd", low=0.0)) ** 2
        + (slope * rate * within(inflection_sd_days, "inflection_sd_days", low=0.0)) ** 2
        + within(residual_log_sd, "residual_log_sd", low=0.0) ** 2
    )
    return scalar_or_array(np.sqrt(variance))


def mass_centiles_g(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    log_asymptote_sd: ArrayLike,
    log_rate_sd: ArrayLike,
    inflection_sd_days: ArrayLike,
    centiles: ArrayLike,
    residual_log_sd: ArrayLike = 0.0,
) -> FloatOrArray:
    """Centiles of mass at an age.

    Parameters
    ----------
    form, age_days, asymptote_g, rate_per_day, inflection_days
        Curve of the typical individual.
    log_asymptote_sd, log_rate_sd, inflection_sd_days, residual_log_sd
        Spreads, see :func:`log_mass_sd`.
    centiles
        Per cent, above 0 and below 100.

    Returns
    -------
    float or numpy.ndarray
        Mass in g; the shape of the other arguments followed by the shape of ``centiles``.

    Raises
    ------
    DomainError
        On a centile outside 0 to 100, and as the curve and the spreads.

    Notes
    -----
    m_c = m(t) exp(z_c sd), z_c the normal quantile. The LMS formula with L = 0 (CG92; growth.md section 6).
    """
    share = within(centiles, "centiles", low=0.0, high=100.0, low_excluded=True, high_excluded=True) / 100.0
    z = np.asarray(ndtri(share))
    centre, spread = _log_mass(
        form,
        age_days,
        asymptote_g,
        rate_per_day,
        inflection_days,
        log_asymptote_sd,
        log_rate_sd,
        inflection_sd_days,
        residual_log_sd,
    )
    by_centile = (...,) + (np.newaxis,) * z.ndim
    return scalar_or_array(np.exp(centre[by_centile] + z * spread[by_centile]))


def mass_band_g(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    log_asymptote_sd: ArrayLike,
    log_rate_sd: ArrayLike,
    inflection_sd_days: ArrayLike,
    residual_log_sd: ArrayLike = 0.0,
) -> MassBand:
    """Expected mass at an age with its band, 3rd to 97th centile; arguments as :func:`mass_centiles_g`."""
    centre, spread = _log_mass(
        form,
        age_days,
        asymptote_g,
        rate_per_day,
        inflection_days,
        log_asymptote_sd,
        log_rate_sd,
        inflection_sd_days,
        residual_log_sd,
    )
    return MassBand(
        low_g=scalar_or_array(np.exp(centre + ndtri(LOW_CENTILE / 100.0) * spread)),
        expected_g=scalar_or_array(np.exp(centre)),
        high_g=scalar_or_array(np.exp(centre + ndtri(HIGH_CENTILE / 100.0) * spread)),
    )


def z_of_mass(
    form: str,
    mass_g: ArrayLike,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    log_asymptote_sd: ArrayLike,
    log_rate_sd: ArrayLike,
    inflection_sd_days: ArrayLike,
    residual_log_sd: ArrayLike = 0.0,
) -> FloatOrArray:
    """Standard score of a mass among its population at an age; arguments as :func:`mass_centiles_g`.

    Raises
    ------
    DomainError
        On a mass that is not positive, or if all spreads are zero.

    Notes
    -----
    z = ln(y / M) / S: the LMS formula with L = 0 (CG92; growth.md section 6).
    """
    mass = positive(mass_g, "mass_g")
    centre, spread = _log_mass(
        form,
        age_days,
        asymptote_g,
        rate_per_day,
        inflection_days,
        log_asymptote_sd,
        log_rate_sd,
        inflection_sd_days,
        residual_log_sd,
    )
    if np.any(spread <= 0.0):
        raise DomainError(
            "A population without spread has no centiles.",
            field="residual_log_sd",
            code="no_spread",
            remedy="Give at least one spread above zero.",
        )
    return scalar_or_array((np.log(mass) - centre) / spread)


def centile_of_mass(
    form: str,
    mass_g: ArrayLike,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    log_asymptote_sd: ArrayLike,
    log_rate_sd: ArrayLike,
    inflection_sd_days: ArrayLike,
    residual_log_sd: ArrayLike = 0.0,
) -> FloatOrArray:
    """Centile of a mass at an age in per cent, inverse of :func:`mass_centiles_g`; errors as
    :func:`z_of_mass`."""
    z = z_of_mass(
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
    return scalar_or_array(100.0 * np.asarray(ndtr(z)))


def _log_mass(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    log_asymptote_sd: ArrayLike,
    log_rate_sd: ArrayLike,
    inflection_sd_days: ArrayLike,
    residual_log_sd: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Centre and spread of ln mass, in one shape."""
    x = scaled_age(form, age_days, rate_per_day, inflection_days)
    centre = np.log(positive(asymptote_g, "asymptote_g")) + growth_form(form).log_share(x)
    spread = log_mass_sd(
        form,
        age_days,
        rate_per_day,
        inflection_days,
        log_asymptote_sd,
        log_rate_sd,
        inflection_sd_days,
        residual_log_sd,
    )
    centre, spread = np.broadcast_arrays(centre, spread)
    return np.asarray(centre), np.asarray(spread)
