"""What is known of a bird's curve before its first weighing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology.allometry import GROUP_SPREADS, growth_prior
from species.biology.bounds import FloatArray, positive, within
from species.biology.curve import SpeciesCurve
from species.biology.growth_forms import t10_t90_days
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve

# Between individuals of one species: root mean squares over common tern, song sparrow, tree swallow and zebra
# finch, mixed models of the chick files of growth.md; the shift as a share of the days from 10 to 90 % of A.
INDIVIDUAL_LOG_ASYMPTOTE_SD = 0.079
INDIVIDUAL_LOG_RATE_SD = 0.141
INDIVIDUAL_SHIFT_SHARE = 0.096


@dataclass(frozen=True, slots=True)
class CurvePrior:
    """What is known of a bird's curve before its first weighing: the species, and how its birds differ.

    Parameters
    ----------
    curve
        Typical individual; its A and K are the means.
    log_asymptote_sd, log_rate_sd
        Standard deviations of ln A and ln K between individuals, above 0; scalars or one for each bird (n,).
    age_shift_sd_days
        Standard deviation between individuals of the days a bird is ahead of its age, above 0.
    age_sd_days
        Standard deviation of the error of the told age, of each bird or one for all; 0 for a bird hatched
        under one's eyes.
    age_shift_days
        Expected shift; 0 unless something else than weight speaks of the age.
    adult_mass_ratio
        Adult mass of the bird's strain, sex or parents over the species'; scales A.
    """

    curve: SpeciesCurve
    log_asymptote_sd: ArrayLike
    log_rate_sd: ArrayLike
    age_shift_sd_days: ArrayLike
    age_sd_days: ArrayLike = 0.0
    age_shift_days: ArrayLike = 0.0
    adult_mass_ratio: ArrayLike = 1.0

    def for_birds(self, count: int) -> tuple[FloatArray, FloatArray]:
        """Means and standard deviations of the parameters of so many birds, both (n, 3).

        Raises
        ------
        DomainError
            On a spread that is not positive, or an array that is not one value for each bird.
        """
        ratio = positive(self.adult_mass_ratio, "adult_mass_ratio")
        means = (
            math.log(self.curve.asymptote_g) + np.log(ratio),
            np.asarray(math.log(self.curve.rate_per_day)),
            within(self.age_shift_days, "age_shift_days"),
        )
        spreads = (
            positive(self.log_asymptote_sd, "log_asymptote_sd"),
            positive(self.log_rate_sd, "log_rate_sd"),
            np.hypot(
                positive(self.age_shift_sd_days, "age_shift_sd_days"), within(self.age_sd_days, "age_sd_days", low=0.0)
            ),
        )
        try:
            mean, sd = (np.stack([np.broadcast_to(column, count) for column in part], 1) for part in (means, spreads))
        except ValueError:
            raise DomainError(
                f"A prior for {count} birds needs each value once for all, or {count} values.",
                field="prior",
                code="shape_differs",
            ) from None
        return mean, sd


def prior_of_profile(
    curve: GrowthCurve, *, age_sd_days: ArrayLike = 0.0, adult_mass_ratio: ArrayLike = 1.0
) -> CurvePrior:
    """Prior from a profile's growth curve; its ``residual_log_sd`` goes into the residual model.

    Raises
    ------
    DomainError
        As :class:`CurvePrior` and :class:`species.biology.curve.SpeciesCurve`.
    """
    return CurvePrior(
        SpeciesCurve(curve.form, curve.asymptote_g.value, curve.rate_per_day.value, curve.inflection_days.value),
        log_asymptote_sd=curve.log_asymptote_sd.value,
        log_rate_sd=curve.log_rate_sd.value,
        age_shift_sd_days=curve.inflection_sd_days.value,
        age_sd_days=age_sd_days,
        adult_mass_ratio=adult_mass_ratio,
    )


def prior_of_group(
    order_group: str, adult_mass_g: float, *, age_sd_days: ArrayLike = 0.0, adult_mass_ratio: ArrayLike = 1.0
) -> CurvePrior:
    """Prior of a bird whose species has no curve, from its group and adult mass: wide, and to be shown as such.

    Parameters
    ----------
    order_group, adult_mass_g
        As :func:`species.biology.allometry.growth_prior`; one species.
    age_sd_days, adult_mass_ratio
        As :class:`CurvePrior`.

    Raises
    ------
    DomainError
        If the group has no line, or the mass is no bird's of these groups.

    Notes
    -----
    Logistic with A and K of the group's lines and t_i = (median K t_i) / K. The spreads join that between
    species about the line with that between individuals of a species, as independent.
    """
    line = growth_prior(order_group, adult_mass_g)
    spread = GROUP_SPREADS[line.group]
    rate = float(line.rate_per_day)
    return CurvePrior(
        SpeciesCurve("logistic", float(line.asymptote_g), rate, spread.scaled_inflection / rate),
        log_asymptote_sd=math.hypot(spread.log_asymptote_sd, INDIVIDUAL_LOG_ASYMPTOTE_SD),
        log_rate_sd=math.hypot(line.rate_log10_sd * math.log(10.0), INDIVIDUAL_LOG_RATE_SD),
        age_shift_sd_days=math.hypot(
            spread.scaled_inflection_sd / rate, INDIVIDUAL_SHIFT_SHARE * float(t10_t90_days("logistic", rate))
        ),
        age_sd_days=age_sd_days,
        adult_mass_ratio=adult_mass_ratio,
    )
