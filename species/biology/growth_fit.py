"""The growth curve of each bird from its own weighings and its species' spread: the most probable parameters.

One call answers for one bird or for 100,000: every step is written for n birds at once, in blocks of bounded
memory, and a bird's answer does not depend on its company.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from species.biology.bounds import FloatArray, positive, within
from species.biology.curve import SpeciesCurve, curvature_of_birds, log_masses_of_birds
from species.biology.curve_prior import CurvePrior
from species.biology.weighing_errors import ResidualModel, WeighingErrors
from species.domain.errors import DomainError

BLOCK_CELLS = 1 << 16
"""Weighings (or cells of their covariance) worked on at once: a block's arrays stay near the processor."""
MOST_STEPS = 100
SETTLED = 1e-12
"""A fit has settled when a further step would raise the log posterior by less than this."""
FIRST_DAMPING = 1e-3
GREATEST_DAMPING = 1e12

LOG_ASYMPTOTE, LOG_RATE, AGE_SHIFT = range(3)
"""Columns of the parameters."""

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class FitResult:
    """Most probable curve of each of n birds, with the Laplace approximation of what else it may be.

    Parameters
    ----------
    curve, residual
        What was assumed.
    age_days, weight
        (n, m) weighings as fitted; weight 0 where there is none.
    parameters
        (n, 3): ln A, ln K, age shift in d.
    covariance
        (n, 3, 3) of the parameters.
    mean_shift
        (n, 3) mean of the posterior less its mode ``parameters``, to second order.
    prior_sd
        (n, 3) standard deviations before the weighings.
    log_posterior
        (n,) density of weighings and parameters at the mode, with every constant.
    iterations
        (n,) steps tried.
    converged
        (n,) whether the search settled. Where not, the parameters are the best found and not to be relied on.
    observed_information
        (n,) whether the covariance is that of the posterior's own curvature; where that is not positive, as
        for weighings far from any curve, it is Gauss-Newton's.
    residuals
        (n, m) ln weighing - ln curve; 0 where the weight is 0.
    weighing_count
        (n,) weighings of weight above 0.
    whitened_square_sum
        (n,) sum of squares of the whitened residuals.
    effective_parameters
        (n,) parameters, of 3, that the weighings and not the prior determine.
    """

    curve: SpeciesCurve
    residual: ResidualModel
    age_days: FloatArray
    weight: FloatArray
    parameters: FloatArray
    covariance: FloatArray
    mean_shift: FloatArray
    prior_sd: FloatArray
    log_posterior: FloatArray
    iterations: IntArray
    converged: BoolArray
    observed_information: BoolArray
    residuals: FloatArray
    weighing_count: IntArray
    whitened_square_sum: FloatArray
    effective_parameters: FloatArray

    @property
    def asymptote_g(self) -> FloatArray:
        """A of each bird, g."""
        return np.exp(self.parameters[:, LOG_ASYMPTOTE])

    @property
    def rate_per_day(self) -> FloatArray:
        """K of each bird, per day."""
        return np.exp(self.parameters[:, LOG_RATE])

    @property
    def age_shift_days(self) -> FloatArray:
        """Days by which each bird is ahead of the age told."""
        return self.parameters[:, AGE_SHIFT]

    @property
    def parameter_sd(self) -> FloatArray:
        """Posterior standard deviations, (n, 3)."""
        return np.sqrt(np.diagonal(self.covariance, axis1=1, axis2=2))

    @property
    def told_fraction(self) -> FloatArray:
        """Share of each parameter's prior variance that the weighings took away, (n, 3).

        Near 0 the parameter is still the species' and not this bird's own: not to be shown as found.
        """
        return 1.0 - np.square(self.parameter_sd / self.prior_sd)

    @property
    def scatter_ratio(self) -> FloatArray:
        """Scatter about each bird's own curve over the scatter assumed; not a number with none to judge by.

        sqrt(sum of squares / (weighings - effective parameters)).
        """
        freedom = self.weighing_count - self.effective_parameters
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(self.weighing_count > 0, np.sqrt(self.whitened_square_sum / freedom), np.nan)

    def interval(self, level: float = 0.90) -> tuple[FloatArray, FloatArray]:
        """Lower and upper ends of the central interval of each parameter, both (n, 3)."""
        share = within(level, "level", low=0.0, high=1.0, low_excluded=True, high_excluded=True)
        half = ndtri(0.5 + share / 2.0) * self.parameter_sd
        return self.parameters - half, self.parameters + half


