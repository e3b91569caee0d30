"""Weights that cannot be this bird's: slips of the pen, of the unit, or another bird on the scale.

A weight is believed if the bird could have come to it from the weights before, however badly it grows: a chick that
stands still falls ever further behind its species, and its weights must raise an alarm, not be thrown out.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from species.biology.bounds import FloatArray
from species.biology.growth_fit import BoolArray

#: Between two weights of one bird lies at most no gain or the species' gain, and this factor either way.
JUMP_AT_MOST = 2.5
#: A record begins no further from its species than this: real chicks of known age have not been seen there.
BEGINS_WITHIN = 5.0
#: A weight that leaves the bird's place among its species by this factor for one weighing, and comes back within a few
#: days, is another bird's; a full crop or a heron's meal is a fifth (HRB p.282). It must lose or gain by the second
#: factor what no growth explains.
ALONE_AT_LEAST, UNEXPLAINED_AT_LEAST = 1.5, 1.1
ALONE_WITHIN_DAYS = 3.0
#: What a weight far from the species counts less than one on its curve, where only one of two can be believed.
FAR_COUNTS_LESS = 0.25
#: Weighings that one somebody answers for outweighs, where not all can be the bird's. Not more: a wrong word must not
#: silence a whole record. Common practice, no source.
CONFIRMED_COUNTS = 3.0
#: Slips of the pen and of the unit, as what was written over what was meant.
SLIPS = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001)
#: A correction must bring the weight this near to what was expected to be named.
MEANT_WITHIN = 1.6


def slips(
    age_days: Sequence[float],
    mass_g: Sequence[float],
    expected_g: Sequence[float],
    age_log_sd: Sequence[float],
    confirmed: Sequence[bool],
) -> BoolArray:
    """Which weighings of one bird cannot be its own.

    Parameters
    ----------
    age_days, mass_g, expected_g
        Weighings in order of age, with the species' middle mass at each age.
    age_log_sd
        What the uncertainty of the age is on ln of that middle mass.
    confirmed
        Weighings that somebody answers for: never asked about, and each counts as :data:`CONFIRMED_COUNTS`.

    Returns
    -------
    numpy.ndarray
        True where a weighing is to be asked about.

    Notes
    -----
    The longest chain of weighings that follow from one another (:data:`JUMP_AT_MOST`) and begins where the species
    may (:data:`BEGINS_WITHIN`, beyond two standard deviations of the age); of equal ones, the nearest to the species.
    Then single weights out of line with both their neighbours.
    """
    if not len(mass_g):
        return np.zeros(0, dtype=np.bool_)
    log_mass, log_expected = np.log(np.asarray(mass_g)), np.log(np.asarray(expected_g))
    far = np.abs(log_mass - log_expected) - 2.0 * np.asarray(age_log_sd)
    far = np.clip(far, 0.0, None) / math.log(BEGINS_WITHIN)
    sure = np.asarray(confirmed, dtype=np.bool_)
    kept = _longest_chain(log_mass, log_expected, far, sure)
    out = np.ones(len(log_mass), dtype=np.bool_)
    out[kept] = False
    out[_alone(np.asarray(age_days), log_mass, log_expected, kept)] = True
    return out & ~sure


def meant_g(*, mass_g: float, expected_g: float) -> float | None:
    """The weight that was probably meant, where one of the common slips explains it."""
    best = min((mass_g / slip for slip in SLIPS), key=lambda meant: abs(math.log(meant / expected_g)))
    return round(best, 2) if abs(math.log(best / expected_g)) <= math.log(MEANT_WITHIN) else None


def _out_of_line(log_mass: FloatArray, log_expected: FloatArray, earlier: NDArray[np.int64], later: int) -> FloatArray:
    """How far, on ln mass, a weighing lies from what may follow an earlier one; 0 within."""
    change = log_mass[later] - log_mass[earlier]
    species = log_expected[later] - log_expected[earlier]
    return np.asarray(change - np.clip(change, np.minimum(species, 0.0), np.maximum(species, 0.0)))


def _longest_chain(log_mass: FloatArray, log_expected: FloatArray, far: FloatArray, sure: BoolArray) -> list[int]:
    count = len(log_mass)
    own = 1.0 - FAR_COUNTS_LESS * np.minimum(far, 1.0) + (CONFIRMED_COUNTS - 1.0) * sure
    total = np.where((far <= 1.0) | sure, own, -np.inf)
    came_from = np.full(count, -1)
    for later in range(1, count):
        earlier = np.arange(later)
        follows = np.abs(_out_of_line(log_mass, log_expected, earlier, later)) <= math.log(JUMP_AT_MOST)
        through = np.where(follows, total[:later], -np.inf)
        best = int(np.argmax(through))
        if through[best] + own[later] > total[later]:
            total[later], came_from[later] = through[best] + own[later], best
    if not np.isfinite(total).any():
        return []
    chain, place = [], int(np.argmax(total))
    while place >= 0:
        chain.append(place)
        place = int(came_from[place])
    return chain[::-1]


def _alone(age: FloatArray, log_mass: FloatArray, log_expected: FloatArray, kept: list[int]) -> list[int]:
    among = log_mass - log_expected
    found = []
    for before, place, after in zip(kept, kept[1:], kept[2:], strict=False):
        if max(age[place] - age[before], age[after] - age[place]) > ALONE_WITHIN_DAYS:
            continue
        leaves, returns = float(among[place] - among[before]), float(among[after] - among[place])
        there = float(_out_of_line(log_mass, log_expected, np.array([before]), place)[0])
        back = float(_out_of_line(log_mass, log_expected, np.array([place]), after)[0])
        far = min(abs(leaves), abs(returns)) > math.log(ALONE_AT_LEAST) and leaves * returns < 0
        if far and min(abs(there), abs(back)) > math.log(UNEXPLAINED_AT_LEAST) and there * back < 0:
            found.append(place)
    return found
