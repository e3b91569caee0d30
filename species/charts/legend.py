"""What the marks mean, in words under the chart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from species.charts import marks
from species.charts.data import GrowthChart, MarkState, MilestoneMark
from species.charts.extent import HELD, Axis
from species.charts.lettering import ASCENT, DESCENT, amount, broken, day, days, printable, width
from species.charts.paper import EDGE, INK, Layout, Sheet
from species.charts.strips import PlacedStage
from species.charts.svg import path

LINE = 1.28
"""Height of a line of words, in sizes of its letters."""
SAMPLE = 26.0
GAP = 16.0
INDENT = 23.0


@dataclass(frozen=True, slots=True)
class Key:
    """A sample and its meaning; ``draw`` takes the sheet, the left end of the sample and its middle height."""

    words: str
    long: float
    draw: Callable[[Sheet, float, float], None]


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence, with the number or letter it explains."""

    sign: str
    ringed: bool
    lines: list[str]


@dataclass(frozen=True, slots=True)
class Legend:
    """Rows of keys, then columns of notes, with the height they take."""

    rows: list[list[Key]]
    columns: list[list[Note]]
    height: float


def compose(
    chart: GrowthChart,
    weights: Axis,
    stages: Sequence[PlacedStage],
    milestones: Sequence[MilestoneMark],
    layout: Layout,
) -> Legend:
    """Choose and break the words; nothing is drawn yet, because the plot takes what height is left."""
    room = layout.width - 2 * layout.margin
    rows: list[list[Key]] = []
    used = room
    for key in _keys(chart, layout):
        long = key.long + 5 + width(key.words, layout.small_size)
        if used + GAP + long > room:
            rows.append([])
            used = -GAP
        rows[-1].append(key)
        used += GAP + long
    count = layout.legend_columns
    notes = _notes(chart, weights, stages, milestones, (room - GAP * (count - 1)) / count - INDENT, layout.small_size)
    columns = _in_columns(notes, count)
    lines = len(rows) + max((sum(len(note.lines) for note in column) for column in columns), default=0)
    between = 4.0 if rows and notes else 0.0
    ringed = max((sum(note.ringed for note in column) for column in columns), default=0)
    return Legend(rows, columns, lines * LINE * layout.small_size + between + 2 * _ring_gap(layout) * ringed)


def draw(sheet: Sheet, legend: Legend, top: float) -> None:
    """Write it from its upper edge."""
    layout = sheet.layout
    size, step = layout.small_size, LINE * layout.small_size
    for row in legend.rows:
        left = layout.margin
        for key in row:
            key.draw(sheet, left, top + step / 2)
            sheet.write(key.words, left + key.long + 5, _base(top, step, size), size)
            left += key.long + 5 + width(key.words, size) + GAP
        top += step
    top += 4.0 if legend.rows else 0.0
    room = layout.width - 2 * layout.margin
    for i, column in enumerate(legend.columns):
        left = layout.margin + i * (room + GAP) / layout.legend_columns
        place = top
        for note in column:
            if note.ringed:
                place += _ring_gap(layout)
                marks.numbered(sheet, note.sign, left + marks.ring_radius(size * 0.9), place + step / 2, size * 0.9)
            elif note.sign:
                sheet.write(note.sign, left + 2, _base(place, step, size), size, bold=True)
            for line in note.lines:
                sheet.write(line, left + INDENT, _base(place, step, size), size)
                place += step
            place += _ring_gap(layout) if note.ringed else 0.0


def _base(top: float, step: float, size: float) -> float:
    return top + step / 2 + (ASCENT - DESCENT) / 2 * size


def _ring_gap(layout: Layout) -> float:
    """Rings are taller than the lines they stand before."""
    return 0.22 * layout.small_size


def _in_columns(notes: Sequence[Note], count: int) -> list[list[Note]]:
    """Notes in reading order down the columns, about as many lines in each."""
    columns: list[list[Note]] = [[] for _ in range(count)]
    share = sum(len(note.lines) for note in notes) / count
    done = 0
    for note in notes:
        columns[min(int(done / share), count - 1)].append(note)
        done += len(note.lines)
    return columns


