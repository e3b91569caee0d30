"""Two kinds of lists: by cursor for what grows, by offset for the small catalogue."""

import base64
import binascii
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Model, Q, QuerySet

from api.web.problem import Fault, faults_problem
from api.web.strict import QueryParameters, StrictCharField, StrictIntegerField

MAX_LIMIT = 200


class PageSizeField(StrictIntegerField):
    """1 to 200, refused beyond: a client that asks for more and gets less would lose rows unseen."""

    default_error_messages = {"page_out_of_range": f"The limit lies between 1 and {MAX_LIMIT}."}

    def within(self, value: float) -> Any:
        if not 1 <= value <= MAX_LIMIT:
            self.fail("page_out_of_range")
        return value


class OffsetField(StrictIntegerField):
    default_error_messages = {"page_out_of_range": "The offset lies between 0 and 100000."}

    def within(self, value: float) -> Any:
        if not 0 <= value <= 100_000:
            self.fail("page_out_of_range")
        return value


class CursorParameters(QueryParameters):
    limit = PageSizeField(default=50)
    cursor = StrictCharField(max_length=1000, required=False)


class OffsetParameters(QueryParameters):
    limit = PageSizeField(default=50)
    offset = OffsetField(default=0)


@dataclass(frozen=True)
class CursorPage:
    rows: list[Any]
    next: str | None

    def answer(self, results: Any) -> dict[str, Any]:
        return {"results": results, "next": self.next}


def cursor_page(
    rows: QuerySet[Any],
    *,
    limit: int,
    cursor: str | None = None,
    order: Sequence[str] = ("id",),
) -> CursorPage:
    """The rows after ``cursor`` in a total order; rows added meanwhile neither shift nor repeat any.

    Parameters
    ----------
    order
        Names of fields, all ascending or all with a minus, the last one unique.
    """
    names = [name.lstrip("-") for name in order]
    descending = order[0].startswith("-")
    if cursor:
        rows = rows.filter(_after(_read(cursor, rows.model, names), names, descending))
    page = list(rows.order_by(*order)[: limit + 1])
    more = len(page) > limit
    page = page[:limit]
    return CursorPage(page, _write(page[-1], names) if more else None)


def _after(values: Sequence[Any], names: Sequence[str], descending: bool) -> Q:
    """(a, b) > (x, y), written out as a > x or (a = x and b > y)."""
    beyond = "lt" if descending else "gt"
    condition = Q()
    for position, name in enumerate(names):
        equal = dict(zip(names[:position], values, strict=False))
        condition |= Q(**equal, **{f"{name}__{beyond}": values[position]})
    return condition


def _write(row: Model, names: Sequence[str]) -> str:
    values = [row._meta.get_field(name).value_to_string(row) for name in names]
    return base64.urlsafe_b64encode(json.dumps([list(names), values]).encode()).decode().rstrip("=")


def _read(cursor: str, model: type[Model], names: Sequence[str]) -> list[Any]:
    try:
        text = base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True)
        written_names, values = json.loads(text)
        if written_names != list(names) or len(values) != len(names):
            raise ValueError(cursor)
        fields = [model._meta.get_field(name) for name in names]
        return [field.to_python(str(value)) for field, value in zip(fields, values, strict=True)]
    except (binascii.Error, ValueError, TypeError, RecursionError, ValidationError) as error:
        fault = Fault("?cursor", "invalid_cursor", "This cursor is not one of this list; take next as it came.")
        raise faults_problem([fault]) from error
