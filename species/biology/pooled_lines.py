"""Lines on adult mass that relatives share: families lean on their order, orders on all birds.

A species' value is a line common to all, plus what its order and its family add; an order may also have its own
slopes. What they add is normal about 0, with spreads that marginal likelihood finds. Species scatter about their line
by Student's t, so that a mistaken series pulls little.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from species.biology.bounds import FloatArray

# Orders and families whose young feed themselves or leave the nest at once. From memory of handbooks.
PRECOCIAL_ORDERS = (
    *("Anseriformes", "Galliformes", "Struthioniformes", "Rheiformes", "Casuariiformes", "Apterygiformes"),
    *("Tinamiformes", "Otidiformes", "Pterocliformes", "Podicipediformes", "Gaviiformes", "Mesitornithiformes"),
)
PRECOCIAL_FAMILIES = (
    *("Scolopacidae", "Charadriidae", "Haematopodidae", "Recurvirostridae", "Burhinidae", "Jacanidae"),
    *("Rallidae", "Gruidae", "Turnicidae", "Glareolidae", "Heliornithidae", "Aramidae", "Psophiidae"),
    *("Thinocoridae", "Ibidorhynchidae"),
)
PRECOCIAL = frozenset((*PRECOCIAL_ORDERS, *PRECOCIAL_FAMILIES))
#: Centres of the regressors ln(adult mass in g) and ln(fledging age in d) of all lines.
MASS_CENTRE, FLEDGING_CENTRE = 4.0, 3.0
FREEDOM = 4.0
"""Degrees of freedom of the scatter between species; 3 and 8 were tried and differ by less than 0.3 in 100."""
ORDER_SCATTER_PRIOR = 10.0
"""Species' worth of the common scatter in the scatter of an order; set beforehand, not tuned."""
_FLAT_SD = 10.0
#: Broad log-normal prior on each spread, so that one that the data say nothing of stays finite.
_SPREAD_GUESS, _SPREAD_LOG_SD = 0.15, 1.5
_ROUNDS = 8


@dataclass(frozen=True, slots=True)
class Line:
    """ln value = level + sum(slopes x (regressors - centre)), Student's t with ``scale`` about it.

    Parameters
    ----------
    species_count
        Species of the taxon behind it.
    level, slopes
        At the centre of the regressors, and by each.
    scale
        Of the t distribution for a new species of the taxon: scatter and what is not known of the line, joined.
    """

    species_count: int
    level: float
    slopes: tuple[float, ...]
    scale: float


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of what orders, families and orders' slopes add, and scale of the scatter."""

    order: float
    family: float
    order_slopes: tuple[float, ...]
    scatter: float

    def logs(self) -> FloatArray:
        return np.log([self.order, self.family, *self.order_slopes, self.scatter])

    @classmethod
    def of_logs(cls, logs: FloatArray) -> Spreads:
        order, family, *slopes, scatter = (float(value) for value in np.exp(logs))
        return cls(order, family, tuple(slopes), scatter)


@dataclass(frozen=True, slots=True)
class Relatives:
    """What is measured: n species with their order, family, regressors (n, k), centred, and values (n,)."""

    orders: NDArray[np.str_]
    families: NDArray[np.str_]
    regressors: FloatArray
    values: FloatArray

    def only(self, chosen: NDArray[np.bool_]) -> Relatives:
        return Relatives(self.orders[chosen], self.families[chosen], self.regressors[chosen], self.values[chosen])


