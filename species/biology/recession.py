"""Loss of mass before flight: the share of its mass that a nestling keeps on the way from peak to fledging."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology.bounds import FloatArray, within
from species.domain.errors import DomainError


@dataclass(frozen=True, slots=True)
class Recession:
    """A loss that sets in, runs its course and ends.

    Parameters
    ----------
    recession_fraction
        Share of the mass the curve would have without the loss that is gone at ``to_day``, at least 0 and
        below 1. Where the loss begins on the plateau it is the printed drop from peak to fledging.
    from_day, to_day
        Ages at which the loss begins and is complete, d.

    Raises
    ------
    DomainError
        On a share outside its domain, or an end that does not come after the beginning.

    Notes
    -----
    kept = 1 - f S(z), z = (t - from) / (to - from) held to 0..1, S(z) = z^3 (10 - 15 z + 6 z^2), the
    polynomial of least degree whose slope and curvature vanish at both ends, so that mass, gain and the
    curvature of a posterior have no step there. Which birds lose how much, and when: growth.md section 4. The
    double Richards of OSW12 describes the same with four more parameters, which daily weighings of one bird
    do not tell apart; this one takes the two figures that are printed.
    """

    recession_fraction: float
    from_day: float
    to_day: float

    def __post_init__(self) -> None:
        within(self.recession_fraction, "recession_fraction", low=0.0, high=1.0, high_excluded=True)
        start = within(self.from_day, "from_day", low=0.0)
        if within(self.to_day, "to_day", low=0.0) <= start:
            raise DomainError("to_day must come after from_day.", field="to_day", code="out_of_domain")

    def log_kept(self, age_days: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Logarithm of the kept share, its slope per day and the change of that slope per day squared.

        Parameters
        ----------
        age_days
            Age on the curve, any shape; before ``from_day`` nothing is lost, after ``to_day`` no more.

        Returns
        -------
        tuple of numpy.ndarray
            Three arrays of the shape of ``age_days``.
        """
        span = self.to_day - self.from_day
        z = np.clip((np.asarray(age_days, dtype=np.float64) - self.from_day) / span, 0.0, 1.0)
        kept = 1.0 - self.recession_fraction * z**3 * (10.0 - 15.0 * z + 6.0 * z**2)
        slope = -self.recession_fraction * 30.0 * (z * (1.0 - z)) ** 2 / span / kept
        bend = -self.recession_fraction * 60.0 * z * (1.0 - z) * (1.0 - 2.0 * z) / span**2 / kept
        return np.log(kept), slope, bend - slope**2
