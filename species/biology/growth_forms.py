"""Growth curves: mass, gain and age under the classical sigmoid forms and the one that joins them.

All are one family. On the scaled age y the share u = m / A of the asymptote that is reached is

    u = (1 + (d - 1) exp(-y))^(1 / (1 - d))

with d = 2 for the logistic, 1 (a limit) for the Gompertz and 2/3 for the von Bertalanffy form; the unified
Richards form leaves d open. Everything else (gain, inverse, Jacobian, spread of a population) follows from
ln u, its slope and its inverse, which are written once, on :class:`GrowthForm`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology.bounds import FloatArray, FloatOrArray, positive, scalar_or_array, within
from species.domain.errors import DomainError

RICHARDS = "richards"
LEAST_SHAPE = 0.05
GREATEST_SHAPE = 20.0
"""Shapes of the unified Richards form: beyond them the share at inflection is below 4 % or above 85 %."""


def _relative_span(shape: float) -> float:
    """Greatest gain as a multiple of A K, d^(d / (1 - d)), which runs smoothly through 1/e at d = 1."""
    return math.exp(-shape * (math.log1p(shape - 1.0) / (shape - 1.0) if shape != 1.0 else 1.0))


@dataclass(frozen=True, slots=True)
class GrowthForm:
    """One sigmoid on x = K (t - t_i).

    Parameters
    ----------
    name
        Word of the profile for the form.
    shape
        d of the family.
    stretch
        y / x: 1 where K is the classical rate of the form, 1 / d^(d / (1 - d)) where K is k_U, the greatest
        gain over A.

    Notes
    -----
    growth.md section 1 (exact algebra; the three forms are in RIC67, compared for birds in TTZ10 and TT17b;
    the unified form TT10). log1p((d - 1) e^-y) / (1 - d) loses no digit however near d is to 1.
    """

    name: str
    shape: float
    stretch: float = 1.0

    @property
    def earliest_x(self) -> float:
        """The x at which the form starts from nothing; minus infinity for d >= 1."""
        return math.log(1.0 - self.shape) / self.stretch if self.shape < 1.0 else -math.inf

    @property
    def greatest_gain(self) -> float:
        """Greatest dm/dt as a multiple of A K."""
        return self.stretch * _relative_span(self.shape)

    @property
    def t10_t90(self) -> float:
        """Time from 10 % to 90 % of A as a multiple of 1 / K."""
        early, late = self.scaled_age(np.array([0.1, 0.9]))
        return float(late - early)

    def log_share(self, x: FloatArray) -> FloatArray:
        """ln u(x); minus infinity where the form has no positive mass."""
        y = self.stretch * np.asarray(x)
        excess = self.shape - 1.0
        if excess > 0.0:
            return np.asarray(-np.logaddexp(0.0, math.log(excess) - y) / excess)
        # Far before the inflection it overflows to infinity, which stands for a mass of zero.
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            decay = np.exp(-y)
            if excess == 0.0:
                return np.asarray(-decay)
            return np.where(excess * decay > -1.0, -np.log1p(excess * decay) / excess, -np.inf)

    def relative_slope(self, x: FloatArray) -> FloatArray:
        """d ln u / dx at x."""
        with np.errstate(over="ignore", divide="ignore"):
            return np.asarray(self.stretch / (np.exp(self.stretch * np.asarray(x)) + (self.shape - 1.0)))

    def terms(self, x: FloatArray) -> tuple[FloatArray, FloatArray]:
        """ln u and d ln u / dx from one exponential, for fits; not finite where the form has no mass."""
        excess = self.shape - 1.0
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            decay = np.exp(-self.stretch * x)
            if excess == 0.0:
                return -decay, self.stretch * decay
            grown = excess * decay
            return np.log1p(grown) / -excess, self.stretch * decay / (1.0 + grown)

    def slope_change(self, x: FloatArray) -> FloatArray:
        """d^2 ln u / dx^2 at x."""
        slope = self.relative_slope(x)
        return np.asarray(-slope * (self.stretch - (self.shape - 1.0) * slope))

    def shape_slope(self, x: FloatArray) -> FloatArray:
        """d ln u / dd at a fixed x of the unified Richards form, whose stretch depends on d."""
        y = self.stretch * np.asarray(x, dtype=np.float64)
        excess = self.shape - 1.0
        with np.errstate(over="ignore", invalid="ignore"):
            decay = np.exp(-y)
            at_fixed_y = -(decay**2) * _log_ratio_slope(excess * decay)
        stretching = _log_ratio(excess) + self.shape * _log_ratio_slope(np.asarray(excess))
        return np.asarray(at_fixed_y + self.relative_slope(x) / self.stretch * y * stretching)

    def scaled_age(self, share: FloatArray) -> FloatArray:
        """X at a share u in (0, 1)."""
        log_share = np.log(share)
        power = (1.0 - self.shape) * log_share
        with np.errstate(invalid="ignore", over="ignore"):
            ratio = np.where(power == 0.0, 1.0, np.expm1(power) / np.where(power == 0.0, 1.0, power))
        return np.asarray(-np.log(-log_share * ratio) / self.stretch)


def _log_ratio(q: float) -> float:
    """ln(1 + q) / q, 1 at q = 0."""
    return math.log1p(q) / q if q != 0.0 else 1.0


def _log_ratio_slope(q: FloatArray) -> FloatArray:
    """Derivative of ln(1 + q) / q; its series near 0, where the closed form loses its digits."""
    small = np.abs(q) < 0.01
    far = np.where(small, 1.0, q)
    near = np.where(small, q, 0.0)
    series = np.polynomial.polynomial.polyval(near, [(-1) ** (k + 1) * (k + 1) / (k + 2) for k in range(9)])
    return np.where(small, series, (1.0 / (1.0 + far) - np.log1p(far) / far) / far)


FORMS: dict[str, GrowthForm] = {
    "logistic": GrowthForm("logistic", 2.0),
    "gompertz": GrowthForm("gompertz", 1.0),
    "bertalanffy": GrowthForm("bertalanffy", 2.0 / 3.0),
}


def growth_form(form: str, shape: float | None = None) -> GrowthForm:
    """Give the form of that name.

    Parameters
    ----------
    form
        ``logistic``, ``gompertz``, ``bertalanffy`` or ``richards``.
    shape
        d of the unified Richards form, :data:`LEAST_SHAPE` to :data:`GREATEST_SHAPE`; None for the others.

    Raises
    ------
    DomainError
        If there is no such form, the remedy then lists those there are; if the Richards form has no shape,
        or another form has one.
    """
    if form in FORMS:
        if shape is not None:
            raise DomainError(f"The {form} form has no shape parameter.", field="shape", code="no_shape")
        return FORMS[form]
    if form != RICHARDS:
        raise DomainError(
            f"There is no growth form {form!r}.",
            field="form",
            code="unknown_form",
            remedy=f"Use one of {', '.join([*FORMS, RICHARDS])}.",
        )
    if shape is None:
        raise DomainError(
            "The unified Richards form needs its shape d.",
            field="shape",
            code="shape_missing",
            remedy="d = 2 is the logistic, 1 the Gompertz, 2/3 the von Bertalanffy form.",
        )
    d = float(within(shape, "shape", low=LEAST_SHAPE, high=GREATEST_SHAPE))
    return GrowthForm(RICHARDS, d, 1.0 / _relative_span(d))


def scaled_age(
    form: str,
    age_days: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    shape: float | None = None,
) -> FloatArray:
    """Give x = K (t - t_i), checked to lie where the form has a positive mass.

    Raises
    ------
    DomainError
        If an age is negative, a rate not positive, or an age so early that a form with d < 1, which starts
        from nothing (the von Bertalanffy at t_i - ln(3) / K), has no mass there.
    """
    age = within(age_days, "age_days", low=0.0)
    rate = positive(rate_per_day, "rate_per_day")
    inflection = within(inflection_days, "inflection_days")
    x = np.asarray(rate * (age - inflection))
    earliest = growth_form(form, shape).earliest_x
    if np.any(x <= earliest):
        raise DomainError(
            f"This {form} curve has no mass at so early an age.",
            field="age_days",
            code="before_curve",
            remedy=f"It starts {-earliest:.3g}/K days before the inflection.",
        )
    return x


def mass_g(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    shape: float | None = None,
) -> FloatOrArray:
    """Expected mass at an age.

    Parameters
    ----------
    form
        ``logistic``, ``gompertz``, ``bertalanffy`` or ``richards``.
    age_days
        Age t, hatch day = 0.
    asymptote_g, rate_per_day, inflection_days
        A, K and t_i of the curve; K belongs to its form and is not interchangeable between forms. K of the
        ``richards`` form is k_U, the greatest gain over A.
    shape
        d of the ``richards`` form; None for the others.

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
    sigmoid = growth_form(form, shape)
    asymptote = positive(asymptote_g, "asymptote_g")
    x = scaled_age(form, age_days, rate_per_day, inflection_days, shape)
    return scalar_or_array(asymptote * np.exp(sigmoid.log_share(x)))


