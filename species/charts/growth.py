"""Growth charts: weight in grams against days since hatching, as SVG text."""

from __future__ import annotations

import hashlib

from species.charts import legend, marks, strips
from species.charts.data import CurveChart, GrowthChart
from species.charts.description import describe
from species.charts.drawable import check_drawable
from species.charts.extent import Axis, age_axis, weight_axis
from species.charts.lettering import ASCENT, DESCENT, FAMILY, broken, printable
from species.charts.paper import COMPACT, FULL, INK, PAPER, SOFT_INK, Sheet
from species.charts.plot import (
    Plot,
    draw_bird,
    draw_findings,
    draw_grid,
    draw_population,
    label_bands,
    label_weighings,
    widest,
)
from species.charts.scale import Scale
from species.charts.svg import Attribute, element, escaped, number


def curve_chart(data: CurveChart, *, compact: bool = False) -> str:
    """Draw the growth of a species without a bird; see :func:`growth_chart`."""
    return growth_chart(data.without_bird(), compact=compact)


def growth_chart(data: GrowthChart, *, compact: bool = False) -> str:
    """Draw a bird's growth among its species.

    Parameters
    ----------
    data
        What to draw; ages in days since hatching, masses in g.
    compact
        For a phone: 360 units wide, fewer labels, more of the words in the legend. Otherwise A5 landscape.

    Returns
    -------
    str
        One ``svg`` element with a view box and no size of its own; the same bytes for the same data.

    Raises
    ------
    DomainError
        On values that have no place on paper, see :func:`species.charts.drawable.check_drawable`.

    Notes
    -----
    The page has the proportions of A5 and grows taller only where the legend needs more than the plot can spare.
    """
    check_drawable(data)
    layout = COMPACT if compact else FULL
    sheet = Sheet(layout)
    days, weights = age_axis(data, layout), weight_axis(data, layout)
    small, size = layout.small_size, layout.text_size
    left = layout.margin + strips.ROW * small + widest(weights.labels, size) + 6
    beyond = 12 + widest(layout.band_labels, small) if data.bands is not None else 0.0
    right = layout.width - max(layout.margin + beyond, widest(days.labels, size) / 2 + 2)
    x = Scale(days.low, days.high, left, right)

    below_heading = _draw_heading(sheet, data)
    named, unnamed = strips.place_milestones(data.milestones, x, layout)
    rows = max((one.row + 1 for one in named), default=0)
    plot_top = below_heading + rows * strips.ROW * small + (9 if data.milestones else 6)

    stages = strips.place_stages(data.stages, x, layout)
    words = legend.compose(data, weights, stages, unnamed, layout)
    # Drawn once for its height, because the plot takes what is left of the page.
    foot = _draw_foot(Sheet(layout), data, days, x, stages, words, 0.0) + layout.margin
    plot_bottom = max(layout.height - foot, plot_top + layout.least_plot_height)
    height = plot_bottom + foot

    y = Scale(weights.low, weights.high, plot_bottom, plot_top)
    plot = Plot(sheet, x, y, _name(data, x, y))
    if data.bands is not None:
        draw_population(plot, data.bands)
    draw_grid(plot, days, weights)
    _draw_weights(plot, weights)
    strips.draw_milestones(sheet, named, [x(one.day) for one in unnamed if x.holds(one.day)], plot_top)
    _draw_foot(sheet, data, days, x, stages, words, plot_bottom)

    draw_bird(plot, data)
    if data.bands is not None:
        label_bands(plot, data.bands)
    draw_findings(plot, data.findings)
    label_weighings(plot, data.points)
    return _page(plot, data, height)


def _name(data: GrowthChart, *places: object) -> str:
    """Beginning of the ids, from all that they lead to: charts on one page share an id only for the same thing."""
    told = f"{_title(data)}\n{describe(data)}\n{places}"
    return f"c{hashlib.sha256(told.encode()).hexdigest()[:10]}"


def _title(data: GrowthChart) -> str:
    return " – ".join(part for part in (printable(data.title), printable(data.subtitle)) if part)


def _draw_heading(sheet: Sheet, data: GrowthChart) -> float:
    layout = sheet.layout
    room, base = layout.width - 2 * layout.margin, layout.margin
    for words, size, bold, ink in (
        (data.title, layout.title_size, True, INK),
        (data.subtitle, layout.text_size, False, SOFT_INK),
    ):
        for line in broken(printable(words), room, size, most=2, bold=bold):
            sheet.write(line, layout.margin, base + ASCENT * size, size, bold=bold, ink=ink)
            base += 1.25 * size
    return base


def _draw_foot(
    sheet: Sheet,
    data: GrowthChart,
    days: Axis,
    x: Scale,
    stages: list[strips.PlacedStage],
    words: legend.Legend,
    top: float,
) -> float:
    below = strips.draw_days(sheet, days, x, top, data.hatched_on)
    below = strips.draw_stages(sheet, stages, below)
    below = strips.draw_ranges(sheet, data, x, below) + 4
    legend.draw(sheet, words, below)
    return below + words.height


def _draw_weights(plot: Plot, weights: Axis) -> None:
    sheet, size = plot.sheet, plot.sheet.layout.text_size
    for mass, label in zip(weights.ticks, weights.labels, strict=True):
        sheet.write(label, plot.x.start - 6, plot.y(mass) + (ASCENT - DESCENT) / 2 * size, size, "end")
    small = sheet.layout.small_size
    x, y = sheet.layout.margin + ASCENT * small, (plot.y.start + plot.y.end) / 2
    turned = f"rotate(-90 {number(x)} {number(y)})"
    sheet.draw("text", "weight in g", x=x, y=y, font_size=small, text_anchor="middle", fill=INK, transform=turned)


def _page(plot: Plot, data: GrowthChart, height: float) -> str:
    layout, frame = plot.sheet.layout, plot.frame
    window: dict[str, Attribute] = {
        "x": frame.left,
        "y": frame.top,
        "width": frame.right - frame.left,
        "height": frame.bottom - frame.top,
    }
    definitions = element(
        "defs",
        {},
        marks.hatching(f"{plot.name}-hatch"),
        element("clipPath", {"id": f"{plot.name}-plot"}, element("rect", window)),
    )
    sheet: dict[str, Attribute] = {"x": 0.0, "y": 0.0, "width": layout.width, "height": height, "fill": PAPER}
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {number(layout.width)} {number(height)}",
            "role": "img",
            "aria_labelledby": f"{plot.name}-title {plot.name}-desc",
            "font_family": FAMILY,
        },
        element("title", {"id": f"{plot.name}-title"}, escaped(_title(data))),
        element("desc", {"id": f"{plot.name}-desc"}, escaped(describe(data))),
        definitions,
        element("rect", sheet),
        *plot.sheet.elements,
    )
