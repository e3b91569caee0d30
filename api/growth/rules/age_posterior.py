"""Every age weighed by how well it explains a bird's mass and its visible development.

Ages lie on a grid and none is preferred beforehand; everything is summed in logs.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid
from scipy.special import log_ndtr, logsumexp

from species.biology import growth_forms, population
from species.domain.record import Record

#: Distance of two ages on the grid.
STEP_DAYS = 0.1
#: Two-sided 90 % of a normal spread: a printed range stands for its 5th to 95th centile.
Z_90 = 1.6448536269514722
#: A milestone's age is never known better than this: it is looked for once or twice a day, and judged by eye.
LEAST_MILESTONE_SD_DAYS, LEAST_MILESTONE_SD_FRACTION = 0.5, 0.05
MOST_LIKELY_DAYS = 5

Floats = NDArray[np.float64]


class LikelyDay(Record, frozen=True, kw_only=True):
    """A whole day of age and its posterior probability."""

    days: int
    probability: float


def milestone_age(*, low_days: float, high_days: float) -> tuple[float, float]:
    """Mean and standard deviation of the age at which a milestone is first seen.

    Parameters
    ----------
    low_days, high_days
        Printed range, taken for the 5th and 95th centile.

    Returns
    -------
    tuple of float
        Days. The spread is at least :data:`LEAST_MILESTONE_SD_DAYS` and :data:`LEAST_MILESTONE_SD_FRACTION` of the
        mean (common practice, no source: a range printed as one day is no exact one).
    """
    mean = (low_days + high_days) / 2.0
    spread = (high_days - low_days) / (2.0 * Z_90)
    return mean, max(spread, LEAST_MILESTONE_SD_DAYS, LEAST_MILESTONE_SD_FRACTION * mean)


def grid_days(end_days: float) -> Floats:
    """Ages from hatching to the end, :data:`STEP_DAYS` apart."""
    return np.asarray(np.arange(round(end_days / STEP_DAYS) + 1) * STEP_DAYS)


def log_likelihood(
    age_days: Floats, *, mass: Mapping[str, Any] | None, milestones: Sequence[Mapping[str, Any]]
) -> Floats:
    """Log likelihood of the evidence at each age; minus infinity before a von Bertalanffy curve begins.

    Parameters
    ----------
    age_days
        Ages (n,).
    mass
        ``mass_g`` with the curve and spreads of :func:`species.biology.population.log_mass_sd`; or None.
    milestones
        Each ``mean_days``, ``sd_days`` and ``seen``.

    Returns
    -------
    numpy.ndarray
        (n,). The mass's is a density of ln mass, so that species of any size compare.

    Notes
    -----
    Mass: -z^2/2 - ln sd(ln m | t) - ln(2 pi)/2. Milestone: ln Phi((t - mean)/sd) if seen, ln Phi((mean - t)/sd) if
    not. Taken as independent at a given age. The sum in logs never underflows.
    """
    total = np.zeros_like(age_days)
    if mass is not None:
        total += _log_mass_density(age_days, **mass)
    for milestone in milestones:
        sign = 1.0 if milestone["seen"] else -1.0
        total += log_ndtr(sign * (age_days - milestone["mean_days"]) / milestone["sd_days"])
    return total


def _log_mass_density(age_days: Floats, *, mass_g: float, form: str, asymptote_g: float, **curve: float) -> Floats:
    first_day = curve["inflection_days"] + growth_forms.growth_form(form).earliest_x / curve["rate_per_day"]
    begun = age_days > first_day
    density = np.full_like(age_days, -np.inf)
    spreads = {name: value for name, value in curve.items() if name.endswith(("sd", "sd_days"))}
    rate, inflection = curve["rate_per_day"], curve["inflection_days"]
    z = population.z_of_mass(form, mass_g, age_days[begun], asymptote_g, rate, inflection, **spreads)
    sd = population.log_mass_sd(form, age_days[begun], rate, inflection, **spreads)
    density[begun] = -0.5 * np.square(z) - np.log(sd) - 0.5 * math.log(2.0 * math.pi)
    return density


def age_at_centile_days(
    *, centile: float, end_days: float, mass: Mapping[str, Any] | None, milestones: Sequence[Mapping[str, Any]]
) -> float:
    """Age below which so many per cent of the posterior lie, to 0.1 d.

    Parameters
    ----------
    centile
        Per cent, above 0 and below 100.
    end_days
        Last age that is considered.
    mass, milestones
        As :func:`log_likelihood`.
    """
    ages = grid_days(end_days)
    return centile_days(ages, log_likelihood(ages, mass=mass, milestones=milestones), centile)


def centile_days(ages: Floats, log_density: Floats, centile: float) -> float:
    """The same of a density on a grid, given in logs up to a constant."""
    below = cumulative_trapezoid(np.exp(log_density - np.max(log_density)), ages, initial=0.0)
    return round(float(np.interp(centile / 100.0 * below[-1], below, ages)), 1)


def whole_days(ages: Floats, log_density: Floats) -> tuple[LikelyDay, ...]:
    """The most probable whole days, best first: day 3 stands for 2.5 to 3.5 d, as in ``hatched_on``."""
    weight = np.exp(log_density - logsumexp(log_density))
    by_day = np.bincount(np.floor(ages + 0.5).astype(np.int64), weights=weight)
    best = np.argsort(-by_day, kind="stable")[:MOST_LIKELY_DAYS]
    told = (LikelyDay(days=int(day), probability=round(float(by_day[day]), 3)) for day in best)
    return tuple(day for day in told if day.probability > 0.0)
