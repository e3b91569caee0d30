"""From values to places on paper: round ticks, and a linear scale between two ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

#: An axis begins at zero unless everything lies beyond this share of the largest value.
ZERO_SHARE = 0.4


def tick_step(span: float, most: int, least: float = 0.0) -> float:
    """The smallest of 1, 2 or 5 times a power of ten that gives no more than ``most`` ticks over ``span``.

    Parameters
    ----------
    span
        Length of the axis, above zero, in the unit of the axis.
    most
        Ticks wanted at most, counting both ends; at least two.
    least
        No smaller step than this: whole days have no half between them.
    """
    wanted = max(span / (most - 1), least)
    power = math.floor(math.log10(wanted))
    for exponent in (power, power + 1):
        for leading in (1, 2, 5):
            # 10.0 ** -1 is no exact tenth: dividing keeps 0.2 and 0.5 the numbers a reader would type.
            step = leading * 10.0**exponent if exponent >= 0 else leading / 10.0**-exponent
            if step >= wanted * (1 - 1e-9):
                return step
    raise AssertionError("a power of ten above the step wanted always does")


def ticks(low: float, high: float, most: int, least: float = 0.0) -> tuple[float, ...]:
    """Round values from ``low`` to ``high``, both included where they are round; see :func:`tick_step`."""
    step = tick_step(high - low, most, least)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    digits = decimals(step)
    return tuple(round(n * step, digits) for n in range(first, last + 1))


def decimals(step: float) -> int:
    """Digits after the point that tell two ticks apart."""
    return max(0, -math.floor(math.log10(step) + 1e-9))


def axis_start(low: float, high: float, step: float, margin: float) -> float:
    """Zero where the values reach down towards it, else the round value below a margin under the lowest."""
    if low < ZERO_SHARE * high or low >= high:
        return min(0.0, float(math.floor(low)))
    return max(0.0, math.floor((low - margin) / step + 1e-9) * step)


@dataclass(frozen=True, slots=True)
class Scale:
    """Linear, from ``low`` at place ``start`` to ``high`` at place ``end``."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def holds(self, value: float) -> bool:
        """Whether the value lies between the ends."""
        return self.low <= value <= self.high
