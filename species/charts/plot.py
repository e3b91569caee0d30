"""What lies inside the axes: grid, population, the bird's own line and forecast, weighings, findings, labels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from species.charts import marks
from species.charts.data import Bands, FindingMark, GrowthChart, Line, Point
from species.charts.extent import HELD, Axis
from species.charts.lettering import ASCENT, DESCENT, amount, cut, printable, width
from species.charts.paper import EDGE, GRID, INK, INNER_BAND, OUTER_BAND, PAPER, Box, Sheet, around, text_box
from species.charts.scale import Scale
from species.charts.svg import Attribute, between, path

LEADER = 0.9
#: Where there are more weighings to a label than this, most labels are left out: nobody could tell whose they are.
CROWD = 3
#: Bands that end a little before the plot does are led to its edge, where no weighing lies under their numbers.
MOST_LEAD = 0.2
_ANGLES = [math.radians(degrees) for degrees in (-90, -60, -120, -30, -150, 0, 180, 60, 120, 90, 30, 150)]


@dataclass
class Plot:
    """The sheet between the axes. ``crowd`` holds the places of marks and lines, which labels keep clear of."""

    sheet: Sheet
    x: Scale
    y: Scale
    name: str
    crowd: list[Box] = field(default_factory=list)

    @property
    def frame(self) -> Box:
        """The rectangle between the axes."""
        return Box(self.x.start, self.y.end, self.x.end, self.y.start)

    def at(self, age_days: float, mass_g: float) -> tuple[float, float]:
        """Place of a mass at an age, held to the edge of the plot where it lies beyond."""
        return self.x(age_days), min(max(self.y(mass_g), self.y.end), self.y.start)

    def corners(self, ages: Sequence[float], masses: Sequence[float]) -> list[tuple[float, float]]:
        """Places of a line."""
        return [(self.x(age), self.y(mass)) for age, mass in zip(ages, masses, strict=True)]


def draw_population(plot: Plot, bands: Bands) -> None:
    """Two tones of grey from the widest band inwards, their edges, and the middle as dashes."""
    xs = [plot.x(day) for day in bands.days]
    for low, high, tone, name in (
        (bands.c3_g, bands.c97_g, OUTER_BAND, "band-3-97"),
        (bands.c15_g, bands.c85_g, INNER_BAND, "band-15-85"),
    ):
        data = between(xs, [plot.y(mass) for mass in low], [plot.y(mass) for mass in high])
        plot.sheet.draw("path", class_=name, d=data, fill=tone)
    for column, dash, weight, ink, name in (
        (bands.c3_g, None, 0.9, EDGE, "c3"),
        (bands.c15_g, marks.QUARTILE_DASH, 0.9, EDGE, "c15"),
        (bands.c50_g, marks.MEDIAN_DASH, 1.1, INK, "c50"),
        (bands.c85_g, marks.QUARTILE_DASH, 0.9, EDGE, "c85"),
        (bands.c97_g, None, 0.9, EDGE, "c97"),
    ):
        data = path(plot.corners(bands.days, column))
        attributes: dict[str, Attribute] = {"stroke": ink, "stroke_width": weight, "stroke_dasharray": dash}
        plot.sheet.draw("path", class_=name, d=data, fill="none", **attributes)


def draw_grid(plot: Plot, x_axis: Axis, y_axis: Axis) -> None:
    """Faint lines at the ticks, over the bands so that a mass can be read off inside them too."""
    frame = plot.frame
    across = [path([(frame.left, plot.y(mass)), (frame.right, plot.y(mass))]) for mass in y_axis.ticks]
    along = [path([(plot.x(day), frame.top), (plot.x(day), frame.bottom)]) for day in x_axis.ticks]
    plot.sheet.draw("path", d="".join([*across, *along]), fill="none", stroke=GRID, stroke_width=0.6)
    axes = path([(frame.left, frame.top), (frame.left, frame.bottom), (frame.right, frame.bottom)])
    plot.sheet.draw("path", d=axes, fill="none", stroke=INK, stroke_width=1.2)


def draw_bird(plot: Plot, chart: GrowthChart) -> None:
    """The bird's lines and weighings; the doubtful ones on top, where they are few among many.

    Marks lie on the line as long as they are larger than it is wide; dots that would cover it lie under it, and it
    gets thinner, with a pale rim.
    """
    held = [point for point in chart.points if point.state in HELD]
    doubtful = [point for point in chart.points if point.state not in HELD]
    crowded = mark_radius(plot, held) < plot.sheet.layout.line_width
    if crowded:
        draw_weighings(plot, held)
    draw_lines(plot, chart, cased=crowded)
    if not crowded:
        draw_weighings(plot, held)
    draw_weighings(plot, doubtful)


def draw_lines(plot: Plot, chart: GrowthChart, *, cased: bool) -> None:
    """The bird's own line, heavier than anything else, and its forecast in dashes; both with their intervals."""
    weight = plot.sheet.layout.line_width * (0.6 if cased else 1.0)
    for line, dash, name in ((chart.own_line, None, "own"), (chart.forecast, marks.FORECAST_DASH, "forecast")):
        if line is not None:
            _draw_interval(plot, line, name)
            data = path(plot.corners(line.ages_days, line.mass_g))
            if cased:
                plot.sheet.draw("path", d=data, fill="none", stroke=PAPER, stroke_width=weight + 1.6)
            attributes: dict[str, Attribute] = {"stroke_width": weight, "stroke_dasharray": dash}
            plot.sheet.draw("path", class_=name, d=data, fill="none", stroke=INK, stroke_linejoin="round", **attributes)
            plot.crowd += _along(plot, line, weight)


