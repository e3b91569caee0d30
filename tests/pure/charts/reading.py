"""Reads a chart as any SVG reader would; nothing of ours is imported here.

Widths are those of Liberation Sans 2.1 (table hmtx), which has the metrics of Arial and Helvetica: the fonts a chart
asks for first. Thousandths of the size.
"""

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

SVG = "{http://www.w3.org/2000/svg}"
_BY_WIDTH = {
    191: "'", 222: "ijl", 260: "|", 278: " !,./:;I[\\]ft·", 333: "()-`r", 334: "{}", 355: '"', 389: "*", 469: "^",
    500: "Jcksvxyz", 556: "#$0123456789?L_abdeghnopqu–", 584: "+<=>~×", 611: "FTZß", 667: "&ABEKPSVXY",
    722: "CDHNRUw", 778: "GOQ", 833: "Mm", 889: "%æ", 944: "W", 1000: "…→", 1015: "@",
}  # fmt: skip
WIDTHS = {character: width for width, characters in _BY_WIDTH.items() for character in characters}


@dataclass(frozen=True)
class Written:
    """A line of words and the box it fills, by the letters' own heights (cap height 0.73, descent 0.21)."""

    words: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other):
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


def parsed(svg):
    return ET.fromstring(svg)


def view_box(root):
    return [float(part) for part in root.get("viewBox").split()]


def texts(root):
    """Every visible line, a halo being the same line once more."""
    return [_written(node) for node in root.iter(f"{SVG}text") if node.get("aria-hidden") is None]


def _written(node):
    words, size = node.text, float(node.get("font-size"))
    bold = 1.08 if node.get("font-weight") == "bold" else 1.0
    long = sum(WIDTHS.get(letter, 1000) for letter in words) / 1000 * size * bold
    x, y = float(node.get("x")), float(node.get("y"))
    left = x - {None: 0.0, "middle": long / 2, "end": long}[node.get("text-anchor")]
    if node.get("transform") is None:
        return Written(words, left, y - 0.73 * size, left + long, y + 0.21 * size)
    assert node.get("transform").startswith("rotate(-90 ")
    # Turned about its own anchor: what ran to the right runs up.
    return Written(words, x - 0.73 * size, y - (left + long - x), x + 0.21 * size, y + (x - left))


def circles(root):
    return [
        (float(node.get("cx")), float(node.get("cy")), node.get("fill"), node.get("data-finding"))
        for node in root.iter(f"{SVG}circle")
    ]


def of_class(root, name):
    found = [node for node in root.iter(f"{SVG}path") if node.get("class") == name]
    assert len(found) == 1, name
    return corners(found[0].get("d"))


def corners(data):
    """Places along a path that has straight pieces only."""
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", data)]


def colours(svg):
    return set(re.findall(r"#[0-9a-fA-F]{3,8}\b(?![-\w])", svg.replace("url(#", "url(")))
