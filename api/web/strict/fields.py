"""Fields that take a JSON value of their own type and nothing that merely looks like it.

``from_text`` is the way in for query parameters, where everything is text.
"""

import math
import re
import unicodedata
from collections.abc import Mapping
from decimal import Context, Decimal
from typing import Any
from uuid import UUID

from rapidfuzz import process
from rest_framework import serializers

_NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d{1,4})?", re.ASCII)
_INTEGER = re.compile(r"-?(0|[1-9]\d{0,17})", re.ASCII)
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII | re.IGNORECASE)
_EXACT = Context(prec=400)  # holds any double, written out
_LARGEST_INTEGER = 2**53  # beyond it, readers of JSON that use doubles lose digits (RFC 8259, section 6)


def kind_of(value: Any) -> str:
    """What a JSON value is, in words."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case int() | float():
            return "a number"
        case str():
            return "text"
        case list():
            return "a list"
        case _:
            return "an object"


def near(word: str, known: list[str], *, at_most: int = 3) -> list[str]:
    """The known words most like a misspelt one, best first."""
    found = process.extract(word.lower(), {name: name.lower() for name in known}, score_cutoff=70, limit=at_most)
    return [name for _, _, name in found]


def did_you_mean(word: str, known: list[str]) -> str:
    names = near(word, known)
    return f" Did you mean {' or '.join(names)}?" if names else ""


class _Number(serializers.Field):
    default_error_messages = {
        "wrong_type": "A number is needed, not {got}.",
        "not_a_number": "NaN, infinities and numbers beyond 1.8e308 are no numbers here.",
        "min_value": "Must be at least {min_value}.",
        "max_value": "Must be at most {max_value}.",
        "greater_than": "Must be greater than {greater_than}.",
        "less_than": "Must be less than {less_than}.",
    }

    def __init__(
        self,
        *,
        min_value: float | None = None,
        max_value: float | None = None,
        greater_than: float | None = None,
        less_than: float | None = None,
        **options: Any,
    ) -> None:
        self.min_value, self.max_value = min_value, max_value
        self.greater_than, self.less_than = greater_than, less_than
        super().__init__(**options)

    def within(self, value: float) -> Any:
        if self.min_value is not None and value < self.min_value:
            self.fail("min_value", min_value=self.min_value)
        if self.max_value is not None and value > self.max_value:
            self.fail("max_value", max_value=self.max_value)
        if self.greater_than is not None and value <= self.greater_than:
            self.fail("greater_than", greater_than=self.greater_than)
        if self.less_than is not None and value >= self.less_than:
            self.fail("less_than", less_than=self.less_than)
        return value

    def to_representation(self, value: Any) -> Any:
        return value


class StrictFloatField(_Number):
    """A JSON number, finite; ``true`` and ``"1.5"`` are none."""

    def to_internal_value(self, data: Any) -> float:
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("wrong_type", got=kind_of(data))
        try:
            value = float(data)
        except OverflowError:
            self.fail("not_a_number")
        if not math.isfinite(value):
            self.fail("not_a_number")
        return float(self.within(value))

    def from_text(self, text: str) -> Any:
        return float(text) if _NUMBER.fullmatch(text) else text


class StrictDecimalField(StrictFloatField):
    """A JSON number with at most so many decimals; comes out as a decimal, which a column keeps as it is.

    What would have to be rounded is refused: the number told back would not be the one that was sent.
    """

    default_error_messages = {"too_precise": "At most {places} decimals are kept; round it as the instrument shows it."}

    def __init__(self, *, places: int, max_value: float, **options: Any) -> None:
        self.places = places
        super().__init__(max_value=max_value, **options)

    def to_internal_value(self, data: Any) -> Decimal:  # type: ignore[override]
        # By its shortest spelling, which is the one that was sent.
        value = Decimal(repr(super().to_internal_value(data)))
        kept = value.quantize(Decimal(1).scaleb(-self.places), context=_EXACT)
        if kept != value:
            self.fail("too_precise", places=self.places)
        return kept

    def to_representation(self, value: Any) -> Any:
        return None if value is None else float(value)


class StrictIntegerField(_Number):
    """A whole JSON number; 3.0 is one, 3.5 is none."""

    default_error_messages = {
        "wrong_type": "A whole number is needed, not {got}.",
        "too_large": "Beyond 2^53 a JSON number loses digits.",
    }

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("wrong_type", got=kind_of(data))
        if isinstance(data, float) and not math.isfinite(data):
            self.fail("not_a_number")
        if data != int(data):
            self.fail("wrong_type", got="a broken one")
        if abs(data) > _LARGEST_INTEGER:
            self.fail("too_large")
        return int(self.within(int(data)))

    def from_text(self, text: str) -> Any:
        return int(text) if _INTEGER.fullmatch(text) else text


class StrictBooleanField(serializers.Field):
    """``true`` or ``false``; neither 1 nor "yes"."""

    default_error_messages = {"wrong_type": "true or false is needed, not {got}."}

    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            self.fail("wrong_type", got=kind_of(data))
        return bool(data)

    def to_representation(self, value: Any) -> Any:
        return value

    def from_text(self, text: str) -> Any:
        return {"true": True, "false": False}.get(text, text)


class StrictCharField(serializers.CharField):
    """Text without control characters; a number is no text. ``multiline`` lets line feeds and tabs in."""

    default_error_messages = {
        "wrong_type": "Text is needed, not {got}.",
        "control_character": "The text holds a control character (U+{code:04X}); leave it out.",
        "blank": "The text is empty; write something or leave the field out.",
        "max_length": "The text is longer than {max_length} characters.",
        "min_length": "The text is shorter than {min_length} characters.",
    }

    def __init__(self, *, multiline: bool = False, max_length: int = 200, **options: Any) -> None:
        self.multiline = multiline
        super().__init__(max_length=max_length, **options)
        # Control characters are refused below, under one code.
        self.validators = [
            validator for validator in self.validators if type(validator).__name__ != "ProhibitNullCharactersValidator"
        ]

    def run_validation(self, data: Any = serializers.empty) -> Any:  # type: ignore[attr-defined]
        if data is not serializers.empty and data is not None and not isinstance(data, str):  # type: ignore[attr-defined]
            self.fail("wrong_type", got=kind_of(data))
        return super().run_validation(data)

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("wrong_type", got=kind_of(data))
        for character in data:
            harmless = self.multiline and character in "\n\t"
            if unicodedata.category(character) in ("Cc", "Cs") and not harmless:
                self.fail("control_character", code=ord(character))
        return data.strip() if self.trim_whitespace else data


class StrictChoiceField(serializers.ChoiceField):
    """One of the listed words."""

    default_error_messages = {
        "wrong_type": "One of the listed words is needed, not {got}.",
        "invalid_choice": "{input} is none of the words here.{hint} They are: {known}.",
    }

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, str):
            self.fail("wrong_type", got=kind_of(data))
        if data not in self.choices:
            known = [str(choice) for choice in self.choices]
            shown = data if len(data) <= 60 else f"{data[:60]}..."
            self.fail("invalid_choice", input=shown, hint=did_you_mean(data, known), known=", ".join(known))
        return data


class StrictUuidField(serializers.Field):
    """A UUID in the spelling of RFC 9562, section 4, with its hyphens; comes out as one."""

    default_error_messages = {
        "wrong_type": "Text is needed, not {got}.",
        "malformed": "A UUID is written like 0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e17.",
    }

    def to_internal_value(self, data: Any) -> UUID:
        if not isinstance(data, str):
            self.fail("wrong_type", got=kind_of(data))
        if not _UUID.fullmatch(data):
            self.fail("malformed")
        return UUID(data)

    def to_representation(self, value: Any) -> str:
        return str(value)


class StrictListField(serializers.ListField):
    """A list of at most ``max_length`` values."""

    default_error_messages = {
        "not_a_list": "A list is needed, not {input_type}.",
        "max_length": "At most {max_length} items are taken here.",
        "min_length": "At least {min_length} items are needed.",
        "empty": "At least one item is needed.",
    }

    def __init__(self, *, max_length: int = 400, **options: Any) -> None:
        super().__init__(max_length=max_length, **options)

    def to_internal_value(self, data: Any) -> list[Any]:
        if isinstance(data, str | Mapping) or not isinstance(data, list):
            self.fail("not_a_list", input_type=kind_of(data))
        # Counted before the items are looked at: a list too long is not worth the work.
        if len(data) > (self.max_length or len(data)):
            self.fail("max_length", max_length=self.max_length)
        return list(super().to_internal_value(data))
