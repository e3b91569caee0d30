"""The few elements a chart is made of, written by hand: attributes in a fixed order, two decimals, text escaped."""

from __future__ import annotations

import html
from collections.abc import Iterable, Mapping, Sequence

Attribute = str | float | None


def element(name: str, attributes: Mapping[str, Attribute], *inner: str) -> str:
    """An element. A trailing underscore of an attribute's name is dropped, an inner one becomes a hyphen."""
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_written(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{told}>{''.join(inner)}</{name}>" if inner else f"<{name}{told}/>"


def escaped(words: str) -> str:
    """Words as character data."""
    return html.escape(words, quote=False)


def number(value: float) -> str:
    """Two decimals at most, no exponent, no negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path(corners: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """Data of a path through the corners."""
    steps = "L".join(f"{number(x)} {number(y)}" for x, y in corners)
    return f"M{steps}{'Z' if closed else ''}"


def between(xs: Sequence[float], lower: Sequence[float], upper: Sequence[float]) -> str:
    """Data of the area between two lines over the same places."""
    there = list(zip(xs, upper, strict=True))
    back = list(zip(xs, lower, strict=True))[::-1]
    return path([*there, *back], closed=True)


def _written(value: str | float) -> str:
    return html.escape(value) if isinstance(value, str) else number(value)
