"""The growth curve of a species as one value, and how ln mass answers to a bird's own parameters.

A bird's own curve is the species' curve with three parameters of its own: ln A, ln K and a shift in age, the
days by which it is ahead of the age it is told to have:

    ln m = ln A + ln u(K (t + shift - t_i)) + ln kept(t + shift)

with u the form's share of the asymptote and ``kept`` what a recession before fledging leaves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology import growth_forms
from species.biology.bounds import FloatArray, FloatOrArray, positive, scalar_or_array, within
from species.biology.growth_forms import GrowthForm, growth_form
from species.biology.recession import Recession
from species.domain.errors import DomainError


@dataclass(frozen=True, slots=True)
class SpeciesCurve:
    """Growth curve of the typical individual of a species.

    Parameters
    ----------
    form
        ``logistic``, ``gompertz``, ``bertalanffy`` or ``richards``.
    asymptote_g
        A, g.
    rate_per_day
        K of that form, per day; k_U for ``richards``.
    inflection_days
        t_i, d.
    shape
        d of ``richards``; None for the others.
    recession
        Loss before fledging; None where there is none.

    Raises
    ------
    DomainError
        On an unknown form or a parameter outside its domain.
    """

    form: str
    asymptote_g: float
    rate_per_day: float
    inflection_days: float
    shape: float | None = None
    recession: Recession | None = None

    def __post_init__(self) -> None:
        growth_form(self.form, self.shape)
        positive(self.asymptote_g, "asymptote_g")
        positive(self.rate_per_day, "rate_per_day")
        within(self.inflection_days, "inflection_days")

    @property
    def sigmoid(self) -> GrowthForm:
        """The curve's form."""
        return growth_form(self.form, self.shape)

    def log_mass(self, age_days: ArrayLike) -> FloatOrArray:
        """Give ln of the expected mass in g at an age; shape and errors as :meth:`mass_g`."""
        x = growth_forms.scaled_age(self.form, age_days, self.rate_per_day, self.inflection_days, self.shape)
        log_mass = np.log(self.asymptote_g) + self.sigmoid.log_share(x)
        if self.recession is not None:
            log_mass = log_mass + self.recession.log_kept(age_days)[0]
        return scalar_or_array(log_mass)

    def mass_g(self, age_days: ArrayLike) -> FloatOrArray:
        """Expected mass in g at an age in d.

        Returns
        -------
        float or numpy.ndarray
            Shape of ``age_days``.

        Raises
        ------
        DomainError
            On a negative age, or one before a curve that starts from nothing.
        """
        return scalar_or_array(np.exp(self.log_mass(age_days)))

    def gain_g_per_day(self, age_days: ArrayLike) -> FloatOrArray:
        """Gain in g per day at an age, dm/dt; below zero during a recession. Shape and errors as
        :meth:`mass_g`."""
        x = growth_forms.scaled_age(self.form, age_days, self.rate_per_day, self.inflection_days, self.shape)
        mass = np.asarray(self.mass_g(age_days))
        slope = self.rate_per_day * np.where(mass > 0.0, self.sigmoid.relative_slope(x), 0.0)
        if self.recession is not None:
            slope = slope + self.recession.log_kept(age_days)[1]
        return scalar_or_array(mass * slope)

    def age_days(self, mass_g: ArrayLike) -> FloatOrArray:
        """Age on the way up at which the curve reaches a mass.

        Returns
        -------
        float or numpy.ndarray
            Age in d, negative below the curve's mass at hatching; shape of ``mass_g``.

        Raises
        ------
        DomainError
            If a mass is not positive, or so high that it tells no age: at or above the asymptote, or above
            the mass at which a recession begins.
        """
        mass = positive(mass_g, "mass_g")
        if self.recession is not None and np.any(mass > self.mass_g(self.recession.from_day)):
            raise DomainError(
                "mass_g is above the mass at which this species begins to lose weight, so it tells no age.",
                field="mass_g",
                code="at_asymptote",
                remedy="Tell the age, or visible development.",
            )
        return growth_forms.age_days(
            self.form, mass, self.asymptote_g, self.rate_per_day, self.inflection_days, self.shape
        )


