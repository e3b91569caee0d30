"""Charts to look at: built-in species and a bird with everything that can stand on its chart."""

import datetime as dt
import math
from functools import cache
from importlib.resources import files

import numpy as np

from species.biology.growth_forms import mass_g
from species.biology.population import mass_centiles_g
from species.charts.data import (
    Bands,
    CurveChart,
    DayRange,
    FindingMark,
    GrowthChart,
    Line,
    MarkState,
    MilestoneMark,
    Point,
    StageSpan,
)
from species.packs.read import read_pack


@cache
def profiles():
    return {profile.key: profile for profile in read_pack(files("species.builtin")).profiles.values()}


KEYS = sorted(key for key, profile in profiles().items() if profile.growth_curve is not None)


def bands_of(profile):
    curve = profile.growth_curve
    last = max(curve.valid_to_day, profile.fledging_days.high if profile.fledging_days else 0.0)
    days = np.arange(0, math.ceil(last) + 1.0)
    spreads = ("log_asymptote_sd", "log_rate_sd", "inflection_sd_days")
    masses = mass_centiles_g(
        curve.form,
        days,
        curve.asymptote_g.value,
        curve.rate_per_day.value,
        curve.inflection_days.value,
        *(getattr(curve, name).value for name in spreads),
        [3, 15, 50, 85, 97],
        curve.residual_log_sd.value,
    )
    columns = dict(zip(("c3_g", "c15_g", "c50_g", "c85_g", "c97_g"), masses.T.tolist(), strict=True))
    return Bands(days=tuple(days.tolist()), **{name: tuple(column) for name, column in columns.items()})


def species_part(profile):
    def span(band):
        return band and DayRange(low_day=band.low, high_day=band.high)

    return {
        "bands": bands_of(profile),
        "stages": tuple(
            StageSpan(name=stage.name, from_day=stage.ages.from_day, to_day=stage.ages.to_day)
            for stage in profile.stages
        ),
        "milestones": tuple(
            MilestoneMark(name=one.key.replace("_", " "), day=one.seen_days.middle) for one in profile.milestones
        ),
        "fledging": span(profile.fledging_days),
        "weaning": span(profile.weaning.age_days),
    }


def curve_of(key):
    profile = profiles()[key]
    return CurveChart(title=profile.vernacular_name, subtitle=profile.scientific_name, **species_part(profile))


def bird_of(key, *, count=14, size=0.9, ages=None, **changed):
    """A bird ``size`` times its species' typical mass; one weighing rejected and one questioned of six and more."""
    profile = profiles()[key]
    curve = profile.growth_curve
    if ages is None:
        ages = np.linspace(1.0, curve.valid_to_day * 0.75, count).tolist()

    def expected(at):
        parameters = (curve.asymptote_g.value * size, curve.rate_per_day.value, curve.inflection_days.value)
        return np.asarray(mass_g(curve.form, np.maximum(at, 0.0), *parameters))

    # A fixed wave instead of chance: the same bird every time.
    masses = (expected(ages) * (1 + 0.04 * np.sin(np.arange(len(ages)) * 2.4))).tolist()
    points = [Point(age_days=age, mass_g=mass, label=f"{mass:.1f} g") for age, mass in zip(ages, masses, strict=True)]
    findings = ()
    if len(points) > 5:
        middle = len(points) // 2
        points[1] = Point(age_days=ages[1], mass_g=masses[1] * 10, state=MarkState.REJECTED, label="slip")
        points[middle] = Point(age_days=ages[middle], mass_g=masses[middle] * 0.8, state=MarkState.QUESTIONED)
        findings = tuple(
            FindingMark(age_days=points[at].age_days, mass_g=points[at].mass_g, code=code, text=text)
            for at, code, text in (
                (1, "implausible_weight", "Ten times what was expected: a slip of the decimal point? Weigh again."),
                (middle, "weight_loss", "It lost weight since the weighing before. Check crop and warmth now."),
                (-1, "low_for_age", "Light for its age."),
                (-1, "no_gain", "No gain since yesterday."),
            )
        )
    last = ages[-1]

    def line(low, high, spread):
        at = np.linspace(low, high, 30)
        mass = expected(at)
        widths = np.linspace(*spread, 30)
        return Line(
            ages_days=tuple(at.tolist()),
            mass_g=tuple(mass.tolist()),
            low_g=tuple((mass * (1 - widths)).tolist()),
            high_g=tuple((mass * (1 + widths)).tolist()),
        )

    told = {
        "title": "Growth",
        "subtitle": f"{profile.vernacular_name} ({profile.scientific_name}), bird K-14",
        "hatched_on": dt.date(2027, 4, 23),
        "points": tuple(points),
        "own_line": line(0.0, last, (0.06, 0.06)),
        "forecast": line(last, last + 7.0, (0.02, 0.12)),
        "findings": findings,
    }
    return GrowthChart(**(told | species_part(profile) | changed))