def _draw_interval(plot: Plot, line: Line, name: str) -> None:
    if not line.low_g:
        return
    xs = [plot.x(age) for age in line.ages_days]
    data = between(xs, [plot.y(mass) for mass in line.low_g], [plot.y(mass) for mass in line.high_g])
    cut_to = f"url(#{plot.name}-plot)"
    plot.sheet.draw(
        "path",
        class_=f"{name}-interval",
        d=data,
        fill=f"url(#{plot.name}-hatch)",
        stroke=INK,
        stroke_width=0.7,
        clip_path=cut_to,
    )


def _along(plot: Plot, line: Line, weight: float) -> Iterator[Box]:
    """Small boxes along a line, close enough that no label slips between them."""
    for (x1, y1), (x2, y2) in pairwise(plot.corners(line.ages_days, line.mass_g)):
        steps = max(1, math.ceil(math.hypot(x2 - x1, y2 - y1) / 6.0))
        for step in range(steps + 1):
            yield around(x1 + (x2 - x1) * step / steps, y1 + (y2 - y1) * step / steps, weight / 2)


def label_bands(plot: Plot, bands: Bands) -> None:
    """The centile's number at the right end of its line; a stroke leads to it where lines end too close together."""
    layout = plot.sheet.layout
    size, tall = layout.small_size, layout.small_size * (ASCENT + DESCENT)
    columns = {"97": bands.c97_g, "85": bands.c85_g, "50": bands.c50_g, "15": bands.c15_g, "3": bands.c3_g}
    for wanted in (layout.band_labels, ("97", "50", "3")):
        ends = [plot.y(columns[label][-1]) for label in wanted]
        if all(below - above >= tall for above, below in pairwise(ends)):
            break
    places = spread(ends, tall, plot.frame.top + tall / 2, plot.frame.bottom - tall / 2)
    from_x = plot.x(bands.days[-1])
    far = plot.x.end - from_x
    to_x = plot.x.end if far <= MOST_LEAD * (plot.x.end - plot.x.start) else from_x
    for label, end, place in zip(wanted, ends, places, strict=True):
        # Nothing level comes near a number: a stroke before it would read as a minus sign.
        lead = [(from_x + 1, end), (to_x, end)] if to_x > from_x + 2 else [(to_x + 1, end)]
        if abs(place - end) > 2.0:
            lead.append((to_x + 7, place))
        if len(lead) > 1:
            plot.sheet.draw("path", d=path(lead), fill="none", stroke=EDGE, stroke_width=LEADER)
        plot.sheet.write(label, to_x + 10, place + (ASCENT - DESCENT) / 2 * size, size, halo=to_x < plot.x.end)


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places in rising order, ``gap`` apart between ``low`` and ``high``, near those wanted.

    Pushed down from the first on; half of what that took goes back up, so that a tight group stays about its own
    middle; and down once more where the group then begins above ``low``.
    """
    places = _pushed_down(wanted, gap, low)
    floor = min(high, places[-1] - (places[-1] - wanted[-1]) / 2)
    for i in range(len(places) - 1, -1, -1):
        places[i] = min(places[i], floor)
        floor = places[i] - gap
    return _pushed_down(places, gap, low)


def _pushed_down(wanted: Sequence[float], gap: float, low: float) -> list[float]:
    places: list[float] = []
    for place in wanted:
        places.append(max([place, low, *(before + gap for before in places[-1:])]))
    return places


def draw_weighings(plot: Plot, points: Sequence[Point]) -> None:
    """A mark for each weighing, smaller the more there are."""
    radius = mark_radius(plot, points)
    for point in points:
        x, y = plot.at(point.age_days, point.mass_g)
        if plot.y.holds(point.mass_g):
            marks.weighing(plot.sheet, point.state, x, y, radius)
        else:
            _draw_off_scale(plot, point, x, y)
        plot.crowd.append(around(x, y, radius))


def mark_radius(plot: Plot, points: Sequence[Point]) -> float:
    """Half of the room each weighing has, between a dot that still prints and the layout's own size."""
    most = plot.sheet.layout.mark_radius
    if not points:
        return most
    ages = [point.age_days for point in points]
    long = max(plot.x(max(ages)) - plot.x(min(ages)), (plot.x.end - plot.x.start) / 4)
    return min(most, max(most * 0.45, 0.5 * long / len(points)))


