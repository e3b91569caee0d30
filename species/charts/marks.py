"""The shapes that stand for things, the same in the plot and in the legend."""

from __future__ import annotations

from species.charts.data import MarkState
from species.charts.lettering import ASCENT, DESCENT, printable
from species.charts.paper import EDGE, INK, INNER_BAND, OUTER_BAND, PAPER, Box, Sheet, around
from species.charts.svg import Attribute, element, escaped, path

MEDIAN_DASH = "7 3 1.5 3"
FORECAST_DASH = "6 4"
QUARTILE_DASH = "1.5 2.5"


def weighing(sheet: Sheet, state: MarkState, x: float, y: float, radius: float) -> None:
    """Filled where it stands, open where it is questioned, a cross where it was rejected."""
    if state is MarkState.REJECTED:
        arm = radius * 0.9
        data = path([(x - arm, y - arm), (x + arm, y + arm)]) + path([(x - arm, y + arm), (x + arm, y - arm)])
        sheet.draw("path", d=data, fill="none", stroke=PAPER, stroke_width=3.4)
        sheet.draw("path", d=data, fill="none", stroke=INK, stroke_width=1.5)
    elif state is MarkState.QUESTIONED:
        sheet.draw("circle", cx=x, cy=y, r=radius, fill=PAPER, stroke=INK, stroke_width=1.5)
    else:
        # The rim keeps a mark apart from its neighbours and from the bird's own line under it.
        sheet.draw("circle", cx=x, cy=y, r=radius, fill=INK, stroke=PAPER, stroke_width=0.9)


def off_scale(sheet: Sheet, x: float, y: float, radius: float, *, above: bool) -> None:
    """An open arrowhead at the edge of the plot, towards a weighing that lies beyond it."""
    back = y + (1.8 if above else -1.8) * radius
    corners = [(x, y), (x - radius, back), (x + radius, back)]
    sheet.draw("path", d=path(corners, closed=True), fill=PAPER, stroke=INK, stroke_width=1.4)


def numbered(sheet: Sheet, sign: str, x: float, y: float, size: float, *, code: str = "", text: str = "") -> None:
    """A finding's number in a ring; its code for programs, its text for a pointer that rests on it."""
    told = [element("title", {}, escaped(printable(text)))] if text else []
    ring: dict[str, Attribute] = {"data_finding": printable(code) or None, "cx": x, "cy": y, "r": ring_radius(size)}
    sheet.draw("circle", *told, **ring, fill=PAPER, stroke=INK, stroke_width=1.4)
    sheet.write(sign, x, y + (ASCENT - DESCENT) / 2 * size * 0.92, size * 0.92, "middle", bold=True)
    sheet.taken.append(ring_box(x, y, size))


def ring_radius(size: float) -> float:
    """Of a finding's ring: room for two digits."""
    return size * 0.82


def ring_box(x: float, y: float, size: float) -> Box:
    """The place a finding's ring takes."""
    return around(x, y, ring_radius(size) + 1.0)


def hatching(name: str) -> str:
    """Definition of the slanting lines that stand for an interval, over any tone of grey."""
    stripe = element("path", {"d": "M0 6L6 0M-1 1L1 -1M5 7L7 5", "stroke": INK, "stroke_width": 0.6})
    pattern: dict[str, Attribute] = {"id": name, "width": 6.0, "height": 6.0, "patternUnits": "userSpaceOnUse"}
    return element("pattern", pattern, stripe)


def band_sample(sheet: Sheet, left: float, middle: float, long: float, high: float) -> None:
    """A piece of the population bands for the legend."""
    rows = ((OUTER_BAND, high), (INNER_BAND, high * 0.5))
    for tone, tall in rows:
        sheet.draw("rect", x=left, y=middle - tall / 2, width=long, height=tall, fill=tone)
    for y in (middle - high / 2, middle + high / 2):
        sheet.draw("path", d=path([(left, y), (left + long, y)]), stroke=EDGE, stroke_width=0.9, fill="none")
    ends = [(left, middle), (left + long, middle)]
    sheet.draw("path", d=path(ends), fill="none", stroke=INK, stroke_width=1.1, stroke_dasharray=MEDIAN_DASH)