def gain_g_per_day(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    shape: float | None = None,
) -> FloatOrArray:
    """Gain in mass per day at an age, dm/dt in g/d; arguments, shapes and errors as :func:`mass_g`.

    Notes
    -----
    dm/dt = K m d ln u / dx, which is K m (1 - m/A), K m ln(A/m) and 3 K m ((A/m)^(1/3) - 1) for the three
    forms. Source: growth.md section 1, last column.
    """
    sigmoid = growth_form(form, shape)
    asymptote = positive(asymptote_g, "asymptote_g")
    x = scaled_age(form, age_days, rate_per_day, inflection_days, shape)
    mass = asymptote * np.exp(sigmoid.log_share(x))
    # Where the mass has underflowed to nothing its relative slope may be infinite; nothing grows by nothing.
    slope = np.where(mass > 0.0, sigmoid.relative_slope(x), 0.0)
    return scalar_or_array(np.asarray(rate_per_day, dtype=np.float64) * mass * slope)


def age_days(
    form: str,
    mass_g: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    shape: float | None = None,
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
    sigmoid = growth_form(form, shape)
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
    return scalar_or_array(inflection + sigmoid.scaled_age(share) / rate)


def inflection_days(
    form: str,
    hatch_mass_g: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    shape: float | None = None,
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
    sigmoid = growth_form(form, shape)
    asymptote = positive(asymptote_g, "asymptote_g")
    rate = positive(rate_per_day, "rate_per_day")
    share = np.asarray(positive(hatch_mass_g, "hatch_mass_g") / asymptote)
    if np.any(share >= 1.0):
        raise DomainError("hatch_mass_g is at or above the asymptote.", field="hatch_mass_g", code="at_asymptote")
    return scalar_or_array(-sigmoid.scaled_age(share) / rate)


def t10_t90_days(form: str, rate_per_day: ArrayLike, shape: float | None = None) -> FloatOrArray:
    """Days from 10 % to 90 % of the asymptote, the one rate that forms share.

    Notes
    -----
    4.3944 / K logistic, 3.0844 / K Gompertz, 2.7426 / K von Bertalanffy. Source: growth.md section 1 and
    check 19.
    """
    return scalar_or_array(growth_form(form, shape).t10_t90 / positive(rate_per_day, "rate_per_day"))


def greatest_gain_g_per_day(
    form: str, asymptote_g: ArrayLike, rate_per_day: ArrayLike, shape: float | None = None
) -> FloatOrArray:
    """Gain at the inflection, the steepest of the curve, in g/d.

    Notes
    -----
    A K / 4 logistic, A K / e Gompertz, 4 A K / 9 von Bertalanffy. Source: growth.md section 1.
    """
    asymptote = positive(asymptote_g, "asymptote_g")
    rate = positive(rate_per_day, "rate_per_day")
    return scalar_or_array(growth_form(form, shape).greatest_gain * asymptote * rate)