def fit_individuals(
    age_days: ArrayLike,
    mass_g: ArrayLike,
    weight: ArrayLike | None,
    prior: CurvePrior,
    residual: ResidualModel,
) -> FitResult:
    """Fit every bird's own curve.

    Parameters
    ----------
    age_days, mass_g
        (n, m) ages and masses of n birds; any order, ages may repeat. Cells of weight 0 may hold anything.
    weight
        (n, m) weights or a mask: 0 (False) where there is no weighing, 1 for an ordinary one; None for all 1.
    prior
        Species' curve and spreads.
    residual
        Model of the residual on ln mass.

    Returns
    -------
    FitResult
        One row for each bird; a bird without weighings gets its prior.

    Raises
    ------
    DomainError
        On arrays that are not (n, m) and alike, a negative or unreal weight, or, where the weight is above 0,
        an age before hatching or a mass that is not positive.

    Notes
    -----
    Maximises -(|whitened residuals|^2 + |(p - mean) / sd|^2) / 2 by Gauss-Newton with Levenberg's damping in
    Marquardt's scale, the prior standing as three more observations; then one Newton step with the exact
    second derivatives. The covariance is the inverse of those (Laplace). Normal equations of 3 by 3 are
    solved stacked.
    """
    age, log_mass, used = weighings(age_days, mass_g, weight)
    mean, sd = prior.for_birds(len(age))
    return fit_rows(prior.curve, residual, age, log_mass, used, mean, sd)


