"""Growth curves: mass, gain and age under the classical sigmoid forms.

Each form is written once, on the scaled age x = K (t - t_i), as the share u(x) = m / A of the asymptote
that is reached. Everything else (gain, inverse, spread of a population) follows from that share, its
relative slope d ln u / dx and its inverse, so a further form is one more entry of ``FORMS``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit, logit

from species.biology.bounds import FloatArray, FloatOrArray, positive, scalar_or_array, within
from species.domain.errors import DomainError


@dataclass(frozen=True, slots=True)
class GrowthForm:
    """One sigmoid on the scaled age x = K (t - t_i).

    Parameters
    ----------
    name
        Word of the profile for the form.
    log_share
        ln u(x), u = m / A; minus infinity where the form has no positive mass.
    relative_slope
        d ln u / dx at x.
    scaled_age
        x at a share u in (0, 1).
    greatest_gain
        Greatest dm/dt as a multiple of A K.
    t10_t90
        Time from 10 % to 90 % of A as a multiple of 1 / K.

    Notes
    -----
    growth.md section 1 (exact algebra; the three forms are in RIC67, compared for birds in TTZ10 and TT17b).
    """

    name: str
    log_share: Callable[[FloatArray], FloatArray]
    relative_slope: Callable[[FloatArray], FloatArray]
    scaled_age: Callable[[FloatArray], FloatArray]
    greatest_gain: float
    t10_t90: float


def _decay(x: FloatArray) -> FloatArray:
    """exp(-x); far before the inflection it overflows to infinity, which stands for a mass of zero."""
    with np.errstate(over="ignore"):
        return np.exp(-x)


def _bertalanffy_log_share(x: FloatArray) -> FloatArray:
    root = 1.0 - _decay(x) / 3.0
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(root > 0.0, 3.0 * np.log(root), -np.inf)


FORMS: dict[str, GrowthForm] = {
    form.name: form
    for form in (
        GrowthForm(
            name="logistic",
            log_share=lambda x: -np.logaddexp(0.0, -x),
            relative_slope=lambda x: expit(-x),
            scaled_age=lambda u: logit(u),
            greatest_gain=0.25,
            t10_t90=math.log(81.0),
        ),
        GrowthForm(
            name="gompertz",
            log_share=lambda x: -_decay(x),
            relative_slope=lambda x: _decay(x),
            scaled_age=lambda u: -np.log(-np.log(u)),
            greatest_gain=math.exp(-1.0),
            t10_t90=math.log(math.log(0.1) / math.log(0.9)),
        ),
        GrowthForm(
            name="bertalanffy",
            log_share=_bertalanffy_log_share,
            relative_slope=lambda x: _decay(x) / (1.0 - _decay(x) / 3.0),
            scaled_age=lambda u: -np.log(3.0 * (1.0 - np.cbrt(u))),
            greatest_gain=4.0 / 9.0,
            t10_t90=math.log((1.0 - 0.1 ** (1.0 / 3.0)) / (1.0 - 0.9 ** (1.0 / 3.0))),
        ),
    )
}


def growth_form(form: str) -> GrowthForm:
    """Give the form of that name.

    Raises
    ------
    DomainError
        If there is no such form; the remedy lists those there are.
    """
    try:
        return FORMS[form]
    except KeyError:
        raise DomainError(
            f"There is no growth form {form!r}.",
            field="form",
            code="unknown_form",
            remedy=f"Use one of {', '.join(FORMS)}.",
        ) from None


def scaled_age(form: str, age_days: ArrayLike, rate_per_day: ArrayLike, inflection_days: ArrayLike) -> FloatArray:
    """Give x = K (t - t_i), checked to lie where the form has a positive mass.

    Raises
    ------
    DomainError
        If an age is negative, a rate not positive, or an age so early that the von Bertalanffy form, which
        starts from zero at t_i - ln(3) / K, has no mass there.
    """
    age = within(age_days, "age_days", low=0.0)
    rate = positive(rate_per_day, "rate_per_day")
    inflection = within(inflection_days, "inflection_days")
    x = np.asarray(rate * (age - inflection))
    if form == "bertalanffy" and np.any(x <= -math.log(3.0)):
        raise DomainError(
            "This von Bertalanffy curve has no mass at so early an age.",
            field="age_days",
            code="before_curve",
            remedy="It starts ln(3)/K days before the inflection.",
        )
    return x


def mass_g(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
) -> FloatOrArray:
    """Expected mass at an age.

    Parameters
    ----------
    form
        ``logistic``, ``gompertz`` or ``bertalanffy``.
    age_days
        Age t, hatch day = 0.
    asymptote_g, rate_per_day, inflection_days
        A, K and t_i of the curve; K belongs to its form and is not interchangeable between forms.

    Returns
    -------
    float or numpy.ndarray
        Mass in g, broadcast shape of the arguments.

    Raises
    ------
    DomainError
        On a negative age, a parameter that is not positive, an unknown form, or an age before the curve
        starts.

    Notes
    -----
    logistic m = A / (1 + exp(-x)); Gompertz m = A exp(-exp(-x)); von Bertalanffy m = A (1 - exp(-x) / 3)^3;
    x = K (t - t_i). Source: growth.md section 1, table of forms.
    """
    shape = growth_form(form)
    asymptote = positive(asymptote_g, "asymptote_g")
    x = scaled_age(form, age_days, rate_per_day, inflection_days)
    return scalar_or_array(asymptote * np.exp(shape.log_share(x)))


def gain_g_per_day(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
) -> FloatOrArray:
    """Gain in mass per day at an age, dm/dt in g/d; arguments, shapes and errors as :func:`mass_g`.

    Notes
    -----
    dm/dt = K m d ln u / dx, which is K m (1 - m/A), K m ln(A/m) and 3 K m ((A/m)^(1/3) - 1) for the three
    forms. Source: growth.md section 1, last column.
    """
    shape = growth_form(form)
    asymptote = positive(asymptote_g, "asymptote_g")
    x = scaled_age(form, age_days, rate_per_day, inflection_days)
    mass = asymptote * np.exp(shape.log_share(x))
    # Where the mass has underflowed to nothing its relative slope may be infinite; nothing grows by nothing.
    slope = np.where(mass > 0.0, shape.relative_slope(x), 0.0)
    return scalar_or_array(np.asarray(rate_per_day, dtype=np.float64) * mass * slope)


def age_days(
    form: str,
    mass_g: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
) -> FloatOrArray:
    """Age at which the curve reaches a mass, the inverse of :func:`mass_g`.

    Returns
    -------
    float or numpy.ndarray
        Age in d. Negative where the mass is below the curve's mass at hatching: said, not clamped.

    Raises
    ------
    DomainError
        If a mass is not positive, or is at or above the asymptote, which the curve never reaches.

    Notes
    -----
    p = m / A; logistic t = t_i + ln(p / (1 - p)) / K; Gompertz t = t_i - ln(-ln p) / K; von Bertalanffy
    t = t_i - ln(3 (1 - p^(1/3))) / K. Source: growth.md section 1, inverse.
    """
    shape = growth_form(form)
    mass = positive(mass_g, "mass_g")
    asymptote = positive(asymptote_g, "asymptote_g")
    rate = positive(rate_per_day, "rate_per_day")
    inflection = within(inflection_days, "inflection_days")
    share = np.asarray(mass / asymptote)
    if np.any(share >= 1.0):
        raise DomainError(
            "mass_g is at or above the asymptote, which the curve never reaches, so it tells no age.",
            field="mass_g",
            code="at_asymptote",
            remedy="Tell the age, or visible development.",
        )
    return scalar_or_array(inflection + shape.scaled_age(share) / rate)


def inflection_days(
    form: str, hatch_mass_g: ArrayLike, asymptote_g: ArrayLike, rate_per_day: ArrayLike
) -> FloatOrArray:
    """Age at inflection of the curve that passes through the hatching mass on day 0.

    Returns
    -------
    float or numpy.ndarray
        t_i in d.

    Raises
    ------
    DomainError
        If the hatching mass is not positive or is at or above the asymptote.

    Notes
    -----
    t_i = -x(m0 / A) / K; for the logistic ln(A / m0 - 1) / K. Source: energetics-and-mixing.md section 1.8.
    """
    shape = growth_form(form)
    asymptote = positive(asymptote_g, "asymptote_g")
    rate = positive(rate_per_day, "rate_per_day")
    share = np.asarray(positive(hatch_mass_g, "hatch_mass_g") / asymptote)
    if np.any(share >= 1.0):
        raise DomainError("hatch_mass_g is at or above the asymptote.", field="hatch_mass_g", code="at_asymptote")
    return scalar_or_array(-shape.scaled_age(share) / rate)


def t10_t90_days(form: str, rate_per_day: ArrayLike) -> FloatOrArray:
    """Days from 10 % to 90 % of the asymptote, the one rate that forms share.

    Notes
    -----
    4.3944 / K logistic, 3.0844 / K Gompertz, 2.7426 / K von Bertalanffy. Source: growth.md section 1 and
    check 19.
    """
    return scalar_or_array(growth_form(form).t10_t90 / positive(rate_per_day, "rate_per_day"))


def greatest_gain_g_per_day(form: str, asymptote_g: ArrayLike, rate_per_day: ArrayLike) -> FloatOrArray:
    """Gain at the inflection, the steepest of the curve, in g/d.

    Notes
    -----
    A K / 4 logistic, A K / e Gompertz, 4 A K / 9 von Bertalanffy. Source: growth.md section 1.
    """
    asymptote = positive(asymptote_g, "asymptote_g")
    rate = positive(rate_per_day, "rate_per_day")
    return scalar_or_array(growth_form(form).greatest_gain * asymptote * rate)
