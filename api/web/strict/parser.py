"""JSON read without goodwill: what a careless reader would let pass is refused, with the place it stands at."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework.parsers import BaseParser

from api.web.problem import Fault, Problem, escape

MAX_DEPTH = 20
_SURROGATE = re.compile("[\ud800-\udfff]")


class _Repeated(dict[str, Any]):
    """An object in which names stood twice; the walk over the whole body finds where."""

    names: list[str]


class _NotANumber:
    """Stands for NaN or an infinity, until the walk has found where."""


_NOT_A_NUMBER = _NotANumber()


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) == len(pairs):
        return value
    names = [name for name, _ in pairs]
    repeated = _Repeated(value)
    repeated.names = sorted({name for name in names if names.count(name) > 1})
    return repeated


def read_object(raw: bytes) -> dict[str, Any]:
    """The JSON object in ``raw``; raises ``Problem`` (400) with every fault found, each with its pointer."""
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _malformed("not_utf_8", f"The body is not UTF-8: byte {error.start} cannot be read.") from error
    try:
        value = json.loads(text, object_pairs_hook=_object, parse_constant=lambda _: _NOT_A_NUMBER)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise _malformed("malformed", f"The body is not JSON: {error.msg} at {where}.") from error
    except RecursionError as error:
        raise _malformed("too_deep", f"The body nests deeper than {MAX_DEPTH} levels.") from error
    except ValueError as error:  # an integer of thousands of digits
        raise _malformed("malformed", "The body holds a number too long to read.") from error
    if not isinstance(value, dict):
        raise _malformed("not_an_object", "The body has to be one JSON object: { ... }.")
    if faults := list(_walk(value, "", 1)):
        raise Problem("malformed-body", faults[0].detail, errors=faults)
    return value


def _malformed(code: str, detail: str) -> Problem:
    return Problem("malformed-body", detail, errors=[Fault("", code, detail)])


def _walk(value: Any, pointer: str, depth: int) -> Iterator[Fault]:
    if depth > MAX_DEPTH:
        yield Fault(pointer, "too_deep", f"The body nests deeper than {MAX_DEPTH} levels.")
    elif isinstance(value, dict):
        for name in value.names if isinstance(value, _Repeated) else ():
            yield Fault(
                f"{pointer}/{escape(name)}", "duplicate_field", f"{name} is given more than once; give it once."
            )
        for name, inner in value.items():
            if _SURROGATE.search(name):
                yield Fault(pointer, "malformed", "A name holds half of a surrogate pair, which is no character.")
            else:
                yield from _walk(inner, f"{pointer}/{escape(name)}", depth + 1)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _walk(inner, f"{pointer}/{index}", depth + 1)
    elif value is _NOT_A_NUMBER or (isinstance(value, float) and not math.isfinite(value)):
        yield Fault(pointer, "not_a_number", "NaN, infinities and numbers beyond 1.8e308 are no numbers here.")
    elif isinstance(value, str) and _SURROGATE.search(value):
        yield Fault(pointer, "malformed", "The text holds half of a surrogate pair, which is no character.")


class StrictJSONParser(BaseParser):
    """DRF's way in for every body: bounded in size and read by ``read_object``."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:
        request = (parser_context or {})["request"]
        declared = re.search(r"charset=\"?([^;\"]+)", media_type or "", re.IGNORECASE)
        if declared and declared[1].strip().lower() not in ("utf-8", "utf8"):
            raise Problem("unsupported-media-type", f"JSON is UTF-8; charset={declared[1].strip()} is not read.")
        if request.META.get("HTTP_CONTENT_ENCODING", "identity").lower() != "identity":
            raise Problem(
                "unsupported-media-type",
                "Send the body without a Content-Encoding.",
                headers={"Accept-Encoding": "identity"},
            )
        limit = settings.MAX_BODY_BYTES
        length = request.META.get("CONTENT_LENGTH") or "0"
        if length.isdigit() and int(length) > limit:
            raise _too_large(limit)
        # The declared length is the sender's word; the bytes are counted as well.
        raw = stream.read(limit + 1)
        if len(raw) > limit:
            raise _too_large(limit)
        return read_object(raw)


def _too_large(limit: int) -> Problem:
    return Problem("body-too-large", f"A body may have {limit} bytes; this one has more.")