def log_mass_jacobian(
    form: str,
    age_days: ArrayLike,
    asymptote_g: ArrayLike,
    rate_per_day: ArrayLike,
    inflection_days: ArrayLike,
    shape: float | None = None,
    recession: Recession | None = None,
) -> tuple[FloatArray, FloatArray]:
    """ln mass and its derivatives by ln A, ln K and the age shift (and d for ``richards``).

    Parameters
    ----------
    form, age_days, asymptote_g, rate_per_day, inflection_days, shape
        As :func:`species.biology.growth_forms.mass_g`; the age is the age on the curve, t + shift.
    recession
        Loss before fledging, or None.

    Returns
    -------
    log_mass : numpy.ndarray
        ln of the mass in g, broadcast shape of the arguments.
    jacobian : numpy.ndarray
        The same shape with a last axis of 3, or of 4 for ``richards``: by ln A, by ln K, by the shift in age
        per day, by d.

    Raises
    ------
    DomainError
        As :func:`species.biology.growth_forms.mass_g`.

    Notes
    -----
    With x = K (t - t_i) and s = d ln u / dx the columns are 1, s x, s K + d ln kept / dt and d ln u / dd.
    """
    sigmoid = growth_form(form, shape)
    x = growth_forms.scaled_age(form, age_days, rate_per_day, inflection_days, shape)
    slope = sigmoid.relative_slope(x)
    log_mass = np.log(positive(asymptote_g, "asymptote_g")) + sigmoid.log_share(x)
    by_shift = slope * np.asarray(rate_per_day, dtype=np.float64)
    if recession is not None:
        log_kept, losing, _ = recession.log_kept(age_days)
        log_mass = log_mass + log_kept
        by_shift = by_shift + losing
    columns = [np.ones_like(x), slope * x, by_shift]
    if form == growth_forms.RICHARDS:
        columns.append(sigmoid.shape_slope(x))
    log_mass, *columns = np.broadcast_arrays(log_mass, *columns)
    return np.asarray(log_mass), np.stack(columns, axis=-1)


def log_masses_of_birds(
    curve: SpeciesCurve, parameters: FloatArray, age_days: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """ln mass of many birds, each with its own parameters, and its derivatives: the inside of a fit.

    Parameters
    ----------
    curve
        Form, inflection and recession that the birds share.
    parameters
        (n, 3): ln A, ln K, age shift in d.
    age_days
        (n, m): ages as told.

    Returns
    -------
    log_mass : numpy.ndarray
        (n, m); not finite where a curve has no mass at so early an age, which a fit then steps back from.
    jacobian : numpy.ndarray
        (n, 3, m), rows by ln A, by ln K and by the shift.
    """
    rate = np.exp(parameters[:, 1, None])
    age = age_days + parameters[:, 2, None]
    x = rate * (age - curve.inflection_days)
    log_share, slope = curve.sigmoid.terms(x)
    log_mass = parameters[:, 0, None] + log_share
    jacobian = np.empty((len(parameters), 3, age.shape[1]))
    jacobian[:, 0] = 1.0
    with np.errstate(invalid="ignore", over="ignore"):
        jacobian[:, 1] = slope * x
        jacobian[:, 2] = slope * rate
    if curve.recession is not None:
        log_kept, losing, _ = curve.recession.log_kept(age)
        log_mass = log_mass + log_kept
        jacobian[:, 2] += losing
    return log_mass, jacobian


def curvature_of_birds(curve: SpeciesCurve, parameters: FloatArray, age_days: FloatArray) -> FloatArray:
    """Second derivatives of ln mass by ln K twice, by ln K and shift, by shift twice: (n, 3, m).

    Those by ln A are all zero. Arguments as :func:`log_masses_of_birds`.
    """
    rate = np.exp(parameters[:, 1, None])
    age = age_days + parameters[:, 2, None]
    x = rate * (age - curve.inflection_days)
    slope, bend = curve.sigmoid.relative_slope(x), curve.sigmoid.slope_change(x)
    second = np.empty((len(parameters), 3, age.shape[1]))
    second[:, 0] = x * (bend * x + slope)
    second[:, 1] = rate * (bend * x + slope)
    second[:, 2] = rate**2 * bend
    if curve.recession is not None:
        second[:, 2] += curve.recession.log_kept(age)[2]
    return second
