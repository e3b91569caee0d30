"""The curve of a species and how its birds differ, from weighed chicks in nests: what a profile's curve is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize

from species.biology.bounds import FloatArray
from species.biology.curve import SpeciesCurve, log_masses_of_birds
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import fit_individuals
from species.biology.nested_effects import NestedEffects, nested_effects
from species.biology.weighing_errors import ResidualModel, Settling, SlowDeviation
from species.domain.errors import DomainError

MOST_ROUNDS = 60
SETTLED = 1e-5
"""A fit has settled when no mean moves by more than this share of its own standard error."""
FIRST_SPREAD = (0.10, 0.12)
"""Where the search for the spreads of ln A and ln K begins; that of the age is 8 % of the rise from 10 to 90 %."""
FIRST_NOISE, FIRST_SLOW, FIRST_TIME_CONSTANT_DAYS, FIRST_YOUNG_RATIO = 0.04, 0.06, 2.0, 1.5
LEAST_LOG_SD, MOST_LOG_SD = math.log(1e-3), math.log(3.0)
SHORTEST_TIME_CONSTANT_DAYS, LONGEST_TIME_CONSTANT_DAYS = 0.2, 30.0
"""A deviation that lasts longer is no longer told apart from a bird's own asymptote."""


@dataclass(frozen=True, slots=True)
class SpeciesFit:
    """A species' growth, and its spreads between nests and between the chicks of one nest.

    Parameters
    ----------
    curve
        Typical individual.
    individual_sd, nest_sd
        (3,) standard deviations of ln A, ln K and the age shift in d, within and between nests.
    residual
        What lies between a chick's own curve and a weighing.
    mean_sd
        (3,) standard errors of ln A, ln K and the inflection in d.
    log_likelihood
        Of the linearised model at its end: comparable between fits to the same weighings.
    chicks, nests, weighings
        How many were fitted.
    converged
        Whether the rounds settled.
    """

    curve: SpeciesCurve
    individual_sd: FloatArray
    nest_sd: FloatArray
    residual: ResidualModel
    mean_sd: FloatArray
    log_likelihood: float
    chicks: int
    nests: int
    weighings: int
    converged: bool

    @property
    def total_sd(self) -> FloatArray:
        """Spread (3,) of a chick whose nest mates are not weighed."""
        return np.hypot(self.individual_sd, self.nest_sd)

    def prior(self, *, age_sd_days: ArrayLike = 0.0) -> CurvePrior:
        """Prior of a chick of this species, of a nest not known."""
        asymptote, rate, shift = self.total_sd
        return CurvePrior(self.curve, float(asymptote), float(rate), float(shift), age_sd_days=age_sd_days)


def fit_species(
    form: str,
    age_days: ArrayLike,
    mass_g: ArrayLike,
    weight: ArrayLike,
    nest: ArrayLike,
) -> SpeciesFit:
    """Fit a species' curve, its spreads and its residuals by maximum likelihood.

    Parameters
    ----------
    form
        ``logistic``, ``gompertz`` or ``bertalanffy``.
    age_days, mass_g, weight
        (n, m) as :func:`species.biology.growth_fit.fit_individuals`; weight 0 where there is no weighing.
    nest
        (n,) anything that names the nest of each chick.

    Raises
    ------
    DomainError
        If there are fewer than two nests or twenty weighings, or an argument has another shape.

    Notes
    -----
    Alternates, as Lindstrom & Bates 1990 (Biometrics 46:673), from memory: the curves are made straight about each
    chick's parameters; means, spreads and residuals of the straight model are found by maximum likelihood; each
    chick's parameters are those expected under it. Deterministic: the search starts from the pooled curve.
    """
    age, mass, weighed = (np.asarray(told, dtype=np.float64) for told in (age_days, mass_g, weight))
    _, at_nest = np.unique(np.asarray(nest), return_inverse=True)
    used = weighed > 0.0
    if at_nest.shape != (len(age),):
        raise DomainError("Each chick needs one nest.", field="nest", code="shape_differs")
    if at_nest.max(initial=0) < 1 or used.sum() < 20:
        raise DomainError(
            "The spread of a species needs at least two nests and twenty weighings.",
            field="nest",
            code="too_few",
            remedy="Weigh more chicks, or keep the spread of the group.",
        )
    pooled = _pooled_curve(form, age[used], mass[used])
    log_mass = np.log(np.where(used, mass, pooled.asymptote_g))
    straight = _Straight(age, weighed, at_nest, pooled)
    search = straight.start()
    chicks = fit_individuals(
        age, mass, weighed, CurvePrior(pooled, *np.exp(search[:3])), straight.residual(search)
    ).parameters
    converged = False
    effects: NestedEffects | None = None
    for _ in range(MOST_ROUNDS):
        expected, jacobian = log_masses_of_birds(pooled, chicks, age)
        response = log_mass - expected + np.einsum("ncm,nc->nm", jacobian, chicks)
        search = straight.most_likely(response, jacobian, search)
        before, effects = effects, straight.effects(response, jacobian, search)
        chicks = effects.expected
        if before is not None:
            moved = np.abs(effects.mean - before.mean) / np.sqrt(np.diagonal(effects.mean_covariance))
            if converged := bool(moved.max() < SETTLED):
                break
    assert effects is not None
    log_asymptote, log_rate, shift = effects.mean
    curve = SpeciesCurve(form, math.exp(log_asymptote), math.exp(log_rate), pooled.inflection_days - float(shift))
    return SpeciesFit(
        curve,
        individual_sd=np.exp(search[:3]),
        nest_sd=np.exp(search[3:6]),
        residual=straight.residual(search),
        mean_sd=np.sqrt(np.diagonal(effects.mean_covariance)),
        log_likelihood=effects.log_likelihood,
        chicks=len(age),
        nests=int(at_nest.max()) + 1,
        weighings=int(used.sum()),
        converged=converged,
    )


