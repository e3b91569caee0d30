"""Growth of any bird that is fed in the nest, from adult mass, order and family: medians with 80 % intervals.

The lines are in :mod:`species.biology.any_bird_lines`, which ``manage.py fit_allometry`` prints from open data;
docs/methods/validation.md says how far they were off for species and genera that they had never seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology.allometry import HEAVIEST_G, LIGHTEST_G
from species.biology.any_bird_lines import LINES
from species.biology.bounds import FloatArray, FloatOrArray, scalar_or_array, within
from species.biology.pooled_lines import FLEDGING_CENTRE, MASS_CENTRE, PRECOCIAL, Line
from species.domain.errors import DomainError

#: Share of species inside an interval, and the quantile of Student's t of 4 degrees of freedom that it needs.
INTERVAL_SHARE, T_QUANTILE = 0.8, 1.5332
#: Shortest and longest fledging age of a flying bird fed in the nest that lines are asked for, days.
SHORTEST_FLEDGING_DAYS, LONGEST_FLEDGING_DAYS = 7.0, 300.0


@dataclass(frozen=True, slots=True)
class Expected:
    """What relatives suggest for a species: the median, and ends that four species in five lie between.

    Parameters
    ----------
    median, low, high
        In the unit of the function that gives it; shape of the arguments, broadcast.
    taxon, species_count
        Family or order whose line was used, with the species behind it; "" when neither was ever measured.
    """

    median: FloatOrArray
    low: FloatOrArray
    high: FloatOrArray
    taxon: str
    species_count: int


@dataclass(frozen=True, slots=True)
class TypicalCurve:
    """Logistic curve through the mass expected at half of the fledging age.

    Parameters
    ----------
    asymptote_g, rate_per_day, inflection_days
        Of mass = A / (1 + e^(-K (t - t_i))).
    fledging_days
        As told, or expected.
    """

    asymptote_g: FloatOrArray
    rate_per_day: FloatOrArray
    inflection_days: FloatOrArray
    fledging_days: FloatOrArray


def fledging_age_days(order: str, adult_mass_g: ArrayLike, *, family: str = "") -> Expected:
    """Age at fledging that relatives and adult mass suggest, days.

    Parameters
    ----------
    order, family
        Scientific names; without a family the line of its order, with a wider interval. Of an order that was never
        measured the line of all birds.
    adult_mass_g
        Adult mass, 1 to 20 000 g, any shape.

    Raises
    ------
    DomainError
        If the young are precocial, or the mass is no flying bird's.
    """
    taxon, line = _line("fledging", order, family)
    return _expected(taxon, line, np.zeros(()), _mass(adult_mass_g))


def halfway_mass_g(
    order: str, adult_mass_g: ArrayLike, *, family: str = "", fledging_days: ArrayLike | None = None
) -> Expected:
    """Mass of a typical chick at half of its species' fledging age, g.

    Parameters
    ----------
    order, family, adult_mass_g
        As :func:`fledging_age_days`.
    fledging_days
        Fledging age where it is known, 7 to 300 d; broadcast with ``adult_mass_g``.

    Raises
    ------
    DomainError
        As :func:`fledging_age_days`, or on such a fledging age.

    Notes
    -----
    ln(m / M) = level + slopes x (ln M - 4, ln F - 3), of the family or order. Interval: +- 1.533 scales of
    Student's t.
    """
    mass = _mass(adult_mass_g)
    told = () if fledging_days is None else (_fledging(fledging_days),)
    taxon, line = _line("halfway_told" if told else "halfway", order, family)
    return _expected(taxon, line, np.log(mass), mass, *told)


def typical_curve(
    order: str, adult_mass_g: ArrayLike, *, family: str = "", fledging_days: ArrayLike | None = None
) -> TypicalCurve:
    """Logistic curve of a typical chick, through :func:`halfway_mass_g` at half of the fledging age.

    Parameters
    ----------
    order, adult_mass_g, family, fledging_days
        As :func:`halfway_mass_g`; without a fledging age the expected one.

    Raises
    ------
    DomainError
        As :func:`halfway_mass_g`.

    Notes
    -----
    With F the fledging age, K from its line and s from that of K (t_i - F/2): t_i = F/2 + s / K and
    A = m (1 + e^s), which makes the mass at F/2 that of the halfway line.
    """
    mass = _mass(adult_mass_g)
    halfway = halfway_mass_g(order, mass, family=family, fledging_days=fledging_days)
    fledging = (
        np.asarray(fledging_age_days(order, mass, family=family).median)
        if fledging_days is None
        else _fledging(fledging_days)
    )
    rate = np.exp(_at(_line("rate", order, family)[1], mass, fledging))
    shape = _at(_line("shape", order, family)[1], mass, fledging)
    return TypicalCurve(
        asymptote_g=scalar_or_array(np.asarray(halfway.median) * (1.0 + np.exp(shape))),
        rate_per_day=scalar_or_array(rate),
        inflection_days=scalar_or_array(fledging / 2.0 + shape / rate),
        fledging_days=scalar_or_array(fledging),
    )


def _line(target: str, order: str, family: str) -> tuple[str, Line]:
    for field, name in (("family", family), ("order", order)):
        if name in PRECOCIAL:
            raise DomainError(
                f"Young of the {name} feed themselves: there is no line of nestlings for them.",
                field=field,
                code="no_growth_line",
                remedy="Use the line of their group (growth_prior), where there is one.",
            )
    rows = LINES[target]
    taxon = next((name for name in (family, order) if name and name in rows), "")
    return taxon, rows[taxon]


def _expected(taxon: str, line: Line, offset: FloatArray, mass: FloatArray, *told: FloatArray) -> Expected:
    middle = offset + _at(line, mass, *told)
    width = T_QUANTILE * line.scale
    return Expected(
        scalar_or_array(np.exp(middle)),
        scalar_or_array(np.exp(middle - width)),
        scalar_or_array(np.exp(middle + width)),
        taxon,
        line.species_count,
    )


def _at(line: Line, mass: FloatArray, *told: FloatArray) -> FloatArray:
    value = line.level + line.slopes[0] * (np.log(mass) - MASS_CENTRE)
    for slope, fledging in zip(line.slopes[1:], told, strict=True):
        value = value + slope * (np.log(fledging) - FLEDGING_CENTRE)
    return np.asarray(value)


def _mass(adult_mass_g: ArrayLike) -> FloatArray:
    return within(adult_mass_g, "adult_mass_g", low=LIGHTEST_G, high=HEAVIEST_G)


def _fledging(fledging_days: ArrayLike) -> FloatArray:
    return within(fledging_days, "fledging_days", low=SHORTEST_FLEDGING_DAYS, high=LONGEST_FLEDGING_DAYS)
