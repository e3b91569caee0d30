"""How wide words are, and how they are broken, cut and made fit to print.

A chart does not know the reader's fonts. A letter is given the width it has in the widest of the fonts asked for, so
that what fits here fits in every one; that is what makes it possible to promise that no label lies on another.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

FAMILY = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
ASCENT = 0.78
DESCENT = 0.24
BOLD = 1.27
"""How much wider a bold letter is at most, in both fonts."""

#: Advance widths in thousandths of the size, the wider of DejaVu Sans 2.37 and Liberation Sans 2.1 (table hmtx); the
#: second has the metrics of Arial and Helvetica.
_WIDTHS = {
    275: "'", 278: "ijl", 295: "I", 318: " ,.·", 337: "/:;\\|", 352: "f", 361: "-", 390: "()[]", 392: "t", 401: "!",
    411: "r", 460: '"', 500: "*J`", 521: "s", 525: "z", 550: "c", 556: "?_–", 557: "L", 579: "k", 592: "vxy",
    611: "FT", 612: "o", 613: "a", 615: "e", 630: "ß", 634: "hnu", 635: "bdgpq", 636: "$0123456789{}", 667: "EKPSY",
    684: "AV", 685: "XZ", 686: "B", 722: "CR", 732: "U", 748: "N", 752: "H", 770: "D", 778: "G", 780: "&", 787: "OQ",
    818: "w", 838: "#+<=>^~×", 863: "M", 950: "%", 974: "m", 982: "æ", 989: "W", 1000: "…→", 1015: "@",
    1025: "\ufffd",
}  # fmt: skip
_WIDTH = {character: width for width, characters in _WIDTHS.items() for character in characters}
#: Letters of no table: wider than nearly all of them are.
_UNKNOWN = 1100
#: What XML 1.0 cannot hold, and what would turn the direction of the words around it.
_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufffe\uffff]"
)


def printable(words: str) -> str:
    """The words on one line; what cannot be printed is shown as a replacement character, not dropped."""
    return " ".join(_UNPRINTABLE.sub("\ufffd", words).split())


def width(words: str, size: float, *, bold: bool = False) -> float:
    """Width of a line at a size, in the unit of the size, never less than a reader's font makes it."""
    thousandths = 0
    for character in words:
        for part in unicodedata.normalize("NFD", character):
            thousandths += 0 if unicodedata.combining(part) else _WIDTH.get(part, _UNKNOWN)
    return thousandths / 1000.0 * size * (BOLD if bold else 1.0)


def cut(words: str, room: float, size: float, *, bold: bool = False) -> str:
    """The words, or as many of their letters as fit before an ellipsis; empty where not even one does."""
    if width(words, size, bold=bold) <= room:
        return words
    for length in range(min(len(words), int(room / size * 4) + 1), 0, -1):
        shorter = words[:length].rstrip() + "…"
        if width(shorter, size, bold=bold) <= room:
            return shorter
    return ""


def broken(words: str, room: float, size: float, *, most: int | None = None, bold: bool = False) -> list[str]:
    """Lines no wider than ``room``; beyond ``most`` lines the last one is cut. A word wider than a line is cut too."""
    lines: list[str] = []
    for word in words.split():
        joined = f"{lines[-1]} {word}" if lines else word
        fits = bool(lines) and width(joined, size, bold=bold) <= room
        if fits or len(lines) == most:
            lines[-1] = joined
        else:
            lines.append(word)
    return [cut(line, room, size, bold=bold) for line in lines]


def amount(value: float) -> str:
    """A number without needless digits: three significant ones, more where they stand before the point."""
    if abs(value) >= 100:
        return f"{value:.0f}"
    return f"{value:.3g}"


def day(age_days: float) -> str:
    """An age to a tenth of a day, without a needless nought."""
    text = f"{age_days:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def days(low: float, high: float | None) -> str:
    """``day 4``, ``days 4–6`` or ``from day 4``."""
    if high is None:
        return f"from day {day(low)}"
    return f"day {day(low)}" if low == high else f"days {day(low)}–{day(high)}"


def listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)
