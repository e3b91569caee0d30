"""A species' growth as a chart: population bands, stages, fledging and weaning."""

import math

import numpy as np

from api.catalog.rules.growth_table import CENTILES
from species.biology import population
from species.charts.data import Bands, CurveChart, DayRange, StageSpan
from species.charts.growth import curve_chart
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile
from species.domain.sourcing import Band

#: A chart shows a little of the time after weaning or fledging; the plateau itself is of no use to anybody.
PAST_INDEPENDENCE = 1.3


def species_chart(profile: Profile, curve: GrowthCurve, *, compact: bool = False) -> str:
    """Draw a species' growth as SVG: to the end of its curve, but not far beyond the day it is independent.

    ``compact`` is for a phone.
    """
    ends = [band.high for band in (profile.weaning.age_days, profile.fledging_days) if band is not None]
    last_day = math.ceil(min(curve.valid_to_day, PAST_INDEPENDENCE * max(ends)) if ends else curve.valid_to_day)
    return curve_chart(
        CurveChart(
            title=profile.vernacular_name,
            subtitle=profile.scientific_name,
            bands=species_bands(curve, last_day),
            stages=stage_spans(profile, last_day),
            fledging=day_range(profile.fledging_days, last_day),
            weaning=day_range(profile.weaning.age_days, last_day),
        ),
        compact=compact,
    )


def species_bands(curve: GrowthCurve, last_day: float) -> Bands:
    """Population bands of a curve up to a day."""
    days = np.linspace(0.0, last_day, 80)
    masses = np.asarray(
        population.mass_centiles_g(
            curve.form.value,
            days,
            curve.asymptote_g.value,
            curve.rate_per_day.value,
            curve.inflection_days.value,
            curve.log_asymptote_sd.value,
            curve.log_rate_sd.value,
            curve.inflection_sd_days.value,
            CENTILES,
            curve.residual_log_sd.value,
        )
    )
    columns = [tuple(float(mass) for mass in masses[:, n]) for n in range(len(CENTILES))]
    return Bands(
        days=tuple(float(day) for day in days),
        c3_g=columns[0],
        c15_g=columns[1],
        c50_g=columns[2],
        c85_g=columns[3],
        c97_g=columns[4],
    )


def stage_spans(profile: Profile, last_day: float) -> tuple[StageSpan, ...]:
    """Stages that begin before the chart ends."""
    return tuple(
        StageSpan(name=stage.name, from_day=stage.ages.from_day, to_day=stage.ages.to_day)
        for stage in profile.stages
        if stage.ages.from_day < last_day
    )


def day_range(band: Band | None, last_day: float) -> DayRange | None:
    """A range of days that begins before the chart ends."""
    return DayRange(low_day=band.low, high_day=band.high) if band is not None and band.low < last_day else None
