"""Growth of a species without a curve, from its adult mass and its group: a prior with a wide spread.

Never a pass or fail limit for a bird: one species in three lies further from its line than the spread given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from numpy.typing import ArrayLike

from species.biology.bounds import FloatOrArray, scalar_or_array, within
from species.domain.errors import DomainError

LIGHTEST_G = 1.0
HEAVIEST_G = 20_000.0


@dataclass(frozen=True, slots=True)
class GroupLine:
    """Regression lines of one group of birds on adult mass M in g.

    Parameters
    ----------
    species_count
        Species behind the lines.
    rate, rate_power
        Logistic K = rate M^rate_power, per day.
    span, span_power
        Days from 10 % to 90 % of the asymptote = span M^span_power.
    fledging
        (f, g) of fledging age = f M^g days; None for precocial groups, which leave the nest at once.
    asymptote_ratio
        Median A / M.
    rate_log10_sd
        Residual standard deviation of log10 K.
    lightest_g, heaviest_g
        Adult masses of the species behind the lines; beyond them a prior is an extrapolation.
    """

    species_count: int
    rate: float
    rate_power: float
    span: float
    span_power: float
    fledging: tuple[float, float] | None
    asymptote_ratio: float
    rate_log10_sd: float
    lightest_g: float
    heaviest_g: float


# growth.md section 2 [D]: one series per species, r2 >= 0.9, log-log least squares on the growth data of
# AmP with adult masses of AVONET and Amniote. Mass ranges are those of the same species in
# data/amp_bird_growth_fits.csv.
GROUP_LINES: Mapping[str, GroupLine] = MappingProxyType(
    {
        "songbirds": GroupLine(294, 0.701, -0.151, 6.26, 0.151, (9.09, 0.141), 0.91, 0.113, 5.5, 973.0),
        "parrots": GroupLine(35, 0.466, -0.222, 9.43, 0.222, (16.05, 0.244), 1.01, 0.102, 23.0, 1732.0),
        "raptors": GroupLine(41, 1.682, -0.339, 2.61, 0.339, (3.26, 0.401), 0.98, 0.108, 115.0, 8177.0),
        "owls": GroupLine(11, 0.608, -0.209, 7.22, 0.209, (11.27, 0.195), 0.99, 0.121, 67.0, 2668.0),
        "pigeons": GroupLine(7, 0.716, -0.149, 6.13, 0.149, (2.00, 0.466), 0.65, 0.147, 46.0, 538.0),
        "woodpeckers": GroupLine(20, 0.674, -0.248, 6.52, 0.248, (16.77, 0.154), 0.89, 0.138, 11.6, 618.0),
        "kingfishers_hornbills": GroupLine(18, 0.494, -0.162, 8.89, 0.162, (8.68, 0.275), 1.12, 0.092, 14.8, 4000.0),
        "swifts_hummingbirds": GroupLine(35, 0.389, -0.197, 11.29, 0.197, (15.67, 0.294), 1.17, 0.142, 2.4, 95.8),
        "herons_pelicans": GroupLine(18, 0.464, -0.129, 9.46, 0.129, (12.81, 0.185), 0.98, 0.116, 99.5, 9322.0),
        "gulls_terns": GroupLine(34, 0.578, -0.213, 7.61, 0.213, (9.32, 0.234), 1.01, 0.157, 45.9, 1650.0),
        "auks": GroupLine(11, 0.609, -0.235, 7.21, 0.235, (17.35, 0.132), 0.89, 0.079, 84.0, 774.0),
        "petrels": GroupLine(41, 0.230, -0.169, 19.09, 0.169, (30.05, 0.186), 1.42, 0.141, 20.5, 8906.0),
        "waders": GroupLine(27, 0.608, -0.276, 7.23, 0.276, (8.66, 0.234), 0.88, 0.129, 21.1, 555.0),
        "waterfowl": GroupLine(24, 0.256, -0.129, 17.14, 0.129, None, 0.91, 0.160, 359.0, 10682.0),
        "gamebirds": GroupLine(15, 0.409, -0.294, 10.75, 0.294, None, 0.93, 0.170, 40.4, 4155.0),
    }
)


@dataclass(frozen=True, slots=True)
class GroupSpread:
    """How far the species of a group lie from its lines in what the lines do not give.

    Parameters
    ----------
    log_asymptote_sd
        Standard deviation of ln(A / M) between species.
    scaled_inflection, scaled_inflection_sd
        Median and standard deviation of K t_i of their logistic curves; 1 / (1 + e^(K t_i)) is the share of
        the asymptote at hatching.
    """

    log_asymptote_sd: float
    scaled_inflection: float
    scaled_inflection_sd: float


# Derived from data/amp_bird_growth_fits.csv by the same filter as the lines: logistic fits of quality with
# r2 >= 0.9 and an adult mass, the series of most points of each species. The count of species is the lines'.
GROUP_SPREADS: Mapping[str, GroupSpread] = MappingProxyType(
    {
        "songbirds": GroupSpread(0.229, 2.16, 0.48),
        "parrots": GroupSpread(0.201, 2.90, 0.55),
        "raptors": GroupSpread(0.185, 2.77, 0.49),
        "owls": GroupSpread(0.168, 2.37, 0.41),
        "pigeons": GroupSpread(0.214, 2.62, 0.80),
        "woodpeckers": GroupSpread(0.206, 2.44, 0.90),
        "kingfishers_hornbills": GroupSpread(0.246, 2.90, 0.71),
        "swifts_hummingbirds": GroupSpread(0.163, 2.05, 0.63),
        "herons_pelicans": GroupSpread(0.282, 2.68, 0.66),
        "gulls_terns": GroupSpread(0.151, 2.22, 0.44),
        "auks": GroupSpread(0.169, 2.01, 0.19),
        "petrels": GroupSpread(0.187, 1.93, 0.34),
        "waders": GroupSpread(0.185, 1.99, 0.38),
        "waterfowl": GroupSpread(0.217, 2.80, 0.43),
        "gamebirds": GroupSpread(0.228, 2.87, 0.42),
    }
)

GROUP_OF_ORDER: Mapping[str, str] = MappingProxyType(
    {
        "Passeriformes": "songbirds",
        "Psittaciformes": "parrots",
        "Accipitriformes": "raptors",
        "Falconiformes": "raptors",
        "Strigiformes": "owls",
        "Columbiformes": "pigeons",
        "Piciformes": "woodpeckers",
        "Coraciiformes": "kingfishers_hornbills",
        "Bucerotiformes": "kingfishers_hornbills",
        "Apodiformes": "swifts_hummingbirds",
        "Pelecaniformes": "herons_pelicans",
        "Procellariiformes": "petrels",
        "Anseriformes": "waterfowl",
        "Galliformes": "gamebirds",
    }
)
GROUP_OF_FAMILY: Mapping[str, str] = MappingProxyType(
    {
        "Laridae": "gulls_terns",
        "Alcidae": "auks",
        "Scolopacidae": "waders",
        "Charadriidae": "waders",
        "Haematopodidae": "waders",
        "Recurvirostridae": "waders",
    }
)
"""Families of the Charadriiformes, an order whose members grow on three different lines."""


@dataclass(frozen=True, slots=True)
class GrowthPrior:
    """What the group's lines say of a species of that adult mass.

    Parameters
    ----------
    group
        Key of ``GROUP_LINES``.
    rate_per_day
        K of the logistic form.
    rate_log10_sd
        Spread of log10 K between species of the group.
    t10_t90_days
        Days from 10 % to 90 % of the asymptote.
    fledging_days
        Age at fledging (first flight in waders); None for precocial groups without a line.
    asymptote_g, asymptote_ratio
        Asymptote and its ratio to adult mass.
    species_count, lightest_g, heaviest_g
        What stands behind it; a mass outside the two is an extrapolation, to be said.
    """

    group: str
    rate_per_day: FloatOrArray
    rate_log10_sd: float
    t10_t90_days: FloatOrArray
    fledging_days: FloatOrArray | None
    asymptote_g: FloatOrArray
    asymptote_ratio: float
    species_count: int
    lightest_g: float
    heaviest_g: float


def group_of(order_group: str) -> str:
    """Give the group that an order, a family of the Charadriiformes or a group's own key belongs to.

    Raises
    ------
    DomainError
        If no line is known for it; the message says what is missing.
    """
    if order_group in GROUP_LINES:
        return order_group
    group = GROUP_OF_ORDER.get(order_group) or GROUP_OF_FAMILY.get(order_group)
    if group is not None:
        return group
    if order_group == "Charadriiformes":
        raise DomainError(
            "The order Charadriiformes alone does not tell how a bird grows.",
            field="order_group",
            code="family_missing",
            remedy=f"Give the family: one of {', '.join(GROUP_OF_FAMILY)}.",
        )
    raise DomainError(
        f"There is no growth line for {order_group!r}: too few measured species.",
        field="order_group",
        code="no_growth_line",
        remedy=f"Give a growth curve of the species, or one of {', '.join(GROUP_OF_ORDER)}.",
    )


def growth_prior(order_group: str, adult_mass_g: ArrayLike) -> GrowthPrior:
    """Growth rate, span, fledging age and asymptote that a species' group and adult mass suggest.

    Parameters
    ----------
    order_group
        Scientific name of the order (of the family in the Charadriiformes), or a key of ``GROUP_LINES``.
    adult_mass_g
        Adult mass, 1 to 20 000 g, any shape.

    Returns
    -------
    GrowthPrior
        Arrays have the shape of ``adult_mass_g``.

    Raises
    ------
    DomainError
        If the group has no line, or the mass is no bird's of these groups.

    Notes
    -----
    K = a M^b, t10-t90 = c M^-b, fledging age = f M^g, A = (median A/M) M. growth.md section 2.
    """
    group = group_of(order_group)
    line = GROUP_LINES[group]
    mass = within(adult_mass_g, "adult_mass_g", low=LIGHTEST_G, high=HEAVIEST_G)
    return GrowthPrior(
        group=group,
        rate_per_day=scalar_or_array(line.rate * mass**line.rate_power),
        rate_log10_sd=line.rate_log10_sd,
        t10_t90_days=scalar_or_array(line.span * mass**line.span_power),
        fledging_days=None if line.fledging is None else scalar_or_array(line.fledging[0] * mass ** line.fledging[1]),
        asymptote_g=scalar_or_array(line.asymptote_ratio * mass),
        asymptote_ratio=line.asymptote_ratio,
        species_count=line.species_count,
        lightest_g=line.lightest_g,
        heaviest_g=line.heaviest_g,
    )