def _draw_off_scale(plot: Plot, point: Point, x: float, y: float) -> None:
    sheet, above = plot.sheet, point.mass_g > plot.y.high
    radius, size = sheet.layout.mark_radius, sheet.layout.small_size
    marks.off_scale(sheet, x, y, radius, above=above)
    words = f"{amount(point.mass_g)} g{'' if point.state in HELD else f', {point.state}'}"
    for anchor, shift in (("start", radius + 3), ("end", -radius - 3)):
        for row in range(4):
            base = y + (size + row * size * 1.15 if above else -2 - row * size * 1.15)
            box = text_box(words, x + shift, base, size, anchor)
            if box.within(plot.frame) and sheet.is_free(box):
                sheet.write(words, x + shift, base, size, anchor, halo=True)
                return


def draw_findings(plot: Plot, findings: Sequence[FindingMark]) -> None:
    """A number in a ring beside the weighing it speaks of, with a stroke to it; strokes lie under the rings."""
    sheet = plot.sheet
    size = sheet.layout.small_size
    placed: list[tuple[str, FindingMark, tuple[float, float]]] = []
    for sign, finding in enumerate(findings, start=1):
        anchor = plot.at(finding.age_days, finding.mass_g)
        place = _ring_place(plot, anchor, size)
        if place is None:
            continue  # The plot is full of rings; the legend still gives the number its day and its words.
        x, y = place
        sheet.taken.append(marks.ring_box(x, y, size))
        sheet.draw("path", d=path([anchor, place]), fill="none", stroke=INK, stroke_width=LEADER)
        placed.append((str(sign), finding, place))
    for told, finding, (x, y) in placed:
        marks.numbered(sheet, told, x, y, size, code=finding.code, text=finding.text)


def _ring_place(plot: Plot, anchor: tuple[float, float], size: float) -> tuple[float, float] | None:
    """The nearest place for a ring that is clear of words.

    If there is one, clear of marks and lines too; and its stroke clear of words, if that can be had.
    """
    for crowd, clear, most in ((plot.crowd, True, 15), ([], True, 15), ([], False, 40)):
        for reach in range(2, most):
            for angle in _ANGLES:
                x = anchor[0] + math.cos(angle) * reach * size
                y = anchor[1] + math.sin(angle) * reach * size
                box = marks.ring_box(x, y, size)
                if (
                    box.within(plot.frame)
                    and plot.sheet.is_free(box)
                    and not any(box.meets(other) for other in crowd)
                    and (not clear or _clear_way(plot, anchor, (x, y)))
                ):
                    return x, y
    return None


def _clear_way(plot: Plot, start: tuple[float, float], end: tuple[float, float]) -> bool:
    places = ((start[0] + (end[0] - start[0]) * s / 8, start[1] + (end[1] - start[1]) * s / 8) for s in range(1, 8))
    return all(plot.sheet.is_free(around(x, y, 0.5), rim=0.0) for x, y in places)


def label_weighings(plot: Plot, points: Sequence[Point]) -> None:
    """Labels of the last and first weighing, of doubtful ones, then of others evenly thinned, as far as room goes."""
    layout = plot.sheet.layout
    size, left = layout.small_size, layout.point_labels
    if len(points) > CROWD * left:
        left = math.ceil(left / 4)
    reach = mark_radius(plot, points) + 2.0
    for point in label_order(points):
        if left == 0:
            return
        words = cut(printable(point.label), (plot.x.end - plot.x.start) / 3, size)
        if not words or not plot.y.holds(point.mass_g):
            continue
        x, y = plot.at(point.age_days, point.mass_g)
        for dx, dy, anchor in _label_places(reach, size):
            box = text_box(words, x + dx, y + dy, size, anchor)
            if box.within(plot.frame) and plot.sheet.is_free(box) and not any(box.meets(other) for other in plot.crowd):
                plot.sheet.write(words, x + dx, y + dy, size, anchor, halo=True)
                left -= 1
                break


def _label_places(reach: float, size: float) -> Iterator[tuple[float, float, str]]:
    yield from ((0, -reach - size * DESCENT, "middle"), (0, reach + size * ASCENT, "middle"))
    for far in (1.0, 1.8):
        yield from (
            (-reach * far, -reach * far, "end"),
            (reach * far, reach * far + size * ASCENT * 0.7, "start"),
            (reach * far, -reach * far, "start"),
            (-reach * far, reach * far + size * ASCENT * 0.7, "end"),
        )


def label_order(points: Sequence[Point]) -> list[Point]:
    """Weighings by how much their label is worth to a reader."""
    by_age = sorted(points, key=lambda point: point.age_days)

    def worth(place: int) -> tuple[int, int, int]:
        ends = place in (0, len(by_age) - 1)
        doubtful = by_age[place].state not in HELD
        # The largest power of two in the place thins a row evenly: every 16th, then every 8th, and so on.
        return (0 if ends else 1 if doubtful else 2, -(place & -place), -place)

    return [by_age[place] for place in sorted(range(len(by_age)), key=worth)]


def widest(labels: Sequence[str], size: float) -> float:
    """Width of the widest label."""
    return max((width(label, size) for label in labels), default=0.0)
