"""What lies between a weighing and the bird's own curve: models of the residual on ln mass.

A fit asks a model for its errors at given weighings once, and from then on only to whiten: to turn residuals
that are correlated or unequal into ones that are independent with variance 1. A further model is one more
class whose errors answer to :class:`WeighingErrors`; no fit changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from species.biology.bounds import FloatArray, positive
from species.biology.curve import SpeciesCurve


class WeighingErrors(Protocol):
    """Errors of n birds at m weighings each. Weighings of weight 0 are as if they were not there."""

    def of(self, birds: NDArray[np.bool_]) -> WeighingErrors:
        """Give the errors of some of the birds."""
        ...

    def whiten(self, rows: FloatArray) -> FloatArray:
        """Give the whitened rows, (n, k, m) to (n, k, m); columns of weight 0 become 0, whatever they held."""
        ...

    def log_determinant(self) -> FloatArray:
        """Logarithm of the determinant of each bird's error covariance over its weighings, (n,)."""
        ...

    def carry_over(self, age_days: FloatArray, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What the deviations seen say of the deviation at other ages.

        Parameters
        ----------
        age_days
            (n, q) other ages.
        rows
            (n, k, m) residuals, or derivatives of them.

        Returns
        -------
        tuple of numpy.ndarray
            Expected rows at the other ages (n, k, q), and the variance left of a weighing there (n, q).
        """
        ...


class ResidualModel(Protocol):
    """A model of the residual on ln mass."""

    def cells_per_bird(self, weighings: int) -> int:
        """Floats held for one bird, by which a fit sizes its blocks."""
        ...

    def at(self, age_days: FloatArray, weight: FloatArray) -> WeighingErrors:
        """Give the errors of weighings at those ages, both (n, m)."""
        ...


@dataclass(frozen=True, slots=True)
class IndependentNoise:
    """Scale, gut fill and crop state, fresh at every weighing.

    Parameters
    ----------
    log_sd
        Standard deviation on ln mass of a weighing of weight 1; weight w divides the variance by w.
    """

    log_sd: float

    def __post_init__(self) -> None:
        positive(self.log_sd, "log_sd")

    def cells_per_bird(self, weighings: int) -> int:
        """Floats held for one bird."""
        return weighings

    def at(self, age_days: FloatArray, weight: FloatArray) -> WeighingErrors:
        """Give the errors at those weighings."""
        return _Independent(np.sqrt(weight) / self.log_sd, self.log_sd)


@dataclass(frozen=True, slots=True)
class _Independent:
    scale: FloatArray
    log_sd: float

    def of(self, birds: NDArray[np.bool_]) -> WeighingErrors:
        return _Independent(self.scale[birds], self.log_sd)

    def whiten(self, rows: FloatArray) -> FloatArray:
        scale = self.scale[:, None, :]
        return rows * scale if self.scale.all() else np.where(scale > 0.0, rows, 0.0) * scale

    def log_determinant(self) -> FloatArray:
        used = np.where(self.scale > 0.0, self.scale, 1.0)
        return np.asarray(-2.0 * np.log(used).sum(axis=1))

    def carry_over(self, age_days: FloatArray, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        variance = np.full(age_days.shape, self.log_sd**2)
        return np.zeros((*rows.shape[:2], age_days.shape[1])), variance


@dataclass(frozen=True, slots=True)
class SlowDeviation:
    """Noise of a weighing and, under it, a deviation that lasts: weather, a bad day, a sibling's share.

    Parameters
    ----------
    noise_log_sd
        Standard deviation on ln mass of what is fresh at every weighing.
    slow_log_sd
        Standard deviation of the slow deviation.
    time_constant_days
        Days after which its correlation has fallen to 1/e.

    Notes
    -----
    First-order autoregression in continuous time: cov = slow^2 exp(-|t - t'| / T) + noise^2 / w on the
    diagonal, solved by a Cholesky factor per bird. Ages need no order and may repeat.
    """

    noise_log_sd: float
    slow_log_sd: float
    time_constant_days: float

    def __post_init__(self) -> None:
        positive(self.noise_log_sd, "noise_log_sd")
        positive(self.slow_log_sd, "slow_log_sd")
        positive(self.time_constant_days, "time_constant_days")

    def cells_per_bird(self, weighings: int) -> int:
        """Floats held for one bird."""
        return weighings * (weighings + 1)

    def at(self, age_days: FloatArray, weight: FloatArray) -> WeighingErrors:
        """Give the errors at those weighings; (n, m, m) are held."""
        used = weight > 0.0
        covariance = self.shared(age_days, age_days) * (used[:, :, None] & used[:, None, :])
        noise = np.where(used, self.noise_log_sd**2 / np.where(used, weight, 1.0), 1.0)
        diagonal = np.arange(age_days.shape[1])
        covariance[:, diagonal, diagonal] += noise
        factor = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)
        return _Slow(self, age_days, used, factor, np.asarray(np.linalg.inv(factor), dtype=np.float64))

    def shared(self, age_days: FloatArray, other_days: FloatArray) -> FloatArray:
        """Covariance of the slow deviation between (n, m) and (n, q) ages: (n, m, q)."""
        apart = np.abs(age_days[:, :, None] - other_days[:, None, :])
        return np.asarray(self.slow_log_sd**2 * np.exp(-apart / self.time_constant_days))


@dataclass(frozen=True, slots=True)
class _Slow:
    model: SlowDeviation
    age_days: FloatArray
    used: NDArray[np.bool_]
    factor: FloatArray
    whitener: FloatArray

    def of(self, birds: NDArray[np.bool_]) -> WeighingErrors:
        age, used, factor, whitener = self.age_days[birds], self.used[birds], self.factor[birds], self.whitener[birds]
        return _Slow(self.model, age, used, factor, whitener)

    def whiten(self, rows: FloatArray) -> FloatArray:
        return np.asarray(np.where(self.used[:, None, :], rows, 0.0) @ self.whitener.transpose(0, 2, 1))

    def log_determinant(self) -> FloatArray:
        return np.asarray(2.0 * np.log(np.diagonal(self.factor, axis1=1, axis2=2)).sum(axis=1))

    def carry_over(self, age_days: FloatArray, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        shared = self.model.shared(self.age_days, age_days) * self.used[:, :, None]
        seen = self.whitener @ shared
        left = self.model.slow_log_sd**2 - np.square(seen).sum(axis=1)
        return self.whiten(rows) @ seen, left + self.model.noise_log_sd**2


@dataclass(frozen=True, slots=True)
class Settling:
    """Errors of another model that shrink as the chick grows up.

    A chick in its steepest growth gains or misses a tenth of itself in a day; grown, it cannot.

    Parameters
    ----------
    grown
        The errors of a grown chick.
    young_ratio
        Those of a hatchling over them; at u = W / A of the species' curve the factor is
        1 + (young_ratio - 1)(1 - u).
    curve
        Typical individual of the species.
    """

    grown: ResidualModel
    young_ratio: float
    curve: SpeciesCurve

    def __post_init__(self) -> None:
        positive(self.young_ratio, "young_ratio")

    def cells_per_bird(self, weighings: int) -> int:
        """Floats held for one bird."""
        return self.grown.cells_per_bird(weighings) + weighings

    def factor(self, age_days: FloatArray) -> FloatArray:
        """Size of the errors at those ages over a grown chick's."""
        share = np.exp(self.curve.sigmoid.log_share(self.curve.rate_per_day * (age_days - self.curve.inflection_days)))
        return np.asarray(1.0 + (self.young_ratio - 1.0) * (1.0 - share))

    def at(self, age_days: FloatArray, weight: FloatArray) -> WeighingErrors:
        """Give the errors at those weighings."""
        return _Settling(self, self.grown.at(age_days, weight), self.factor(age_days), weight > 0.0)


@dataclass(frozen=True, slots=True)
class _Settling:
    model: Settling
    grown: WeighingErrors
    factor: FloatArray
    used: NDArray[np.bool_]

    def of(self, birds: NDArray[np.bool_]) -> WeighingErrors:
        return _Settling(self.model, self.grown.of(birds), self.factor[birds], self.used[birds])

    def whiten(self, rows: FloatArray) -> FloatArray:
        return self.grown.whiten(rows / self.factor[:, None, :])

    def log_determinant(self) -> FloatArray:
        scaled = 2.0 * np.where(self.used, np.log(self.factor), 0.0).sum(axis=1)
        return np.asarray(self.grown.log_determinant() + scaled)

    def carry_over(self, age_days: FloatArray, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        expected, left = self.grown.carry_over(age_days, rows / self.factor[:, None, :])
        there = self.model.factor(age_days)
        return expected * there[:, None, :], left * np.square(there)
