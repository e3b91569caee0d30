"""What a bird's own curve expects: at ages to come, and of each weighing from those before it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from species.biology.bounds import FloatArray, within
from species.biology.curve import curvature_of_birds, log_masses_of_birds
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import BoolArray, FitResult, fit_rows, second_derivatives, weighings
from species.biology.weighing_errors import ResidualModel
from species.domain.errors import DomainError

PREFIX_CELLS = 1 << 21
"""Cells of the beginnings of records that one step holds at once."""


@dataclass(frozen=True, slots=True)
class Prediction:
    """ln mass expected at q ages of n birds, taken as normal.

    Parameters
    ----------
    log_mass, log_mass_sd
        (n, q) mean and standard deviation of ln mass in g.
    """

    log_mass: FloatArray
    log_mass_sd: FloatArray

    @property
    def mass_g(self) -> FloatArray:
        """Median mass in g, (n, q)."""
        return np.exp(self.log_mass)

    def interval_g(self, level: float = 0.90) -> tuple[FloatArray, FloatArray]:
        """Lower and upper end of the central interval in g, both (n, q)."""
        share = within(level, "level", low=0.0, high=1.0, low_excluded=True, high_excluded=True)
        half = ndtri(0.5 + share / 2.0) * self.log_mass_sd
        return np.exp(self.log_mass - half), np.exp(self.log_mass + half)

    def z(self, mass_g: ArrayLike) -> FloatArray:
        """Standard score of masses in g, broadcast with (n, q)."""
        return np.asarray((np.log(mass_g) - self.log_mass) / self.log_mass_sd)

    def centile(self, mass_g: ArrayLike) -> FloatArray:
        """Centile of masses in g, per cent."""
        return np.asarray(100.0 * ndtr(self.z(mass_g)))


def predict(fit: FitResult, age_days: ArrayLike, *, weighing: bool = True) -> Prediction:
    """Expected ln mass at other ages of birds that were fitted.

    Parameters
    ----------
    fit
        From :func:`species.biology.growth_fit.fit_individuals`, for n birds.
    age_days
        (q,) for all birds or (n, q): told ages, d, as in the fit.
    weighing
        True for a weighing, with its residual; False for the bird's own curve, whose expectation leaves out a
        slow deviation that may still last.

    Returns
    -------
    Prediction
        (n, q).

    Raises
    ------
    DomainError
        On an age before hatching, or before a bird's curve starts.

    Notes
    -----
    With C the Laplace covariance, g the first and H the second derivatives of ln mass by the parameters:
    mean + tr(H C) / 2 and variance g' C g + tr(H C H C) / 2, plus the variance left of a weighing. Exact where
    ln mass is quadratic in the parameters. The second order matters before the first weighings, where a curve
    bends within the spread of the species; after a few it is nothing.
    """
    age = within(age_days, "age_days", low=0.0)
    birds = len(fit.parameters)
    if age.ndim != 2:
        age = np.broadcast_to(np.atleast_1d(age), (birds, age.size))
    if len(age) != birds:
        raise DomainError(
            f"Ages are for {len(age)} birds, the fit is of {birds}.", field="age_days", code="shape_differs"
        )
    log_mass, gradient = log_masses_of_birds(fit.curve, fit.parameters, age)
    if not np.all(np.isfinite(log_mass)):
        raise DomainError("A bird's own curve has no mass at so early an age.", field="age_days", code="before_curve")
    bend = curvature_of_birds(fit.curve, fit.parameters, age)
    left: FloatArray | float = 0.0
    if weighing:
        _, slopes = log_masses_of_birds(fit.curve, fit.parameters, fit.age_days)
        bends = curvature_of_birds(fit.curve, fit.parameters, fit.age_days)
        rows = np.concatenate([slopes, bends, fit.residuals[:, None]], axis=1)
        carried, left = fit.residual.at(fit.age_days, fit.weight).carry_over(age, rows)
        gradient, bend, log_mass = gradient - carried[:, :3], bend - carried[:, 3:6], log_mass + carried[:, 6]
    spread = second_derivatives(bend) @ fit.covariance[:, None]
    log_mass = log_mass + np.einsum("nkq,nk->nq", gradient, fit.mean_shift) + 0.5 * np.einsum("nqii->nq", spread)
    variance = (
        np.einsum("nkq,nkl,nlq->nq", gradient, fit.covariance, gradient)
        + 0.5 * np.einsum("nqij,nqji->nq", spread, spread)
        + left
    )
    return Prediction(log_mass, np.sqrt(variance))


@dataclass(frozen=True, slots=True)
class OneStepAhead:
    """Each weighing against what the earlier ones of the same bird led to expect.

    Parameters
    ----------
    expected
        (n, m) prediction of each weighing.
    z
        (n, m) conditional standard score; 0 where the weight is 0.
    low_g, high_g
        (n, m) central interval.
    converged
        (n, m) whether the fit behind it settled.
    """

    expected: Prediction
    z: FloatArray
    low_g: FloatArray
    high_g: FloatArray
    converged: BoolArray


def one_step_ahead(
    age_days: ArrayLike,
    mass_g: ArrayLike,
    weight: ArrayLike | None,
    prior: CurvePrior,
    residual: ResidualModel,
    level: float = 0.90,
) -> OneStepAhead:
    """Judge every weighing by the earlier ones alone; the first by the species.

    Parameters
    ----------
    age_days, mass_g, weight, prior, residual
        As :func:`species.biology.growth_fit.fit_individuals`. Earlier means of a lower age, whatever the
        order of the columns; weighings of one instant do not speak for one another.
    level
        Share of the central interval.

    Returns
    -------
    OneStepAhead
        (n, m).

    Raises
    ------
    DomainError
        As the fit.

    Notes
    -----
    The m beginnings of each bird's record are fitted as m birds.
    """
    age, log_mass, used = weighings(age_days, mass_g, weight)
    mean, sd = prior.for_birds(len(age))
    count = age.shape[1]
    birds = max(1, PREFIX_CELLS // count**2)
    log_means, log_sds, settled = [], [], []
    for start in range(0, len(age), birds):
        part = slice(start, start + birds)
        told = age[part]
        beginnings = used[part][:, None, :] * (told[:, None, :] < told[:, :, None])
        fit = fit_rows(
            prior.curve,
            residual,
            np.repeat(told, count, axis=0),
            np.repeat(log_mass[part], count, axis=0),
            beginnings.reshape(-1, count),
            np.repeat(mean[part], count, axis=0),
            np.repeat(sd[part], count, axis=0),
        )
        next_age = np.where(used[part] > 0.0, told, told.max(axis=1, keepdims=True))
        step = predict(fit, next_age.reshape(-1, 1))
        log_means.append(step.log_mass.reshape(-1, count))
        log_sds.append(step.log_mass_sd.reshape(-1, count))
        settled.append(fit.converged.reshape(-1, count))
    expected = Prediction(np.concatenate(log_means), np.concatenate(log_sds))
    z = np.where(used > 0.0, (log_mass - expected.log_mass) / expected.log_mass_sd, 0.0)
    return OneStepAhead(expected, z, *expected.interval_g(level), np.concatenate(settled))
