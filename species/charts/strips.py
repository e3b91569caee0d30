"""What stands along the ages: milestones above the plot; days, dates, stages and ranges of days under it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from species.charts.data import DayRange, GrowthChart, MilestoneMark, StageSpan
from species.charts.extent import Axis
from species.charts.lettering import ASCENT, DESCENT, broken, cut, days, printable, width
from species.charts.paper import GRID, INK, OUTER_BAND, PAPER, SOFT_INK, Box, Layout, Sheet, text_box
from species.charts.scale import Scale
from species.charts.svg import path

ROW = 1.3
"""Height of a row of words, in sizes of its letters."""
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class PlacedMilestone:
    """A milestone's name, its row above the plot (0 is the lowest), and where it is written from."""

    name: str
    x: float
    row: int
    anchor: str


def _places(rows: int) -> list[tuple[str, int]]:
    """Names to the right of their stem from the lowest row up; to its left, where others want to begin, last."""
    return [("start", row) for row in range(rows)] + [("end", (row + 1) % rows) for row in range(rows)]


def place_milestones(
    milestones: Sequence[MilestoneMark], x: Scale, layout: Layout
) -> tuple[list[PlacedMilestone], list[MilestoneMark]]:
    """Names that find a row, and those for which there is none (they go to the legend).

    From the right to the left: a stem goes down from its name through the rows below, which start further right.
    """
    size = layout.small_size
    placed: list[PlacedMilestone] = []
    unplaced: list[MilestoneMark] = []
    names: list[Box] = []
    stems: list[Box] = []
    for milestone in sorted(milestones, key=lambda one: -one.day):
        found = None
        if x.holds(milestone.day):
            words, at = printable(milestone.name), x(milestone.day)
            for anchor, row in _places(layout.milestone_rows):
                base = -row * ROW * size
                name = text_box(words, at + (3 if anchor == "start" else -3), base, size, anchor).grown(1.0)
                stem = Box(at - 1.5, base - ASCENT * size, at + 1.5, size)
                on_page = layout.margin <= name.left and name.right <= layout.width - layout.margin
                if on_page and not any(name.meets(other) for other in (*names, *stems)):
                    if any(stem.meets(other) for other in names):
                        continue
                    found = PlacedMilestone(words, at, row, anchor)
                    names.append(name)
                    stems.append(stem)
                    break
        if found is None:
            unplaced.append(milestone)
        else:
            placed.append(found)
    return placed, unplaced[::-1]


def draw_milestones(sheet: Sheet, placed: Sequence[PlacedMilestone], unnamed: Sequence[float], plot_top: float) -> None:
    """A stem to the plot for each, its name beside it; a mark alone for those named in the legend."""
    size = sheet.layout.small_size
    for at in unnamed:
        corners = [(at, plot_top), (at - 3.2, plot_top - 5.5), (at + 3.2, plot_top - 5.5)]
        sheet.draw("path", d=path(corners, closed=True), fill=SOFT_INK)
    for one in placed:
        base = plot_top - 7.0 - one.row * ROW * size
        stem = path([(one.x, base - ASCENT * size * 0.9), (one.x, plot_top)])
        sheet.draw("path", d=stem, fill="none", stroke=SOFT_INK, stroke_width=0.9)
        sheet.write(one.name, one.x + (3 if one.anchor == "start" else -3), base, size, one.anchor, ink=SOFT_INK)


def draw_days(sheet: Sheet, axis: Axis, x: Scale, top: float, hatched_on: dt.date | None) -> float:
    """Days at the ticks, dates under them where they have room, and what is counted; gives the place below."""
    size = sheet.layout.text_size
    base = top + 8 + ASCENT * size
    for day, label in zip(axis.ticks, axis.labels, strict=True):
        sheet.draw("path", d=path([(x(day), top), (x(day), top + 4)]), stroke=INK, stroke_width=1.2)
        sheet.write(label, x(day), base, size, "middle")
    size = sheet.layout.small_size
    if hatched_on is not None:
        base += ROW * size
        used = 0.0
        for day in axis.ticks:
            words = _date(hatched_on + dt.timedelta(days=day))
            box = text_box(words, x(day), base, size, "middle")
            if box.left >= used + 1 and box.right <= sheet.layout.width - 1:
                sheet.write(words, x(day), base, size, "middle", ink=SOFT_INK)
                used = box.right + 4
    base += ROW * size
    hatching = f"hatched {_date(hatched_on)} {hatched_on.year}" if hatched_on is not None else "hatch day is day 0"
    sheet.write(f"days since hatching ({hatching})", x.start, base, size)
    return base + DESCENT * size + 4


