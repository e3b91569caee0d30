"""How far the axes of a chart reach."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from species.charts.data import GrowthChart, Line, MarkState
from species.charts.paper import Layout
from species.charts.scale import axis_start, decimals, tick_step, ticks

#: What is doubtful (questioned weighings, intervals) may stretch the weight axis by this much. What needs more is drawn
#: at the edge: one slip of the decimal point would press every other line into the floor.
STRETCH = 1.5
HEADROOM = 1.06
HELD = (MarkState.ACCEPTED, MarkState.CONFIRMED)


@dataclass(frozen=True, slots=True)
class Axis:
    """Ends, ticks, and the ticks as they are written."""

    low: float
    high: float
    ticks: tuple[float, ...]
    labels: tuple[str, ...]


def age_axis(chart: GrowthChart, layout: Layout) -> Axis:
    """Days from hatching to the last day of anything drawn as a line or a mark."""
    ages = list(_ages(chart))
    low, high = min(ages), max(ages)
    if low >= high:
        # One weighing alone: from hatching to a little beyond it.
        low, high = min(low, 0.0), max(high, 0.0) + 1.0
    start = axis_start(low, high, tick_step(high - low, layout.most_x_ticks, least=1.0), 0.05 * (high - low))
    return _axis(start, high, layout.most_x_ticks, least=1.0)


def weight_axis(chart: GrowthChart, layout: Layout) -> Axis:
    """Grams that hold every line and every weighing that stands; doubtful ones within :data:`STRETCH`."""
    # A rejected weighing stretches nothing, unless there is nothing else to show.
    firm, doubtful = list(_firm_masses(chart)), list(_doubtful_masses(chart))
    if not firm:
        firm, doubtful = [point.mass_g for point in chart.points], []
    lowest, highest = min(firm), max(firm)
    high = HEADROOM * max([highest, *(mass for mass in doubtful if mass <= STRETCH * highest)])
    # A tenth of the weight under the lowest as well: a bird that has stopped growing shall not look restless.
    start = axis_start(lowest, high, tick_step(high - lowest, layout.most_y_ticks), 0.1 * highest)
    return _axis(start, high, layout.most_y_ticks)


def _axis(low: float, high: float, most: int, least: float = 0.0) -> Axis:
    values = ticks(low, high, most, least)
    digits = decimals(tick_step(high - low, most, least))
    return Axis(low, high, values, tuple(f"{value:.{digits}f}" for value in values))


def _ages(chart: GrowthChart) -> Iterator[float]:
    if chart.bands is not None:
        yield from chart.bands.days
    for line in (chart.own_line, chart.forecast):
        if line is not None:
            yield from line.ages_days
    yield from (point.age_days for point in chart.points)
    yield from (finding.age_days for finding in chart.findings)


def _firm_masses(chart: GrowthChart) -> Iterator[float]:
    if chart.bands is not None:
        yield from chart.bands.c3_g
        yield from chart.bands.c97_g
    for line in _lines(chart):
        yield from line.mass_g
    yield from (point.mass_g for point in chart.points if point.state in HELD)


def _doubtful_masses(chart: GrowthChart) -> Iterator[float]:
    for line in _lines(chart):
        yield from line.high_g
    yield from (point.mass_g for point in chart.points if point.state is MarkState.QUESTIONED)


def _lines(chart: GrowthChart) -> Iterator[Line]:
    yield from (line for line in (chart.own_line, chart.forecast) if line is not None)
