"""Whether a chart's values can be drawn; every fault names the value by its JSON pointer."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from species.charts.data import Bands, DayRange, GrowthChart, Line, StageSpan
from species.domain.errors import DomainError

#: Hatching is usually told as a day and taken as its noon: a weighing of that morning is a little younger than 0.
YOUNGEST_DAY = -1.0
OLDEST_DAY = 40_000.0
HEAVIEST_G = 1e6
MOST_STAGES = 26
LATEST_YEAR = 9000


def check_drawable(chart: GrowthChart) -> None:
    """Raise unless everything in the chart has a place on paper.

    Raises
    ------
    DomainError
        On a value that is no finite number, an age before the hatch day, a mass of zero or less, lines whose ages
        do not rise or whose lengths differ, centiles or intervals out of order, or nothing to draw at all.
    """
    if chart.bands is None and not chart.points and chart.own_line is None and chart.forecast is None:
        raise DomainError(
            "There is nothing to draw.",
            code="nothing_to_draw",
            remedy="Give population bands, a weighing or a line.",
        )
    if chart.bands is not None:
        _check_bands(chart.bands)
    for pointer, line in (("/own_line", chart.own_line), ("/forecast", chart.forecast)):
        if line is not None:
            _check_line(line, pointer)
    for i, point in enumerate(chart.points):
        _check_place(point.age_days, point.mass_g, f"/points/{i}")
    for i, finding in enumerate(chart.findings):
        _check_place(finding.age_days, finding.mass_g, f"/findings/{i}")
    for i, milestone in enumerate(chart.milestones):
        _check_age(milestone.day, f"/milestones/{i}/day")
    _check_stages(chart.stages)
    if chart.hatched_on is not None and chart.hatched_on.year > LATEST_YEAR:
        raise _refusal("The year of hatching leaves no room for later dates.", "/hatched_on", "Correct the year.")
    for pointer, span in (("/fledging", chart.fledging), ("/weaning", chart.weaning)):
        if span is not None:
            _check_range(span, pointer)


def _check_bands(bands: Bands) -> None:
    _check_rising(bands.days, "/bands/days")
    columns = {name: getattr(bands, name) for name in ("c3_g", "c15_g", "c50_g", "c85_g", "c97_g")}
    for name, column in columns.items():
        _check_masses(column, bands.days, f"/bands/{name}")
    for (lower, below), (upper, above) in pairwise(columns.items()):
        _check_order(below, above, f"/bands/{upper}", lower)


def _check_line(line: Line, pointer: str) -> None:
    _check_rising(line.ages_days, f"{pointer}/ages_days")
    _check_masses(line.mass_g, line.ages_days, f"{pointer}/mass_g")
    if not line.low_g and not line.high_g:
        return
    _check_masses(line.low_g, line.ages_days, f"{pointer}/low_g")
    _check_masses(line.high_g, line.ages_days, f"{pointer}/high_g")
    _check_order(line.low_g, line.mass_g, f"{pointer}/mass_g", "low_g")
    _check_order(line.mass_g, line.high_g, f"{pointer}/high_g", "mass_g")


def _check_place(age_days: float, mass_g: float, pointer: str) -> None:
    _check_age(age_days, f"{pointer}/age_days")
    _check_mass(mass_g, f"{pointer}/mass_g")


def _check_rising(ages: Sequence[float], pointer: str) -> None:
    for i, age in enumerate(ages):
        _check_age(age, f"{pointer}/{i}")
    if len(ages) < 2 or any(late <= early for early, late in pairwise(ages)):
        raise _refusal("The ages of a line must rise.", pointer, "Give at least two ages in rising order.")


def _check_masses(masses: Sequence[float], ages: Sequence[float], pointer: str) -> None:
    if len(masses) != len(ages):
        raise _refusal(f"{len(masses)} masses stand against {len(ages)} ages.", pointer, "Give one mass for each age.")
    for i, mass in enumerate(masses):
        _check_mass(mass, f"{pointer}/{i}")


def _check_order(below: Iterable[float], above: Iterable[float], pointer: str, lower: str) -> None:
    for i, (low, high) in enumerate(zip(below, above, strict=True)):
        if low > high:
            raise _refusal(f"{high:g} g lies under {lower}, {low:g} g.", f"{pointer}/{i}", "Sort the values.")


def _check_age(age: float, pointer: str) -> None:
    if not math.isfinite(age) or not YOUNGEST_DAY <= age <= OLDEST_DAY:
        raise _refusal(
            f"An age of {age} days has no place on the chart.",
            pointer,
            f"Ages are days since hatching, from {YOUNGEST_DAY:g} to {OLDEST_DAY:g}.",
        )


def _check_mass(mass: float, pointer: str) -> None:
    if not math.isfinite(mass) or not 0.0 < mass <= HEAVIEST_G:
        raise _refusal(
            f"A mass of {mass} g has no place on the chart.", pointer, f"Masses are above 0 g, up to {HEAVIEST_G:g} g."
        )


def _check_stages(stages: Sequence[StageSpan]) -> None:
    if len(stages) > MOST_STAGES:
        raise _refusal(f"{len(stages)} stages are more than there are letters for.", "/stages", "Join some of them.")
    for i, stage in enumerate(stages):
        _check_age(stage.from_day, f"/stages/{i}/from_day")
        if stage.to_day is not None:
            _check_age(stage.to_day, f"/stages/{i}/to_day")
            if stage.to_day <= stage.from_day:
                raise _refusal("A stage must end after it begins.", f"/stages/{i}/to_day", "Put the later day second.")
        before = stages[i - 1] if i else None
        if before is not None and (before.to_day is None or stage.from_day < before.to_day):
            raise _refusal("Two stages share a day.", f"/stages/{i}/from_day", "Give them in order, one after another.")


def _check_range(span: DayRange, pointer: str) -> None:
    _check_age(span.low_day, f"{pointer}/low_day")
    _check_age(span.high_day, f"{pointer}/high_day")
    if span.high_day < span.low_day:
        raise _refusal("The range ends before it begins.", f"{pointer}/high_day", "Put the later day second.")


def _refusal(detail: str, pointer: str, remedy: str) -> DomainError:
    return DomainError(detail, field=pointer, code="cannot_be_drawn", remedy=remedy)
