"""How long a warm mix stays fit to give: it cools, and what lives in it multiplies."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from species.biology.bounds import FloatArray, FloatOrArray, positive, scalar_or_array, within
from species.domain.errors import DomainError

HOTTEST_C = 50.0
"""Above about 50 C evaporation makes a mix cool faster than the constants here say."""

RATE_AT_100_ML_PER_MIN = 0.0370
RATE_AT_300_ML_PER_MIN = 0.0228
VOLUME_EXPONENT = math.log(RATE_AT_300_ML_PER_MIN / RATE_AT_100_ML_PER_MIN) / math.log(3.0)
"""Power of volume, about -0.44, through the two measured beakers."""

LARGEST_VOLUME_ML = 5000.0

KEEP_AT_MOST_MIN = 60.0
"""A mix is discarded an hour after it was made (HRB p. 446; energetics-and-mixing.md section 3.6)."""


def cooling_rate_per_min(volume_ml: ArrayLike) -> FloatOrArray:
    """Cooling constant of an uncovered beaker in still room air, per minute.

    Parameters
    ----------
    volume_ml
        Volume of the mix, above 0 and at most 5000 mL.

    Raises
    ------
    DomainError
        Outside that range.

    Notes
    -----
    k = 0.0370 (V / 100)^-0.44 per min. Two beakers of water, 100 and 300 mL, fitted from 48 to 34 C
    (energetics-and-mixing.md section 3.6, check C34); every other volume is extrapolated, and a lid, a
    lagged or a metal pot or a thick slurry differ. Measure one's own pot where it matters.
    """
    volume = positive(volume_ml, "volume_ml", high=LARGEST_VOLUME_ML)
    return scalar_or_array(RATE_AT_100_ML_PER_MIN * (volume / 100.0) ** VOLUME_EXPONENT)


def temperature_after_c(
    start_c: ArrayLike, room_c: ArrayLike, rate_per_min: ArrayLike, minutes: ArrayLike
) -> FloatOrArray:
    """Temperature of a standing mix after some minutes, in C.

    Parameters
    ----------
    start_c
        Temperature now, at most 50 C and no cooler than the room.
    room_c
        Temperature of the air.
    rate_per_min
        Cooling constant.
    minutes
        Zero or more.

    Raises
    ------
    DomainError
        If a value is outside its domain.

    Notes
    -----
    T = T_a + (T_0 - T_a) exp(-k t). energetics-and-mixing.md section 3.6.
    """
    start, room = _start_and_room(start_c, room_c)
    rate = positive(rate_per_min, "rate_per_min")
    return scalar_or_array(room + (start - room) * np.exp(-rate * within(minutes, "minutes", low=0.0)))


def minutes_above(start_c: ArrayLike, low_c: ArrayLike, room_c: ArrayLike, rate_per_min: ArrayLike) -> FloatOrArray:
    """Minutes until a standing mix has cooled to the lower limit of its band.

    Parameters
    ----------
    start_c
        Temperature now, at most 50 C and no cooler than the limit or the room.
    low_c
        Lower limit.
    room_c
        Temperature of the air.
    rate_per_min
        Cooling constant, see :func:`cooling_rate_per_min`.

    Returns
    -------
    float or numpy.ndarray
        Minutes; infinite where the room is at or above the limit, so that hygiene alone ends the window.

    Raises
    ------
    DomainError
        If the mix is hotter than 50 C, or already below the limit.

    Notes
    -----
    t = ln((T_0 - T_a) / (T_min - T_a)) / k. energetics-and-mixing.md section 3.6, check C34.
    """
    start, room = _start_and_room(start_c, room_c)
    low = within(low_c, "low_c")
    rate = positive(rate_per_min, "rate_per_min")
    if np.any(start < low):
        raise DomainError(
            "The mix is already below the lower limit.",
            field="start_c",
            code="too_cool",
            remedy="Make it fresh; it is not to be warmed again.",
        )
    start, low, room = np.broadcast_arrays(start, low, room)
    cools = room < low
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(cools, (start - room) / np.where(cools, low - room, 1.0), np.inf)
    return scalar_or_array(np.log(ratio) / rate)


def doubling_time_h(log10_per_h: ArrayLike) -> FloatOrArray:
    """Doubling time of bacteria that multiply by that many powers of ten an hour, in h.

    Notes
    -----
    log10(2) / rate. *Cronobacter* in reconstituted formula: 0.73 per h at 35 C, 0.45 at 22 C (Front.
    Pediatr. 2015, 3:72; energetics-and-mixing.md section 3.6, check C35).
    """
    return scalar_or_array(math.log10(2.0) / positive(log10_per_h, "log10_per_h"))


def log10_growth(held_h: ArrayLike, lag_h: ArrayLike, log10_per_h: ArrayLike) -> FloatOrArray:
    """Powers of ten by which bacteria have multiplied after a time at one temperature; none during the lag.

    Parameters
    ----------
    held_h
        Hours held warm.
    lag_h
        Lag; 0.45 h at 35 C, 3 h at 22 C.
    log10_per_h
        Rate after the lag.

    Notes
    -----
    rate (t - lag) once t exceeds the lag. energetics-and-mixing.md section 3.6.
    """
    beyond = within(held_h, "held_h", low=0.0) - within(lag_h, "lag_h", low=0.0)
    return scalar_or_array(positive(log10_per_h, "log10_per_h") * np.where(beyond > 0.0, beyond, 0.0))


def _start_and_room(start_c: ArrayLike, room_c: ArrayLike) -> tuple[FloatArray, FloatArray]:
    start = within(start_c, "start_c", low=0.0, high=HOTTEST_C)
    room = within(room_c, "room_c", low=-30.0, high=HOTTEST_C)
    if np.any(start < room):
        raise DomainError(
            "The mix is cooler than the room, so it does not cool.",
            field="start_c",
            code="too_cool",
            remedy="Check the two temperatures.",
        )
    return start, room