@dataclass(frozen=True, slots=True)
class _Straight:
    """The model with its curves made straight; a search is ln of three own sd, three of nests, and the residual's."""

    age: FloatArray
    weight: FloatArray
    nest: NDArray[np.int64]
    pooled: SpeciesCurve

    def start(self) -> FloatArray:
        spread = [*FIRST_SPREAD, 0.08 * self.pooled.sigmoid.t10_t90 / self.pooled.rate_per_day]
        residual = [FIRST_NOISE, FIRST_SLOW, FIRST_TIME_CONSTANT_DAYS, FIRST_YOUNG_RATIO]
        return np.asarray(np.log([*spread, *(0.7 * sd for sd in spread), *residual]))

    def residual(self, search: FloatArray) -> ResidualModel:
        noise, slow, days, ratio = map(float, np.exp(search[6:]))
        return Settling(SlowDeviation(noise, slow, days), ratio, self.pooled)

    def effects(self, response: FloatArray, jacobian: FloatArray, search: FloatArray) -> NestedEffects:
        errors = self.residual(search).at(self.age, self.weight)
        own, nest = np.exp(search[:3]), np.exp(search[3:6])
        return nested_effects(response, jacobian, errors, self.nest, individual_sd=own, nest_sd=nest)

    def most_likely(self, response: FloatArray, jacobian: FloatArray, search: FloatArray) -> FloatArray:
        limits = [(LEAST_LOG_SD, MOST_LOG_SD)] * search.size
        limits[8] = (math.log(SHORTEST_TIME_CONSTANT_DAYS), math.log(LONGEST_TIME_CONSTANT_DAYS))
        limits[9] = (math.log(0.3), math.log(10.0))
        found = optimize.minimize(
            lambda at: -self.effects(response, jacobian, at).log_likelihood,
            np.clip(search, *np.transpose(limits)),
            method="L-BFGS-B",
            bounds=limits,
            options={"ftol": 1e-11, "gtol": 1e-5},
        )
        return np.asarray(found.x)


def _pooled_curve(form: str, age: FloatArray, mass: FloatArray) -> SpeciesCurve:
    """One curve through all weighings on ln mass, wherever they come from."""
    top = float(np.quantile(mass, 0.95))
    half_age = float(np.median(age[mass > 0.4 * top])) * 0.6
    shape = SpeciesCurve(form, top, 4.0 / max(float(age.max()), 1.0), half_age)

    def apart(parameters: FloatArray) -> FloatArray:
        expected, _ = log_masses_of_birds(shape, parameters[None, :], age[None, :])
        return np.asarray(np.nan_to_num(expected[0] - np.log(mass), nan=1e3, posinf=1e3, neginf=-1e3))

    start = np.array([math.log(top), math.log(shape.rate_per_day), 0.0])
    found = optimize.least_squares(apart, start, loss="soft_l1", f_scale=0.1, max_nfev=500).x
    return SpeciesCurve(form, math.exp(found[0]), math.exp(found[1]), half_age - float(found[2]))