def _keys(chart: GrowthChart, layout: Layout) -> list[Key]:
    brief = layout.legend_columns == 1
    keys: list[Key] = []
    if chart.bands is not None:
        words = (
            "centiles 3–97, darker 15–85, dashes 50"
            if brief
            else "healthy birds of the species: 3rd to 97th centile, darker 15th to 85th, dashes 50th"
        )
        keys.append(Key(words, SAMPLE, _band_sample))
    if chart.own_line is not None:
        keys.append(Key("this bird", SAMPLE, _stroke(layout.line_width, None)))
    if chart.forecast is not None:
        keys.append(Key("forecast", SAMPLE, _stroke(layout.line_width, marks.FORECAST_DASH)))
    if any(line is not None and line.low_g for line in (chart.own_line, chart.forecast)):
        keys.append(Key("90 % interval", SAMPLE, _hatched))
    states = {point.state for point in chart.points}
    radius = min(layout.mark_radius, 4.0)
    for state, words in (
        (MarkState.ACCEPTED, "weighing"),
        (MarkState.QUESTIONED, "questioned"),
        (MarkState.REJECTED, "rejected, not used"),
    ):
        if state in states or (state is MarkState.ACCEPTED and states & set(HELD)):
            keys.append(Key(words, 2 * radius, _mark(state, radius)))
    return keys


def _band_sample(sheet: Sheet, left: float, middle: float) -> None:
    marks.band_sample(sheet, left, middle, SAMPLE, sheet.layout.small_size * 0.95)


def _stroke(weight: float, dash: str | None) -> Callable[[Sheet, float, float], None]:
    def draw_stroke(sheet: Sheet, left: float, middle: float) -> None:
        ends = path([(left, middle), (left + SAMPLE, middle)])
        sheet.draw("path", d=ends, fill="none", stroke=INK, stroke_width=weight, stroke_dasharray=dash)

    return draw_stroke


def _hatched(sheet: Sheet, left: float, middle: float) -> None:
    tall = sheet.layout.small_size * 0.9
    strokes = "".join(
        path([(left + shift, middle + tall / 2), (left + shift + tall, middle - tall / 2)])
        for shift in (0.0, 5.0, 10.0, SAMPLE - tall)
    )
    sheet.draw("path", d=strokes, fill="none", stroke=INK, stroke_width=0.6)
    top = middle - tall / 2
    sheet.draw("rect", x=left, y=top, width=SAMPLE, height=tall, fill="none", stroke=EDGE, stroke_width=0.7)


def _mark(state: MarkState, radius: float) -> Callable[[Sheet, float, float], None]:
    def draw_mark(sheet: Sheet, left: float, middle: float) -> None:
        marks.weighing(sheet, state, left + radius, middle, radius)

    return draw_mark


def _notes(
    chart: GrowthChart,
    weights: Axis,
    stages: Sequence[PlacedStage],
    milestones: Sequence[MilestoneMark],
    room: float,
    size: float,
) -> list[Note]:
    def note(words: str, sign: str = "", *, ringed: bool = False) -> Note:
        return Note(sign, ringed, broken(printable(words), room, size))

    notes = [
        note(f"day {day(finding.age_days)}: {finding.text}", str(sign), ringed=True)
        for sign, finding in enumerate(chart.findings, start=1)
    ]
    notes += [
        note(f"{one.stage.name}, {days(one.stage.from_day, one.stage.to_day)}", one.letter)
        for one in stages
        if one.letter
    ]
    if milestones:
        told = "; ".join(f"{one.name} {day(one.day)}" for one in milestones)
        notes.append(note(f"First seen, in days: {told}", "▾"))
    if weights.low > 0:
        notes.append(note(f"The weight axis begins at {amount(weights.low)} g, not at 0."))
    return notes