class _Model:
    """Columns: common line; order; family; order x each regressor."""

    def __init__(self, measured: Relatives) -> None:
        self.measured = measured
        self.orders, self.order_at = np.unique(measured.orders, return_inverse=True)
        order_at = self.order_at
        self.order_variance = np.ones(len(self.orders))
        self.families, family_at = np.unique(measured.families, return_inverse=True)
        by_order = np.eye(len(self.orders))[order_at]
        by_family = np.eye(len(self.families))[family_at]
        x = measured.regressors
        slopes = [by_order * column[:, None] for column in x.T]
        self.design = np.column_stack([np.ones(len(x)), x, by_order, by_family, *slopes])
        self.sizes = [1 + x.shape[1], len(self.orders), len(self.families), *[len(self.orders)] * x.shape[1]]

    def precision(self, logs: FloatArray) -> FloatArray:
        spreads = np.concatenate([[_FLAT_SD], np.exp(logs[:-1])])
        return np.repeat(spreads**-2.0, self.sizes)

    def moments(self, weights: FloatArray) -> tuple[FloatArray, FloatArray, float]:
        weighed = self.design.T * weights
        y = self.measured.values
        return weighed @ self.design, weighed @ y, float(weights @ y**2)

    def posterior(self, logs: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and covariance of all that is added, at given spreads and weights of the species."""
        squares, crossed, _ = self.moments(weights)
        of_scatter = math.exp(-2.0 * logs[-1])
        covariance: FloatArray = np.asarray(
            np.linalg.inv(of_scatter * squares + np.diag(self.precision(logs))), dtype=np.float64
        )
        return of_scatter * covariance @ crossed, covariance

    def reweighed(self, logs: FloatArray, weights: FloatArray) -> FloatArray:
        """Expected precisions of the species' scatter, as shares of the common one: EM for Student's t.

        The scatter of an order is its own, drawn towards the common one as by ``ORDER_SCATTER_PRIOR`` species.
        """
        mean, covariance = self.posterior(logs, weights)
        square = (self.measured.values - self.design @ mean) ** 2 + ((self.design @ covariance) * self.design).sum(1)
        square *= math.exp(-2.0 * logs[-1])
        shares = (FREEDOM + 1.0) / (FREEDOM + square / self.order_variance[self.order_at])
        counts = np.bincount(self.order_at)
        sums = np.bincount(self.order_at, shares * square)
        self.order_variance = (ORDER_SCATTER_PRIOR + sums) / (ORDER_SCATTER_PRIOR + counts)
        weighed: FloatArray = shares / self.order_variance[self.order_at]
        return weighed

    def spreads(self, logs: FloatArray, weights: FloatArray) -> FloatArray:
        """Most likely spreads at given weights; marginal likelihood with its gradient."""
        squares, crossed, total = self.moments(weights)
        count = len(weights)
        ends = np.cumsum(self.sizes)

        def cost(at: FloatArray) -> tuple[float, FloatArray]:
            of_scatter, precision = math.exp(-2.0 * at[-1]), self.precision(at)
            inner = of_scatter * squares + np.diag(precision)
            covariance = np.linalg.inv(inner)
            mean = of_scatter * covariance @ crossed
            misfit = of_scatter * (total - 2.0 * mean @ crossed + mean @ squares @ mean)
            value = 0.5 * (np.linalg.slogdet(inner)[1] - np.log(precision).sum() + misfit + mean @ (precision * mean))
            gradient = np.empty_like(at)
            found = precision * (np.diag(covariance) + mean**2)
            for i, (start, end) in enumerate(zip(ends[:-1], ends[1:], strict=True)):
                gradient[i] = (end - start) - found[start:end].sum()
            gradient[-1] = count - of_scatter * float(np.sum(covariance * squares)) - misfit
            away = (at - math.log(_SPREAD_GUESS)) / _SPREAD_LOG_SD
            return float(value + count * at[-1] + 0.5 * away @ away), gradient + away / _SPREAD_LOG_SD

        bounds = [(-6.0, 1.5)] * len(logs)
        found: FloatArray = minimize(cost, logs, jac=True, method="L-BFGS-B", bounds=bounds).x
        return found

    def settled(self, logs: FloatArray) -> FloatArray:
        weights = np.ones(len(self.measured.values))
        for _ in range(_ROUNDS):
            weights = self.reweighed(logs, weights)
        return weights


def fit_spreads(measured: Relatives) -> Spreads:
    """Spreads of a set of species: by turns the weights of species and the marginal likelihood."""
    model = _Model(measured)
    logs = np.full(3 + measured.regressors.shape[1], math.log(_SPREAD_GUESS))
    weights = np.ones(len(measured.values))
    for _ in range(_ROUNDS):
        logs = model.spreads(logs, weights)
        weights = model.reweighed(logs, weights)
    return Spreads.of_logs(logs)


def lines(measured: Relatives, spreads: Spreads, taxa: Sequence[str] | None = None) -> dict[str, Line]:
    """Line of each family and order, and under ``""`` that of a bird of an order never measured.

    Parameters
    ----------
    measured, spreads
        As told.
    taxa
        Those that are asked for; all without it. A taxon that was not measured is left out.

    Notes
    -----
    The scale joins the scatter with the standard deviation of the line at the mean regressors of the taxon's species;
    an order's with what an unknown family may add, that of all birds with what an unknown order may add.
    """
    model = _Model(measured)
    logs = spreads.logs()
    weights = model.settled(logs)
    mean, covariance = model.posterior(logs, weights)
    k = measured.regressors.shape[1]
    order_of = dict(zip(measured.families.tolist(), measured.orders.tolist(), strict=True))
    order_from, family_from = 1 + k, 1 + k + len(model.orders)
    slopes_from = family_from + len(model.families)
    rows: dict[str, Line] = {}
    wanted = ["", *model.orders.tolist(), *model.families.tolist()] if taxa is None else taxa
    for taxon in wanted:
        family = taxon in order_of
        order = order_of[taxon] if family else taxon
        members = measured.families == taxon if family else (measured.orders == taxon) | (taxon == "")
        if not members.any():
            continue
        known = order in model.orders
        pick = np.zeros((1 + k, len(mean)))
        pick[:, : 1 + k] = np.eye(1 + k)
        if known:
            at = int(np.flatnonzero(model.orders == order)[0])
            pick[0, order_from + at] = 1.0
            for j in range(k):
                pick[1 + j, slopes_from + j * len(model.orders) + at] = 1.0
        if family:
            pick[0, family_from + int(np.flatnonzero(model.families == taxon)[0])] = 1.0
        level, *slopes = (float(value) for value in pick @ mean)
        x = np.concatenate([[1.0], measured.regressors[members].mean(0)]) @ pick
        own = float(model.order_variance[model.orders == order][0]) if known else 1.0
        variance = own * spreads.scatter**2 + float(x @ covariance @ x)
        if not family:
            variance += spreads.family**2
        if not known:
            mean_square = (measured.regressors**2).mean(0)
            variance += spreads.order**2 + float(np.square(spreads.order_slopes) @ mean_square)
        rows[taxon] = Line(int(members.sum()), level, tuple(slopes), math.sqrt(variance))
    return rows
