"""The sheet: its sizes, its greys, what was drawn on it, and which places are taken by words already."""

from __future__ import annotations

from dataclasses import dataclass, field

from species.charts.lettering import ASCENT, DESCENT, printable, width
from species.charts.svg import Attribute, element, escaped

INK = "#1a1a1a"
SOFT_INK = "#4d4d4d"
EDGE = "#767676"
INNER_BAND = "#cccccc"
OUTER_BAND = "#e9e9e9"
GRID = "#bdbdbd"
PAPER = "#ffffff"


@dataclass(frozen=True, slots=True)
class Layout:
    """Sizes of a sheet in its own unit. The page grows taller than ``height`` only where the legend needs it."""

    width: float
    height: float
    least_plot_height: float
    margin: float
    title_size: float
    text_size: float
    small_size: float
    most_x_ticks: int
    most_y_ticks: int
    milestone_rows: int
    point_labels: int
    band_labels: tuple[str, ...]
    legend_columns: int
    mark_radius: float
    line_width: float


#: A5 landscape, four units to the millimetre: small print is 2.9 mm high.
FULL = Layout(
    width=840.0,
    height=592.0,
    least_plot_height=236.0,
    margin=20.0,
    title_size=21.0,
    text_size=13.5,
    small_size=12.0,
    most_x_ticks=14,
    most_y_ticks=11,
    milestone_rows=3,
    point_labels=32,
    band_labels=("97", "85", "50", "15", "3"),
    legend_columns=2,
    mark_radius=4.2,
    line_width=2.8,
)
#: The width of a small phone, one unit to its pixel.
COMPACT = Layout(
    width=360.0,
    height=254.0,
    least_plot_height=200.0,
    margin=8.0,
    title_size=15.0,
    text_size=12.0,
    small_size=11.0,
    most_x_ticks=7,
    most_y_ticks=6,
    milestone_rows=0,
    point_labels=1,
    band_labels=("97", "50", "3"),
    legend_columns=1,
    mark_radius=3.4,
    line_width=2.2,
)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet; y runs down."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether the two share any area."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def within(self, other: Box) -> bool:
        """Whether this one lies wholly in the other."""
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.top <= self.top
            and self.bottom <= other.bottom
        )

    def grown(self, by: float) -> Box:
        """The same rectangle with a rim around it."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def around(x: float, y: float, radius: float) -> Box:
    """The square about a mark."""
    return Box(x - radius, y - radius, x + radius, y + radius)


def text_box(words: str, x: float, y: float, size: float, anchor: str = "start", *, bold: bool = False) -> Box:
    """The rectangle that a line of words takes from its base line."""
    long = width(words, size, bold=bold)
    left = x - {"start": 0.0, "middle": long / 2, "end": long}[anchor]
    return Box(left, y - ASCENT * size, left + long, y + DESCENT * size)


@dataclass
class Sheet:
    """Collects elements in drawing order, and the places that words and numbered marks have taken."""

    layout: Layout
    elements: list[str] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)

    def draw(self, name: str, *inner: str, **attributes: Attribute) -> None:
        """Add an element."""
        self.elements.append(element(name, attributes, *inner))

    def is_free(self, box: Box, rim: float = 1.0) -> bool:
        """Whether nothing was written there."""
        return not any(box.grown(rim).meets(other) for other in self.taken)

    def write(
        self,
        words: str,
        x: float,
        y: float,
        size: float,
        anchor: str = "start",
        *,
        bold: bool = False,
        halo: bool = False,
        ink: str = INK,
    ) -> None:
        """Write one line from its base line and take its place; a halo keeps it readable over lines."""
        words = printable(words)
        if not words:
            return
        self.taken.append(text_box(words, x, y, size, anchor, bold=bold))
        attributes: dict[str, Attribute] = {
            "x": x,
            "y": y,
            "font_size": size,
            "text_anchor": None if anchor == "start" else anchor,
            "font_weight": "bold" if bold else None,
            "fill": ink,
        }
        if halo:
            # Drawn twice instead of paint-order, which not every renderer of SVG knows.
            under: dict[str, Attribute] = {"stroke": PAPER, "stroke_width": 3.0, "stroke_linejoin": "round"}
            self.elements.append(element("text", attributes | under | {"aria_hidden": "true"}, escaped(words)))
        self.elements.append(element("text", attributes, escaped(words)))
