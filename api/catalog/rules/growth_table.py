"""A growth curve written out day by day."""

import math

import numpy as np

from species.biology.growth_forms import mass_g
from species.biology.population import mass_centiles_g
from species.domain.growth_curve import GrowthCurve
from species.domain.record import Record

#: The centiles of WHO growth charts: 3, 15, 50, 85, 97 (WHO Child Growth Standards, 2006).
CENTILES = (3.0, 15.0, 50.0, 85.0, 97.0)
#: A scale for chicks shows a tenth of a gram at best.
DECIMALS = 2


class GrowthDay(Record, frozen=True, kw_only=True):
    """What birds of one age weigh."""

    age_days: int
    expected_g: float
    centile_3_g: float
    centile_15_g: float
    centile_50_g: float
    centile_85_g: float
    centile_97_g: float


def growth_table(curve: GrowthCurve) -> tuple[GrowthDay, ...]:
    """Expected mass and its centiles for each whole day that the curve was fitted to.

    Parameters
    ----------
    curve
        Curve and spread of a species.

    Returns
    -------
    tuple of GrowthDay
        From the first whole day to the last, masses in g rounded to 0.01 g.
    """
    days = np.arange(math.ceil(curve.valid_from_day), math.floor(curve.valid_to_day) + 1)
    form = (curve.asymptote_g.value, curve.rate_per_day.value, curve.inflection_days.value)
    expected = np.round(mass_g(curve.form, days, *form), DECIMALS)
    centiles = np.round(
        mass_centiles_g(
            curve.form,
            days,
            *form,
            log_asymptote_sd=curve.log_asymptote_sd.value,
            log_rate_sd=curve.log_rate_sd.value,
            inflection_sd_days=curve.inflection_sd_days.value,
            residual_log_sd=curve.residual_log_sd.value,
            centiles=CENTILES,
        ),
        DECIMALS,
    )
    return tuple(
        GrowthDay(
            age_days=int(day),
            expected_g=float(mean),
            **{f"centile_{centile:g}_g": float(mass) for centile, mass in zip(CENTILES, row, strict=True)},
        )
        for day, mean, row in zip(days, expected, centiles, strict=True)
    )
