"""When a bird has fallen behind its own curve for too long: a CUSUM on one-step-ahead scores, and how long it runs.

Each weighing adds what its score lies below -k; what lies above takes away again, down to 0. An alarm is a sum
above h. How long a healthy bird goes without an alarm, and how soon a faltering one gets it, follows from k and h
alone, if scores are independent and normal with standard deviation 1.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import ndtr

from species.biology.bounds import FloatArray, positive, within
from species.domain.errors import DomainError

LARGEST_REFERENCE = 3.0
LARGEST_LIMIT = 30.0
LARGEST_SHIFT = 5.0
MOST_WEIGHINGS = 10_000
"""The numerics hold within these; no chart in use comes near them."""

NO_ALARM = -1

FEWEST_NODES = 24
NODES_PER_SD = 8
"""Enough for a kernel of standard deviation 1: twice as many change no run length in its eleventh digit."""

SMALLEST_LIMIT = 1e-6
LIMIT_TOLERANCE = 1e-10


@dataclass(frozen=True, slots=True)
class Cusum:
    """Low-side CUSUM of n birds over m weighings.

    Parameters
    ----------
    sums
        (n, m) S after each weighing, in standard deviations of the score. It goes on after an alarm.
    alarm_at
        (n,) index of the first weighing with S > h; -1 where there is none.
    rising_from
        (n,) index of the weighing since which the sum that gave the alarm has been above 0: the usual estimate
        of when the change began. With a head start it may be the first weighing. -1 where there is no alarm.
    """

    sums: FloatArray
    alarm_at: NDArray[np.intp]
    rising_from: NDArray[np.intp]

    @property
    def alarmed(self) -> NDArray[np.bool_]:
        """Whether a bird had an alarm, (n,)."""
        return np.asarray(self.alarm_at != NO_ALARM)


def cusum(z: ArrayLike, weight: ArrayLike | None, k: ArrayLike, h: ArrayLike, head_start: ArrayLike = 0.0) -> Cusum:
    """One-sided CUSUM of standardised residuals, on the low side.

    Parameters
    ----------
    z
        (n, m) one-step-ahead scores in order of age, standard deviations; NaN where there is none.
    weight
        (n, m), 0 or False where there is no weighing; None if all count. Only whether it is above 0 matters:
        a score is already divided by its own standard deviation.
    k
        Reference value, standard deviations, 0 to 3; one for all or (n,).
    h
        Limit, standard deviations, above 0 and at most 30; one for all or (n,).
    head_start
        S before the first weighing, standard deviations, 0 to h; one for all or (n,).

    Returns
    -------
    Cusum
        Of n birds; a missing weighing leaves S as it is.

    Raises
    ------
    DomainError
        On an argument outside its domain, an infinite score, or shapes that are not alike.

    Notes
    -----
    S_i = max(0, S_(i-1) - z_i - k), S_0 the head start; alarm at S > h. Page 1954, Biometrika 41:100-115; head
    start: Lucas and Crosier 1982, Technometrics 24:199-205. docs/methods/cusum.md.
    """
    score, used = _scores(z, weight)
    birds, weighings = score.shape
    reference = _a_bird(within(k, "k", low=0.0, high=LARGEST_REFERENCE), birds, "k")
    limit = _a_bird(positive(h, "h", high=LARGEST_LIMIT), birds, "h")
    level = _a_bird(within(head_start, "head_start", low=0.0), birds, "head_start")
    _below_limit(level, limit)
    sums = np.empty(score.shape)
    alarm_at = np.full(birds, NO_ALARM, dtype=np.intp)
    rising_from = np.full(birds, NO_ALARM, dtype=np.intp)
    began = np.full(birds, NO_ALARM, dtype=np.intp)
    for column in range(weighings):
        seen = used[:, column]
        level = np.where(seen, np.maximum(0.0, level - score[:, column] - reference), level)
        began = np.where(seen & (began == NO_ALARM), column, began)
        began = np.where(level > 0.0, began, NO_ALARM)
        fresh = (level > limit) & (alarm_at == NO_ALARM)
        alarm_at[fresh], rising_from[fresh] = column, began[fresh]
        sums[:, column] = level
    return Cusum(sums, alarm_at, rising_from)


def run_length(k: float, h: float, shift: float = 0.0, head_start: float = 0.0) -> float:
    """Average number of weighings up to and with the alarm.

    Parameters
    ----------
    k, h
        Reference value (0 to 3) and limit (above 0, at most 30), standard deviations.
    shift
        Mean of the scores, standard deviations, -5 to 5: 0 for a bird that keeps to its own curve, below 0 for
        one that falls behind.
    head_start
        S before the first weighing, 0 to h.

    Returns
    -------
    float
        Weighings, at least 1. Missing ones do not count.

    Raises
    ------
    DomainError
        On an argument outside its domain.

    Notes
    -----
    With F and f the distribution and density of -z, normal with mean -shift and standard deviation 1,

        L(u) = 1 + F(k - u) L(0) + integral from 0 to h of f(s + k - u) L(s) ds

    (Page 1954), solved at 0 and at the nodes of Gauss and Legendre (Nystroem). The system is solved by elimination
    without a subtraction (Grassmann, Taksar and Heyman 1985, Operations Research 33:1107-1116), with the
    probability of an alarm from each level known exactly, so that a run length of 1e18 has its digits too.
    docs/methods/cusum.md.
    """
    return _average(k, h, shift, head_start)


def run_length_distribution(
    k: float, h: float, weighings: int, shift: float = 0.0, head_start: float = 0.0
) -> FloatArray:
    """Probability of an alarm within 1, 2, ... weighings.

    Parameters
    ----------
    k, h, shift, head_start
        As :func:`run_length`.
    weighings
        Number of weighings, 1 to 10,000. Missing ones do not count.

    Returns
    -------
    numpy.ndarray
        (weighings,) rising probabilities.

    Raises
    ------
    DomainError
        On an argument outside its domain.

    Notes
    -----
    The density of S without an alarm so far is carried from weighing to weighing through the nodes of
    :func:`run_length`, and what passes h is summed (Brook and Evans 1972, Biometrika 59:539-549, with nodes for
    their steps; Waldmann 1986, Technometrics 28:61-67). docs/methods/cusum.md.
    """
    chart = _chart(k, h, shift)
    at = np.empty(_count(weighings))
    first, first_alarm = chart.step(_start(head_start, chart))
    moves, alarms = chart.step(chart.levels)
    at[0], held = first_alarm[0], first[0]
    for step in range(1, at.size):
        at[step], held = held @ alarms, held @ moves
    return np.minimum(np.cumsum(at), 1.0)


def alarm_probability(k: float, h: float, weighings: int, shift: float = 0.0, head_start: float = 0.0) -> float:
    """Probability of an alarm within a number of weighings; see :func:`run_length_distribution`."""
    return float(run_length_distribution(k, h, weighings, shift, head_start)[-1])


def limit_for(k: float, alarm_probability: float, weighings: int, head_start_fraction: float = 0.0) -> float:
    """Limit at which a healthy bird is flagged with a stated probability in a rearing of so many weighings.

    Parameters
    ----------
    k
        Reference value, standard deviations, 0 to 3.
    alarm_probability
        Probability of at least one alarm, above 0 and below what the lowest limit gives, 1 - Phi(k)^weighings.
    weighings
        Number of weighings, 1 to 10,000. Missing ones do not count.
    head_start_fraction
        Head start as a share of the limit, 0 to 1; a half is usual (Lucas and Crosier 1982).

    Returns
    -------
    float
        h, standard deviations.

    Raises
    ------
    DomainError
        On an argument outside its domain, or if no limit up to 30 gives that probability.

    Notes
    -----
    Root of ln P(alarm; h) - ln(alarm_probability), by Brent's method. docs/methods/cusum.md.
    """
    wanted = within(alarm_probability, "alarm_probability", low=0.0, high=1.0, low_excluded=True, high_excluded=True)
    share, count = _fraction(head_start_fraction), _count(weighings)

    def excess(h: float) -> float:
        return math.log(float(wanted)) - math.log(run_length_distribution(k, h, count, 0.0, share * h)[-1])

    return _root(excess, "alarm_probability")


def limit_for_run_length(k: float, run_length: float, head_start_fraction: float = 0.0) -> float:
    """Limit at which a healthy bird's run has a stated average length.

    Parameters
    ----------
    k
        Reference value, standard deviations, 0 to 3.
    run_length
        Average weighings up to an alarm, above what the lowest limit gives, 1 / (1 - Phi(k)).
    head_start_fraction
        Head start as a share of the limit, 0 to 1.

    Returns
    -------
    float
        h, standard deviations.

    Raises
    ------
    DomainError
        On an argument outside its domain, or if no limit up to 30 gives that run length.
    """
    wanted = within(run_length, "run_length", low=1.0, low_excluded=True)
    share = _fraction(head_start_fraction)

    def excess(h: float) -> float:
        return math.log(_average(k, h, 0.0, share * h)) - math.log(float(wanted))

    return _root(excess, "run_length")


@dataclass(frozen=True, slots=True)
class _Chart:
    """S short of its alarm, held at 0 and at nodes up to h."""

    reference: float
    limit: float
    shift: float
    levels: FloatArray
    widths: FloatArray

    def step(self, start: FloatArray) -> tuple[FloatArray, FloatArray]:
        """One weighing from (q,) levels: weights on ``levels`` (q, 1 + nodes), and the probability of an alarm (q,)."""
        fall = (self.reference + self.shift - start)[:, None]
        moves = np.empty((start.size, self.levels.size))
        moves[:, :1] = ndtr(fall)
        moves[:, 1:] = self.widths * np.exp(-0.5 * np.square(self.levels[1:] + fall)) / math.sqrt(2.0 * math.pi)
        return moves, np.asarray(ndtr(-(self.limit + fall[:, 0])), dtype=np.float64)


def _chart(k: float, h: float, shift: float) -> _Chart:
    reference = float(within(k, "k", low=0.0, high=LARGEST_REFERENCE))
    limit = float(positive(h, "h", high=LARGEST_LIMIT))
    mean = float(within(shift, "shift", low=-LARGEST_SHIFT, high=LARGEST_SHIFT))
    nodes, widths = _nodes(FEWEST_NODES + NODES_PER_SD * math.ceil(limit))
    levels = np.concatenate([[0.0], 0.5 * limit * (nodes + 1.0)])
    return _Chart(reference, limit, mean, levels, 0.5 * limit * widths)


@cache
def _nodes(count: int) -> tuple[FloatArray, FloatArray]:
    nodes, widths = np.polynomial.legendre.leggauss(count)
    nodes.flags.writeable = widths.flags.writeable = False
    return nodes, widths


def _average(k: float, h: float, shift: float, head_start: float) -> float:
    chart = _chart(k, h, shift)
    first, _ = chart.step(_start(head_start, chart))
    return float(1.0 + first[0] @ _mean_steps(*chart.step(chart.levels)))


def _mean_steps(moves: FloatArray, leaves: FloatArray) -> FloatArray:
    """Mean steps from each state until the chain is left, (n,); what a state keeps is what it does not give away."""
    rates, out, steps = moves.copy(), leaves.copy(), np.ones(leaves.size)
    total = np.empty(leaves.size)
    for last in range(leaves.size - 1, -1, -1):
        total[last] = rates[last, :last].sum() + out[last]
        share = rates[:last, last] / total[last]
        rates[:last, :last] += np.outer(share, rates[last, :last])
        out[:last] += share * out[last]
        steps[:last] += share * steps[last]
    for state in range(leaves.size):
        steps[state] = (steps[state] + rates[state, :state] @ steps[:state]) / total[state]
    return steps


def _root(excess: Callable[[float], float], field: str) -> float:
    """Limit at which a rising function of it is 0."""
    low, high = SMALLEST_LIMIT, 1.0
    lowest = excess(low)
    while excess(high) < 0.0 and high < LARGEST_LIMIT:
        low, high = high, min(2.0 * high, LARGEST_LIMIT)
    if lowest > 0.0 or excess(high) < 0.0:
        raise DomainError(
            f"No limit gives this {field.replace('_', ' ')}.",
            field=field,
            code="not_reached",
            remedy="Even the lowest limit is too high for it; take a smaller k."
            if lowest > 0.0
            else f"Even a limit of {LARGEST_LIMIT:g} is too low for it; take a larger k.",
        )
    return float(brentq(excess, low, high, xtol=LIMIT_TOLERANCE))


def _scores(z: ArrayLike, weight: ArrayLike | None) -> tuple[FloatArray, NDArray[np.bool_]]:
    score = np.asarray(z, dtype=np.float64)
    counts = np.ones(score.shape) if weight is None else within(np.asarray(weight, dtype=np.float64), "weight", low=0.0)
    if score.ndim != 2 or score.shape != counts.shape or 0 in score.shape:
        raise DomainError(
            f"Scores {score.shape} and weights {counts.shape} must be alike, birds by weighings.",
            field="z",
            code="shape_differs",
            remedy="Give one bird as one row, and a bird without weighings as a row of weight 0.",
        )
    used = (counts > 0.0) & ~np.isnan(score)
    within(score[used], "z")
    return np.where(used, score, 0.0), used


def _a_bird(value: FloatArray, birds: int, field: str) -> FloatArray:
    if value.shape not in ((), (birds,)):
        raise DomainError(
            f"{field} has the shape {value.shape}, there are {birds} birds.",
            field=field,
            code="shape_differs",
            remedy="Give one number for all, or one a bird.",
        )
    return np.broadcast_to(value, (birds,))


def _start(head_start: float, chart: _Chart) -> FloatArray:
    level = np.atleast_1d(within(head_start, "head_start", low=0.0))
    _below_limit(level, np.asarray(chart.limit))
    return level


def _below_limit(head_start: FloatArray, limit: FloatArray) -> None:
    if np.any(head_start > limit):
        raise DomainError(
            "A head start is above the limit, so that the chart starts with an alarm.",
            field="head_start",
            code="out_of_domain",
            remedy="It must be at most h; a half of h is usual.",
        )


def _fraction(share: float) -> float:
    return float(within(share, "head_start_fraction", low=0.0, high=1.0))


def _count(weighings: int) -> int:
    count = float(within(weighings, "weighings", low=1.0, high=MOST_WEIGHINGS))
    if not count.is_integer():
        raise DomainError(
            f"weighings is {count:g}, no whole number.",
            field="weighings",
            code="not_whole",
            remedy="Give the number of weighings of a whole rearing.",
        )
    return int(count)
