"""Every age weighed by how well it explains a bird's mass and its visible development.

Chicks of one age are not equally far. How far a bird is ahead or behind is one unknown of its own, which its mass and
its feathers share; it is integrated out on a grid. Ages lie on a grid too, none is preferred beforehand, and everything
is summed in logs.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid
from scipy.special import log_ndtr, logsumexp

from species.biology import growth_forms
from species.domain.record import Record

#: Distance of two ages on the grid.
STEP_DAYS = 0.1
#: Two-sided 90 % of a normal spread: a printed range stands for its 5th to 95th centile.
Z_90 = 1.6448536269514722
#: Spread of development at hatching, in days: size of the hatchling, hour of hatching, doubt about the hatching day.
#: Our fit to the fitting half of the weighed chicks; tests/validation/test_age_constants.py derives it again.
START_SD_DAYS = 0.6
#: Feathers go so far along with what the mass is ahead or behind. Our fit, as above.
FEATHERS_FOLLOW = 0.7
#: A step printed for a whole group is off by this share of its age in one species (standard deviation). Our reckoning
#: from songbird profiles with both, derived again as above.
GROUP_MISSES_BY = 0.3
#: A step is looked for once or twice a day and judged by eye (common practice, no source).
LEAST_MILESTONE_SD_DAYS = 0.5
#: Relative spread of pace where a profile has no curve: the middle of the built-in ones, which lie at 0.14 to 0.35.
USUAL_PACE_SD = 0.2
#: No chicks develop more alike than this: the least of the built-in curves whose spreads are of weighed chicks. A
#: smaller spread in a profile tells how alike hatchlings weigh, which is their eggs', not how alike they grow.
LEAST_PACE_SD = 0.14
#: Where the last age of the grid is so nearly as likely as the best one, in logs, the evidence sets no upper end:
#: half the 95 % point of chi-squared with one degree of freedom.
OPEN_ENDED = 1.92
#: Nodes of the unknown lead, and how far they reach, in its standard deviations.
LEAD_NODES, LEAD_REACH = 161, 5.0
MOST_LIKELY_DAYS = 5

Floats = NDArray[np.float64]


class LikelyDay(Record, frozen=True, kw_only=True):
    """A whole day of age and its posterior probability."""

    days: int
    probability: float


def pace_sd(
    *, form: str, rate_per_day: float, inflection_days: float, log_rate_sd: float, inflection_sd_days: float
) -> float:
    """Relative spread of pace between the chicks of a species: sd(lead) as a share of age.

    Parameters
    ----------
    form, rate_per_day, inflection_days, log_rate_sd, inflection_sd_days
        Of the profile's curve.

    Notes
    -----
    sqrt(sd(ln K)^2 + (sd(t_i) / t_half)^2), t_half the age at half the asymptote. A chick that develops c times as fast
    has c K and t_half / c: the spreads of both are spreads of pace. Taken as independent, and at least
    :data:`LEAST_PACE_SD`.
    """
    half = growth_forms.age_days(form, 0.5, 1.0, rate_per_day, inflection_days)
    return max(LEAST_PACE_SD, math.hypot(log_rate_sd, inflection_sd_days / max(float(half), 1.0 / rate_per_day)))


def milestone_age(
    *, low_days: float, high_days: float, usual_days: float | None, of_the_species: bool, pace_sd: float
) -> tuple[float, float]:
    """When a milestone is first seen: the mean, and the spread that a chick's lead does not explain.

    Parameters
    ----------
    low_days, high_days
        Printed range, taken for the 5th and 95th centile.
    usual_days
        The usual age, where one is printed; else the middle of the range.
    of_the_species
        Whether the range was seen in this species.
    pace_sd
        As :func:`pace_sd`.

    Returns
    -------
    tuple of float
        Days. The spread is what the range leaves when that of leads is taken off, but at least
        :data:`LEAST_MILESTONE_SD_DAYS`, and for another species' range :data:`GROUP_MISSES_BY` of the mean.
    """
    mean = (low_days + high_days) / 2.0 if usual_days is None else usual_days
    printed = (high_days - low_days) / (2.0 * Z_90)
    of_leads = FEATHERS_FOLLOW * math.hypot(START_SD_DAYS, pace_sd * mean)
    left = math.sqrt(max(printed**2 - of_leads**2, 0.0))
    return mean, max(left, LEAST_MILESTONE_SD_DAYS, 0.0 if of_the_species else GROUP_MISSES_BY * mean)


def grid_days(end_days: float) -> Floats:
    """Ages from hatching to the end, :data:`STEP_DAYS` apart."""
    return np.asarray(np.arange(round(end_days / STEP_DAYS) + 1) * STEP_DAYS)


def log_likelihood(
    age_days: Floats, *, pace_sd: float, mass: Mapping[str, Any] | None, milestones: Sequence[Mapping[str, Any]]
) -> Floats:
    """Log likelihood of the evidence at each age; minus infinity where no bird of that age could show it.

    Parameters
    ----------
    age_days
        Ages (n,).
    pace_sd
        Relative spread of pace, see :func:`pace_sd`.
    mass
        ``mass_g``, the curve (``form``, ``asymptote_g``, ``rate_per_day``, ``inflection_days``) and ``log_mass_sd``,
        the spread of ln mass between birds that are equally far; or None.
    milestones
        Each ``mean_days``, ``sd_days`` (see :func:`milestone_age`), ``not_yet_days`` and ``seen_days``: how long after
        the day asked it was last looked for in vain and first seen, below 0 before it; None where it was not.

    Returns
    -------
    numpy.ndarray
        (n,). The mass's is a density of ln mass, so that species of any size compare.

    Notes
    -----
    Lead z normal, d(t) = t + z sqrt(START_SD_DAYS^2 + (pace_sd t)^2) the age that the bird's mass is of, and
    f(t) = t + FEATHERS_FOLLOW (d(t) - t) that of its feathers. Mass: normal in ln mass about the curve at d. Milestone
    not yet seen at a, seen at b: Phi((f(b) - mean) / sd) - Phi((f(a) - mean) / sd), with 1 or 0 for the end that is
    open. The trapezoid rule over z; nothing underflows.
    """
    z = np.linspace(-LEAD_REACH, LEAD_REACH, LEAD_NODES)
    log_weight = -0.5 * np.square(z)
    ages = age_days[:, np.newaxis]
    total = np.broadcast_to(log_weight - logsumexp(log_weight), (len(age_days), LEAD_NODES))
    if mass is not None:
        total = total + _log_mass_density(ages + _lead_days(ages, z, pace_sd), **mass)
    for milestone in milestones:
        total = total + _log_milestone(ages, z, pace_sd, milestone)
    return np.asarray(logsumexp(total, axis=1))


def _lead_days(ages: Floats, z: Floats, pace_sd: float) -> Floats:
    return np.asarray(np.hypot(START_SD_DAYS, pace_sd * ages) * z)


def _log_mass_density(
    developed_days: Floats,
    *,
    mass_g: float,
    form: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
    log_mass_sd: float,
) -> Floats:
    share = growth_forms.growth_form(form).log_share(rate_per_day * (developed_days - inflection_days))
    z = (math.log(mass_g / asymptote_g) - share) / log_mass_sd
    return np.asarray(-0.5 * np.square(z) - math.log(log_mass_sd * math.sqrt(2.0 * math.pi)))


def _log_milestone(ages: Floats, z: Floats, pace_sd: float, milestone: Mapping[str, Any]) -> Floats:
    def standard(days_later: float) -> Floats:
        then = np.maximum(ages + days_later, 0.0)  # nothing shows before hatching
        feathers = then + FEATHERS_FOLLOW * _lead_days(then, z, pace_sd)
        return np.asarray((feathers - milestone["mean_days"]) / milestone["sd_days"])

    not_yet, seen = milestone["not_yet_days"], milestone["seen_days"]
    if not_yet is None:
        return np.asarray(log_ndtr(standard(seen)))
    if seen is None:
        return np.asarray(log_ndtr(-standard(not_yet)))
    return _log_normal_between(standard(not_yet), standard(seen))


def _log_normal_between(low: Floats, high: Floats) -> Floats:
    """ln(Phi(high) - Phi(low)), exact in both tails; minus infinity where high is not above low."""
    above = low > 0.0
    low, high = np.where(above, -high, low), np.where(above, -low, high)
    log_low, log_high = log_ndtr(low), log_ndtr(high)
    with np.errstate(divide="ignore", invalid="ignore"):
        inside = log_high + np.log1p(-np.exp(np.minimum(log_low - log_high, 0.0)))
    return np.where(high > low, inside, -np.inf)


def age_at_centile_days(
    *,
    centile: float,
    end_days: float,
    pace_sd: float,
    mass: Mapping[str, Any] | None,
    milestones: Sequence[Mapping[str, Any]],
) -> float:
    """Age below which so many per cent of the posterior lie, to 0.1 d.

    Parameters
    ----------
    centile
        Per cent, above 0 and below 100.
    end_days
        Last age that is considered.
    pace_sd, mass, milestones
        As :func:`log_likelihood`.
    """
    ages = grid_days(end_days)
    return centile_days(ages, log_likelihood(ages, pace_sd=pace_sd, mass=mass, milestones=milestones), centile)


def age_at_least_days(
    *, end_days: float, pace_sd: float, mass: Mapping[str, Any] | None, milestones: Sequence[Mapping[str, Any]]
) -> float:
    """The first age that the evidence does not speak against, to 0.1 d, wherever the grid ends.

    Within :data:`OPEN_ENDED` of the best age in logs. Parameters as :func:`age_at_centile_days`.
    """
    ages = grid_days(end_days)
    return at_least_days(ages, log_likelihood(ages, pace_sd=pace_sd, mass=mass, milestones=milestones))


def open_ended(log_density: Floats) -> bool:
    """Whether the last age is nearly as likely as the best one, so that nothing sets an upper end."""
    return bool(log_density[-1] > np.max(log_density) - OPEN_ENDED)


def at_least_days(ages: Floats, log_density: Floats) -> float:
    """The first age within :data:`OPEN_ENDED` of the best one."""
    return round(float(ages[np.argmax(log_density >= np.max(log_density) - OPEN_ENDED)]), 1)


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
