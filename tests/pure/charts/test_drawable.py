"""Values without a place on paper are refused, with the pointer of the first one at fault."""

import datetime as dt
import math

import pytest

from species.charts.data import Bands, DayRange, FindingMark, GrowthChart, Line, MilestoneMark, Point, StageSpan
from species.charts.growth import growth_chart
from species.domain.errors import DomainError

BANDS = {"days": (0.0, 1.0), "c3_g": (1.0, 2.0), "c15_g": (2.0, 3.0), "c50_g": (3.0, 4.0), "c85_g": (4.0, 5.0)}
TOP = {"c97_g": (5.0, 6.0)}


def bands(**changed):
    return {"bands": Bands(**(BANDS | TOP | changed))}


def own(ages, masses, **interval):
    return {"own_line": Line(ages_days=ages, mass_g=masses, **interval)}


def point(age, mass):
    return {"points": (Point(age_days=age, mass_g=mass),)}


def stages(*spans):
    return bands() | {"stages": tuple(StageSpan(name="s", from_day=low, to_day=high) for low, high in spans)}


@pytest.mark.parametrize(
    ("told", "field"),
    [
        pytest.param(point(math.nan, 5.0), "/points/0/age_days", id="age nan"),
        pytest.param(point(math.inf, 5.0), "/points/0/age_days", id="age without end"),
        pytest.param(point(-1.5, 5.0), "/points/0/age_days", id="before hatching"),
        pytest.param(point(50_000.0, 5.0), "/points/0/age_days", id="older than any bird"),
        pytest.param(point(1.0, 0.0), "/points/0/mass_g", id="no mass"),
        pytest.param(point(1.0, -3.0), "/points/0/mass_g", id="mass below zero"),
        pytest.param(point(1.0, math.nan), "/points/0/mass_g", id="mass nan"),
        pytest.param(point(1.0, 2e6), "/points/0/mass_g", id="two tonnes"),
        pytest.param(
            point(1.0, 5.0) | {"findings": (FindingMark(age_days=1.0, mass_g=math.inf, code="c", text="t"),)},
            "/findings/0/mass_g",
            id="finding without a place",
        ),
        pytest.param(bands(days=(0.0, 0.0)), "/bands/days", id="days that do not rise"),
        pytest.param(bands(c50_g=(3.0,)), "/bands/c50_g", id="a day without a mass"),
        pytest.param(bands(c15_g=(2.0, 4.5)), "/bands/c50_g/1", id="centiles out of order"),
        pytest.param(bands(c97_g=(5.0, math.nan)), "/bands/c97_g/1", id="centile nan"),
        pytest.param(own((0.0,), (1.0,)), "/own_line/ages_days", id="a line of one place"),
        pytest.param(own((0.0, 1.0), (1.0, 2.0), low_g=(1.0, 1.0)), "/own_line/high_g", id="half an interval"),
        pytest.param(
            own((0.0, 1.0), (1.0, 2.0), low_g=(1.0, 2.5), high_g=(3.0, 3.0)),
            "/own_line/mass_g/1",
            id="line under its interval",
        ),
        pytest.param(stages((0.0, 0.0)), "/stages/0/to_day", id="empty stage"),
        pytest.param(stages((0.0, 2.0), (1.0, None)), "/stages/1/from_day", id="stages that overlap"),
        pytest.param(stages(*((float(i), i + 1.0) for i in range(27))), "/stages", id="more stages than letters"),
        pytest.param(
            bands() | {"milestones": (MilestoneMark(name="m", day=math.nan),)}, "/milestones/0/day", id="milestone nan"
        ),
        pytest.param(
            bands() | {"weaning": DayRange(low_day=9.0, high_day=3.0)}, "/weaning/high_day", id="range backwards"
        ),
        pytest.param(bands() | {"hatched_on": dt.date(9990, 1, 1)}, "/hatched_on", id="end of the calendar"),
    ],
)
def test_refused(told, field):
    with pytest.raises(DomainError) as refused:
        growth_chart(GrowthChart(title="t", **told))
    assert (refused.value.code, refused.value.field) == ("cannot_be_drawn", field)
    assert refused.value.remedy


def test_nothing_to_draw():
    with pytest.raises(DomainError) as refused:
        growth_chart(GrowthChart(title="t", weaning=DayRange(low_day=1.0, high_day=2.0)))
    assert refused.value.code == "nothing_to_draw"
