"""ETags: nothing sent twice unchanged, no one's change lost."""

import hashlib
from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.utils.http import parse_etags
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.web.problem import Problem


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
    sent = request.headers.get("If-Match", "").strip()
    if not sent:
        raise Problem("precondition-required", "Send If-Match with the ETag of the version that you have seen.")
    # Strong comparison (RFC 9110, section 13.1.1): a weak tag never matches.
    if "*" not in (tags := parse_etags(sent)) and etag not in tags:
        raise Problem(
            "precondition-failed",
            f"The record has changed meanwhile; its ETag is now {etag}. Fetch it and apply the change to it.",
            headers={"ETag": etag},
        )
