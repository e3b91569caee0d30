"""ETags: nothing sent twice unchanged, no one's change lost."""

import hashlib
from collections.abc import Callable
from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.http import parse_etags
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.web.problem import Problem

Row = TypeVar("Row", bound=Model)

IF_MATCH = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    description=(
        'The ETag of the version that you have seen, such as `"3"`. Without it the change is refused with 428; where '
        "the record has changed meanwhile, with 412 and its present ETag."
    ),
)


def strong(*parts: object) -> str:
    """The same parts give the same tag; use it where the same parts give the same bytes."""
    digest = hashlib.sha256("\x1f".join(str(part) for part in parts).encode()).hexdigest()
    return f'"{digest[:32]}"'


def weak(*parts: object) -> str:
    """As ``strong``, for answers alike in meaning but not byte for byte."""
    return f"W/{strong(*parts)}"


def of_version(version: int) -> str:
    """The tag of a stored record: its version."""
    return f'"{version}"'


def of_answer(answer: Any) -> str:
    """The tag of an answer whose parts have no versions of their own: a hash of what it says."""
    return strong(JSONRenderer().render(answer).decode())


def is_fresh(request: Request, etag: str) -> bool:
    """Whether If-None-Match holds the tag (weak comparison, RFC 9110, section 13.1.2)."""
    sent = parse_etags(request.headers.get("If-None-Match", ""))
    return "*" in sent or etag.removeprefix("W/") in {tag.removeprefix("W/") for tag in sent}


def respond(
    request: Request, etag: str, data: Any | Callable[[], Any], *, cache_control: str = "no-cache"
) -> HttpResponse | Response:
    """304 where the caller has it already, else the data; a callable is only called when it is needed."""
    answer: HttpResponse | Response
    if is_fresh(request, etag):
        answer = HttpResponse(status=304)
        del answer["Content-Type"]
    else:
        answer = Response(data() if callable(data) else data)
    answer["ETag"] = etag
    answer["Cache-Control"] = cache_control
    return answer


def require_match(request: Request, etag: str) -> None:
    """Before a change: raises 428 without If-Match, 412 where it names another version."""
    _require_sent(request)
    # Strong comparison (RFC 9110, section 13.1.1): a weak tag never matches.
    if "*" not in (tags := parse_etags(request.headers["If-Match"].strip())) and etag not in tags:
        raise Problem(
            "precondition-failed",
            f"The record has changed meanwhile; its ETag is now {etag}. Fetch it and apply the change to it.",
            headers={"ETag": etag},
        )


def matching_row(request: Request, rows: QuerySet[Row], **which: Any) -> Row:
    """The row to be changed, held until the transaction ends: of two changes to one version the second is refused.

    Parameters
    ----------
    rows
        Rows with a ``version``, narrowed to what the caller may change.
    which
        Which of them it is.

    Raises
    ------
    Problem
        428 without If-Match, 412 where it names another version than the row has once it is ours.
    Http404
        There is no such row.
    TransactionManagementError
        On PostgreSQL, outside a transaction. On SQLite the transaction itself is the lock.
    """
    _require_sent(request)
    row = get_object_or_404(rows.select_for_update(of=("self",)), **which)
    require_match(request, of_version(row.version))  # type: ignore[attr-defined]
    return row


def _require_sent(request: Request) -> None:
    if not request.headers.get("If-Match", "").strip():
        raise Problem("precondition-required", "Send If-Match with the ETag of the version that you have seen.")