def fit_rows(
    curve: SpeciesCurve,
    residual: ResidualModel,
    age: FloatArray,
    log_mass: FloatArray,
    weight: FloatArray,
    mean: FloatArray,
    sd: FloatArray,
) -> FitResult:
    """Fit weighings and priors that were checked: the inside of :func:`fit_individuals`, in blocks."""
    rows = max(1, BLOCK_CELLS // max(1, residual.cells_per_bird(age.shape[1])))
    blocks = [
        _fit_block(curve, residual, age[part], log_mass[part], weight[part], mean[part], sd[part])
        for part in (slice(start, start + rows) for start in range(0, len(age), rows))
    ]
    joined = {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}
    return FitResult(curve=curve, residual=residual, age_days=age, weight=weight, prior_sd=sd, **joined)


def weighings(
    age_days: ArrayLike, mass_g: ArrayLike, weight: ArrayLike | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Check weighings and give ages, log masses and weights; where there is none, age and log mass are 0."""
    age, mass = np.asarray(age_days, dtype=np.float64), np.asarray(mass_g, dtype=np.float64)
    used = np.ones(age.shape) if weight is None else within(np.asarray(weight, dtype=np.float64), "weight", low=0.0)
    if age.ndim != 2 or age.shape != mass.shape or age.shape != used.shape or 0 in age.shape:
        raise DomainError(
            f"Ages {age.shape}, masses {mass.shape} and weights {used.shape} must be alike, birds by weighings.",
            field="mass_g",
            code="shape_differs",
            remedy="Give one bird as one row, and a bird without weighings as a row of weight 0.",
        )
    seen = used > 0.0
    within(age[seen], "age_days", low=0.0)
    positive(mass[seen], "mass_g")
    return np.where(seen, age, 0.0), np.log(np.where(seen, mass, 1.0)), np.asarray(used)


@dataclass(frozen=True, slots=True)
class _Posterior:
    """Negative log posterior of a block of birds up to its constant, as sums of squares."""

    curve: SpeciesCurve
    age: FloatArray
    log_mass: FloatArray
    weight: FloatArray
    mean: FloatArray
    sd: FloatArray
    errors: WeighingErrors

    def of(self, birds: BoolArray) -> _Posterior:
        """Give the same for some of the birds."""
        age, log_mass, weight = self.age[birds], self.log_mass[birds], self.weight[birds]
        return _Posterior(self.curve, age, log_mass, weight, self.mean[birds], self.sd[birds], self.errors.of(birds))

    def start(self) -> FloatArray:
        """Prior means; where a curve would start after a bird's first weighing, moved ahead until it does not."""
        begun = self.mean.copy()
        earliest_x = self.curve.sigmoid.earliest_x
        if math.isfinite(earliest_x):
            first = np.min(self.age, axis=1, initial=np.inf, where=self.weight > 0.0)
            needed = self.curve.inflection_days + (earliest_x + 0.1) / np.exp(begun[:, LOG_RATE]) - first
            begun[:, AGE_SHIFT] = np.maximum(begun[:, AGE_SHIFT], needed)
        return begun

    def look(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Half the sum of squares (n,), its downhill gradient (n, 3) and Gauss-Newton's matrix (n, 3, 3)."""
        log_mass, jacobian = log_masses_of_birds(self.curve, parameters, self.age)
        rows = np.empty((len(parameters), 4, self.age.shape[1]))
        rows[:, :3] = jacobian
        rows[:, 3] = self.log_mass - log_mass
        with np.errstate(invalid="ignore", over="ignore"):
            white = self.errors.whiten(rows)
            product = white[:, :3] @ white.transpose(0, 2, 1)
            pull = (self.mean - parameters) / self.sd
            half_sum = 0.5 * (np.square(white[:, 3]).sum(axis=1) + np.square(pull).sum(axis=1))
        matrix = product[:, :, :3]
        matrix[:, range(3), range(3)] += 1.0 / self.sd**2
        return half_sum, product[:, :, 3] + pull / self.sd, matrix

    def exact_matrix(self, parameters: FloatArray, matrix: FloatArray) -> FloatArray:
        """Second derivatives of half the sum of squares: Gauss-Newton's matrix less residual times bend."""
        log_mass, _ = log_masses_of_birds(self.curve, parameters, self.age)
        second = curvature_of_birds(self.curve, parameters, self.age)
        white = self.errors.whiten(np.concatenate([second, (self.log_mass - log_mass)[:, None]], axis=1))
        bend = np.einsum("nkm,nm->nk", white[:, :3], white[:, 3])
        exact = matrix.copy()
        exact[:, LOG_RATE, LOG_RATE] -= bend[:, 0]
        exact[:, LOG_RATE, AGE_SHIFT] -= bend[:, 1]
        exact[:, AGE_SHIFT, LOG_RATE] -= bend[:, 1]
        exact[:, AGE_SHIFT, AGE_SHIFT] -= bend[:, 2]
        return exact

    def mean_beyond_mode(self, parameters: FloatArray, covariance: FloatArray) -> FloatArray:
        """Posterior mean less mode, to the order in which ln mass bends: (n, 3).

        -C (T : C) / 2, T the third derivatives of half the sum of squares without those of ln mass itself:
        T : C = sum over weighings of J tr(H C) + 2 H C J.
        """
        _, jacobian = log_masses_of_birds(self.curve, parameters, self.age)
        second = curvature_of_birds(self.curve, parameters, self.age)
        white = self.errors.whiten(np.concatenate([jacobian, second], axis=1))
        slopes, bends = white[:, :3], second_derivatives(white[:, 3:])
        turned = np.einsum("nmij,njk,nkm->ni", bends, covariance, slopes)
        traced = np.einsum("nmij,nji,nkm->nk", bends, covariance, slopes)
        return np.asarray(-0.5 * (covariance @ (traced + 2.0 * turned)[:, :, None])[:, :, 0])


def second_derivatives(rows: FloatArray) -> FloatArray:
    """Rows of :func:`species.biology.curve.curvature_of_birds`, (n, 3, m), as matrices (n, m, 3, 3)."""
    full = np.zeros((len(rows), rows.shape[2], 3, 3))
    full[:, :, LOG_RATE, LOG_RATE] = rows[:, 0]
    full[:, :, LOG_RATE, AGE_SHIFT] = full[:, :, AGE_SHIFT, LOG_RATE] = rows[:, 1]
    full[:, :, AGE_SHIFT, AGE_SHIFT] = rows[:, 2]
    return full


def _search(posterior: _Posterior) -> tuple[FloatArray, IntArray, BoolArray]:
    """Give the mode of each bird, the steps tried, and whether the search settled."""
    best = posterior.start()
    iterations = np.zeros(len(best), dtype=np.int64)
    settled = np.zeros(len(best), dtype=bool)
    birds = np.arange(len(best))
    here, at = posterior, best.copy()
    half_sum, gradient, matrix = here.look(at)
    damping = np.full(len(best), FIRST_DAMPING)
    for _ in range(MOST_STEPS):
        able = np.isfinite(half_sum) & (damping < GREATEST_DAMPING)
        if not able.all():
            best[birds] = at
            here, birds = here.of(able), birds[able]
            at, half_sum, gradient, matrix, damping = (part[able] for part in (at, half_sum, gradient, matrix, damping))
        if not len(birds):
            break
        damped = matrix.copy()
        damped[:, range(3), range(3)] *= 1.0 + damping[:, None]
        step = np.linalg.solve(damped, gradient[:, :, None])[:, :, 0]
        promised = (gradient * step).sum(axis=1) * (1.0 + damping)
        iterations[birds] += 1
        tried = at + step
        new_sum, new_gradient, new_matrix = here.look(tried)
        better = new_sum <= half_sum
        at[better], half_sum[better] = tried[better], new_sum[better]
        gradient[better], matrix[better] = new_gradient[better], new_matrix[better]
        damping = np.where(better, damping * 0.1, damping * 8.0)
        done = promised < SETTLED
        if done.any():
            best[birds] = at
            settled[birds[done]] = True
            damping[done] = GREATEST_DAMPING
    best[birds] = at
    return best, iterations, settled


def _fit_block(
    curve: SpeciesCurve,
    residual: ResidualModel,
    age: FloatArray,
    log_mass: FloatArray,
    weight: FloatArray,
    mean: FloatArray,
    sd: FloatArray,
) -> dict[str, NDArray[np.generic]]:
    posterior = _Posterior(curve, age, log_mass, weight, mean, sd, residual.at(age, weight))
    parameters, iterations, settled = _search(posterior)
    half_sum, gradient, matrix = posterior.look(parameters)
    unusable = ~np.isfinite(half_sum)
    if unusable.any():
        # No curve of this form reaches these weighings at all: the prior stands, and the bird is not converged.
        parameters[unusable], matrix[unusable], gradient[unusable] = mean[unusable], 0.0, 0.0
        matrix[unusable] += np.einsum("nk,kl->nkl", 1.0 / sd[unusable] ** 2, np.eye(3))
    exact = posterior.exact_matrix(parameters, matrix)
    exact[unusable] = matrix[unusable]
    lowest = np.min(np.linalg.eigvalsh(_in_prior_units(exact, sd)), axis=1)
    observed = lowest > 1e-9
    polished = np.where((observed & settled)[:, None, None], exact, matrix)
    stepped = parameters + np.where(settled[:, None], np.linalg.solve(polished, gradient[:, :, None])[:, :, 0], 0.0)
    new_sum, _, new_matrix = posterior.look(stepped)
    keep = settled & (new_sum <= half_sum + SETTLED * (1.0 + half_sum))
    parameters[keep], half_sum[keep], matrix[keep] = stepped[keep], new_sum[keep], new_matrix[keep]
    exact = np.where(keep[:, None, None], posterior.exact_matrix(parameters, matrix), exact)
    information = np.where(observed[:, None, None], exact, matrix)
    covariance = np.linalg.inv(information)
    covariance = 0.5 * (covariance + covariance.transpose(0, 2, 1))

    fitted, jacobian = log_masses_of_birds(curve, parameters, age)
    seen = weight > 0.0
    residuals = np.where(seen, log_mass - fitted, 0.0)
    count = seen.sum(axis=1)
    pull = (parameters - mean) / sd
    constant = (count + 3) * math.log(2.0 * math.pi) / 2.0 + np.log(sd).sum(axis=1)
    own = matrix - np.einsum("nk,kl->nkl", 1.0 / sd**2, np.eye(3))
    return {
        "parameters": parameters,
        "covariance": covariance,
        "mean_shift": np.where(settled[:, None], posterior.mean_beyond_mode(parameters, covariance), 0.0),
        "log_posterior": -half_sum - constant - 0.5 * posterior.errors.log_determinant(),
        "iterations": iterations,
        "converged": settled & ~unusable,
        "observed_information": observed,
        "residuals": residuals,
        "weighing_count": count,
        "whitened_square_sum": np.maximum(2.0 * half_sum - np.square(pull).sum(axis=1), 0.0),
        "effective_parameters": np.einsum("nij,nji->n", np.linalg.inv(matrix), own),
    }


def _in_prior_units(matrix: FloatArray, sd: FloatArray) -> FloatArray:
    return matrix * sd[:, :, None] * sd[:, None, :]
