"""What a growth chart is drawn from. Ages are days since hatching (hatch day 0), masses grams."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from species.domain.record import Record


class MarkState(StrEnum):
    """What is held of a weighing; a mark of its own for each, but ``confirmed`` is drawn as ``accepted``."""

    ACCEPTED = "accepted"
    CONFIRMED = "confirmed"
    QUESTIONED = "questioned"
    REJECTED = "rejected"


class Bands(Record, frozen=True, kw_only=True):
    """Centiles of the population, one value for each day; days rise, at least two."""

    days: tuple[float, ...]
    c3_g: tuple[float, ...]
    c15_g: tuple[float, ...]
    c50_g: tuple[float, ...]
    c85_g: tuple[float, ...]
    c97_g: tuple[float, ...]


class Line(Record, frozen=True, kw_only=True):
    """A curve and, where both ends are given, its interval; ages rise, at least two."""

    ages_days: tuple[float, ...]
    mass_g: tuple[float, ...]
    low_g: tuple[float, ...] = ()
    high_g: tuple[float, ...] = ()


class Point(Record, frozen=True, kw_only=True):
    """A weighing. The label is written beside it where there is room."""

    age_days: float
    mass_g: float
    state: MarkState = MarkState.ACCEPTED
    label: str = ""


class FindingMark(Record, frozen=True, kw_only=True):
    """A finding at a weighing: a number on the chart, its text in the legend."""

    age_days: float
    mass_g: float
    code: str
    text: str


class StageSpan(Record, frozen=True, kw_only=True):
    """A stage along the axis, from a day up to another; None: to the chart's end."""

    name: str
    from_day: float
    to_day: float | None = None


class MilestoneMark(Record, frozen=True, kw_only=True):
    """A visible step of development and the day it was, or usually is, first seen."""

    name: str
    day: float


class DayRange(Record, frozen=True, kw_only=True):
    """A range of days, ends included."""

    low_day: float
    high_day: float


class GrowthChart(Record, frozen=True, kw_only=True):
    """One bird among its species. Whatever is missing is left out of the chart and of its legend.

    ``subtitle`` names the species and the bird; with ``hatched_on`` the days carry dates.
    """

    title: str
    subtitle: str = ""
    hatched_on: dt.date | None = None
    bands: Bands | None = None
    points: tuple[Point, ...] = ()
    own_line: Line | None = None
    forecast: Line | None = None
    findings: tuple[FindingMark, ...] = ()
    stages: tuple[StageSpan, ...] = ()
    milestones: tuple[MilestoneMark, ...] = ()
    fledging: DayRange | None = None
    weaning: DayRange | None = None


class CurveChart(Record, frozen=True, kw_only=True):
    """A species without a bird."""

    title: str
    subtitle: str = ""
    bands: Bands
    stages: tuple[StageSpan, ...] = ()
    milestones: tuple[MilestoneMark, ...] = ()
    fledging: DayRange | None = None
    weaning: DayRange | None = None

    def without_bird(self) -> GrowthChart:
        """The same chart as one that could hold a bird."""
        return GrowthChart(
            title=self.title,
            subtitle=self.subtitle,
            bands=self.bands,
            stages=self.stages,
            milestones=self.milestones,
            fledging=self.fledging,
            weaning=self.weaning,
        )
