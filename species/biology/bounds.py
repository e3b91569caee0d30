"""The domain of an argument: what an equation can answer for, checked once and said plainly."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from species.domain.errors import DomainError

FloatArray: TypeAlias = NDArray[np.float64]
FloatOrArray: TypeAlias = float | FloatArray


def within(
    value: ArrayLike,
    field: str,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    low_excluded: bool = False,
    high_excluded: bool = False,
) -> FloatArray:
    """Give the value as a float array, or say why it is outside its domain.

    Parameters
    ----------
    value
        Scalar or array.
    field
        Name of the caller's argument, with its unit suffix.
    low, high
        Bounds of the domain, in the unit of the argument.
    low_excluded, high_excluded
        Whether the bound itself is outside.

    Returns
    -------
    numpy.ndarray
        Same shape as ``value``; zero-dimensional for a scalar.

    Raises
    ------
    DomainError
        If any element is no finite number or lies outside the bounds; the first such element is named.
    """
    array = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        raise DomainError(f"{field} holds a value that is no finite number.", field=field, code="not_finite")
    below = (array <= low) if low_excluded else (array < low)
    above = (array >= high) if high_excluded else (array > high)
    outside = below | above
    if np.any(outside):
        first = float(array[outside][0]) if array.ndim else float(array)
        raise DomainError(
            f"{field} is {first:g}, outside the domain.",
            field=field,
            code="out_of_domain",
            remedy=_sentence(low, high, low_excluded=low_excluded, high_excluded=high_excluded),
        )
    return array


def positive(value: ArrayLike, field: str, *, high: float = math.inf) -> FloatArray:
    """Give the value as an array of numbers above zero; see :func:`within`."""
    return within(value, field, low=0.0, high=high, low_excluded=True)


def scalar_or_array(array: ArrayLike) -> FloatOrArray:
    """Unwrap a zero-dimensional result to a plain float, so that scalars in are scalars out."""
    result = np.asarray(array, dtype=np.float64)
    return result if result.ndim else float(result)


def _sentence(low: float, high: float, *, low_excluded: bool, high_excluded: bool) -> str:
    parts = []
    if math.isfinite(low):
        parts.append(f"{'above' if low_excluded else 'at least'} {low:g}")
    if math.isfinite(high):
        parts.append(f"{'below' if high_excluded else 'at most'} {high:g}")
    return f"It must be {' and '.join(parts)}."