def _date(day: dt.date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]}"


@dataclass(frozen=True, slots=True)
class PlacedStage:
    """A stage's piece of the strip, with its name in lines, or with a letter that the legend explains."""

    stage: StageSpan
    left: float
    right: float
    lines: list[str]
    letter: str


def place_stages(stages: Sequence[StageSpan], x: Scale, layout: Layout) -> list[PlacedStage]:
    """Pieces of the strip, from the earliest; stages that begin beyond the axis have no piece."""
    size = layout.small_size
    placed: list[PlacedStage] = []
    letters = 0
    for stage in sorted(stages, key=lambda one: one.from_day):
        left = x(max(stage.from_day, x.low))
        right = x(x.high if stage.to_day is None else min(stage.to_day, x.high))
        if right <= left:
            continue
        words, room = printable(stage.name), right - left - 5
        lines = broken(words, room, size)
        if len(lines) > 2 or " ".join(lines) != words:
            lines, letters = [], letters + 1
        placed.append(PlacedStage(stage, left, right, lines, "" if lines else chr(ord("A") + letters - 1)))
    return placed


def draw_stages(sheet: Sheet, placed: Sequence[PlacedStage], top: float) -> float:
    """The strip of stages, white and grey in turn; gives the place below."""
    if not placed:
        return top
    size = sheet.layout.small_size
    rows = max(len(one.lines) or 1 for one in placed)
    tall = rows * size * 1.15 + 5
    for i, one in enumerate(placed):
        tone = OUTER_BAND if i % 2 == 0 else PAPER
        long = one.right - one.left
        sheet.draw("rect", x=one.left, y=top, width=long, height=tall, fill=tone, stroke=GRID, stroke_width=0.8)
        lines = one.lines or [one.letter if width(one.letter, size) <= one.right - one.left - 2 else ""]
        base = top + tall / 2 + (ASCENT - DESCENT) / 2 * size - (len(lines) - 1) / 2 * size * 1.15
        for line in lines:
            sheet.write(line, (one.left + one.right) / 2, base, size, "middle")
            base += size * 1.15
    return top + tall + 5


def draw_ranges(sheet: Sheet, chart: GrowthChart, x: Scale, top: float) -> float:
    """A bar for the days of fledging and one for those of weaning; gives the place below."""
    for name, span in (("fledging", chart.fledging), ("weaning", chart.weaning)):
        if span is not None:
            _draw_range(sheet, name, span, x, top)
            top += ROW * sheet.layout.small_size + 1
    return top


def _draw_range(sheet: Sheet, name: str, span: DayRange, x: Scale, top: float) -> None:
    size = sheet.layout.small_size
    middle = top + ROW * size / 2
    base = middle + (ASCENT - DESCENT) / 2 * size
    words = f"{name}, {days(span.low_day, span.high_day)}"
    edge = sheet.layout.width - sheet.layout.margin
    if span.low_day >= x.high:
        sheet.write(f"{words} →", x.end, base, size, "end")
        return
    left, right = x(max(span.low_day, x.low)), x(min(span.high_day, x.high))
    bar = path([(left, middle), (right, middle)]) + path([(left, middle - 4), (left, middle + 4)])
    # A bar that goes on beyond the axis ends in an arrowhead, not in a stop.
    end = [(right - 5, middle - 4), (right, middle), (right - 5, middle + 4)]
    bar += path(end if span.high_day > x.high else [(right, middle - 4), (right, middle + 4)])
    sheet.draw("path", d=bar, fill="none", stroke=INK, stroke_width=1.8)
    for at, anchor in ((right + 6, "start"), (left - 6, "end")):
        box = text_box(words, at, base, size, anchor)
        if box.left >= sheet.layout.margin and box.right <= edge:
            sheet.write(words, at, base, size, anchor)
            return
    words = cut(words, right - left - 8, size)
    gap = text_box(words, (left + right) / 2, base, size, "middle").grown(3.0)
    sheet.draw("rect", x=gap.left, y=middle - 3, width=gap.right - gap.left, height=6.0, fill=PAPER)
    sheet.write(words, (left + right) / 2, base, size, "middle")
