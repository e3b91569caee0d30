"""Every refusal as RFC 9457 problem+json: raised as ``Problem``, mapped from what Django, DRF and rules raise."""

import json
import logging
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.conf import settings
from django.core.exceptions import DisallowedHost, PermissionDenied, SuspiciousOperation
from django.http import Http404, HttpRequest, HttpResponse
from rest_framework import exceptions
from rest_framework.request import Request
from rest_framework.settings import api_settings

from api.web import request_ids
from api.web.problem_kinds import BY_STATUS, KINDS, ProblemKind
from species.domain.errors import ConflictError, DomainError

logger = logging.getLogger(__name__)

MEDIA_TYPE = "application/problem+json"

# A request with any of these could not be understood: 400. Every other code is a value that was understood
# and refused: 422.
NOT_UNDERSTOOD = frozenset(
    {
        "required",
        "null",
        "invalid",
        "wrong_type",
        "malformed",
        "offset_missing",
        "invalid_choice",
        "unknown_field",
        "unknown_parameter",
        "repeated_parameter",
        "duplicate_field",
        "not_a_list",
        "not_a_dict",
        "not_an_object",
        "not_a_number",
        "not_utf_8",
        "too_deep",
        "parse_error",
        "page_out_of_range",
        "invalid_cursor",
        "idempotency_key_missing",
        "idempotency_key_malformed",
    }
)


@dataclass(frozen=True)
class Fault:
    """One thing wrong: where (JSON pointer, or ``?name`` of a query parameter), a stable word, a sentence."""

    pointer: str
    code: str
    detail: str


class Problem(exceptions.APIException):
    """A refusal that says what was wrong and what would do.

    Parameters
    ----------
    slug
        One of ``problem_kinds.KINDS``.
    detail
        What was wrong this time, for a reader.
    errors
        The faults, each with its pointer.
    headers
        Headers that the answer carries besides.
    extra
        Members added to the problem (RFC 9457, section 3.2).
    """

    def __init__(
        self,
        slug: str,
        detail: str,
        *,
        errors: Iterable[Fault] = (),
        headers: Mapping[str, str] | None = None,
        extra: Mapping[str, Any] | None = None,
    ) -> None:
        self.kind = KINDS[slug]
        self.status_code = self.kind.status
        self.errors = tuple(errors)
        self.headers = dict(headers or {})
        self.extra = dict(extra or {})
        super().__init__(detail, code=slug)


def refused(pointer: str, code: str, detail: str) -> Problem:
    """One well-formed value that cannot be answered for: 422."""
    return Problem("refused", detail, errors=[Fault(pointer, code, detail)])


def faults_problem(faults: Sequence[Fault]) -> Problem:
    """400 when anything could not be understood, else 422; the first fault that decided it speaks for all."""
    not_understood = [fault for fault in faults if fault.code in NOT_UNDERSTOOD]
    slug = "invalid-request" if not_understood else "refused"
    first = (not_understood or faults)[0]
    where = f"{first.pointer}: " if first.pointer else ""
    more = f" ({len(faults) - 1} more in errors)" if len(faults) > 1 else ""
    return Problem(slug, f"{where}{first.detail}{more}", errors=faults)


def public_url(request: HttpRequest | Request | None) -> str:
    """Where others reach this service; without the setting, where this request reached it."""
    if settings.PUBLIC_URL or request is None:
        return settings.PUBLIC_URL
    try:
        return f"{request.scheme}://{request.get_host()}"
    except DisallowedHost:
        return ""


def document(
    kind: ProblemKind,
    detail: str,
    *,
    request: HttpRequest | Request | None,
    errors: Iterable[Fault] = (),
    extra: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    return {
        "type": f"{public_url(request)}/api/v1/problems/{kind.slug}",
        "title": kind.title,
        "status": kind.status,
        "detail": detail,
        "instance": f"urn:request:{request_ids.current() or 'none'}",
        "errors": [asdict(fault) for fault in errors],
        **(extra or {}),
    }


def response(problem: Problem, request: HttpRequest | Request | None) -> HttpResponse:
    """The answer, rendered here: it is JSON whatever the view would have rendered."""
    faults = [_at_query(fault) for fault in problem.errors] if _has_no_body(request) else problem.errors
    body = document(problem.kind, str(problem.detail), request=request, errors=faults, extra=problem.extra)
    answer = HttpResponse(json.dumps(body, ensure_ascii=False), status=problem.kind.status, content_type=MEDIA_TYPE)
    answer["Cache-Control"] = "no-store"
    for name, value in problem.headers.items():
        answer[name] = value
    return answer


def exception_handler(error: Exception, context: Mapping[str, Any]) -> HttpResponse | None:
    """DRF's hook. An error that nobody foresaw stays unhandled: Django logs it and calls ``handler500``."""
    problem = problem_from(error)
    return None if problem is None else response(problem, context.get("request"))


def problem_from(error: Exception) -> Problem | None:
    match error:
        case Problem():
            return error
        case DomainError():
            # A rule names its argument; only where that is a pointer does it stand in the request.
            pointer = error.field if error.field.startswith("/") else ""
            slug = "conflict" if isinstance(error, ConflictError) else "refused"
            return Problem(slug, str(error), errors=[Fault(pointer, error.code, str(error))])
        case exceptions.ValidationError():
            return faults_problem(list(faults_of(error.detail)))
        case exceptions.Throttled():
            wait_s = max(1, math.ceil(error.wait or 1))
            return Problem(
                "quota-exceeded",
                f"The quota of requests is used up; the next is answered in {wait_s} s.",
                headers={"Retry-After": str(wait_s)},
            )
        case exceptions.MethodNotAllowed():
            return Problem("method-not-allowed", "This address does not take that method; see the Allow header.")
        case exceptions.UnsupportedMediaType():
            return Problem(
                "unsupported-media-type",
                "The body has a media type that is not read here; send application/json.",
                headers={"Accept": "application/json"},
            )
        case exceptions.NotAcceptable():
            return Problem("not-acceptable", "No representation here fits the Accept header.")
        case exceptions.NotAuthenticated():
            return Problem(
                "not-authenticated",
                "No token came with the request; send Authorization: Bearer and a token.",
                headers=_challenge(error),
            )
        case exceptions.AuthenticationFailed():
            return Problem("not-authenticated", str(error.detail), headers=_challenge(error))
        case exceptions.PermissionDenied() | PermissionDenied():
            return Problem("not-permitted", str(getattr(error, "detail", "")) or "This is not permitted.")
        case exceptions.NotFound():
            return Problem("not-found", str(error.detail))
        case Http404():
            return Problem("not-found", "There is no such thing here, or it is not one of your network's.")
        case exceptions.ParseError():
            return Problem("malformed-body", str(error.detail))
        case SuspiciousOperation():
            return Problem("invalid-request", "The request is not one that a well-meaning client sends.")
        case exceptions.APIException() if error.status_code in BY_STATUS:
            return Problem(BY_STATUS[error.status_code].slug, str(error.detail))
    return None


def faults_of(detail: Any, pointer: str = "") -> Iterator[Fault]:
    """Flatten DRF's nested error detail to faults with JSON pointers (RFC 6901)."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            own = name == api_settings.NON_FIELD_ERRORS_KEY
            yield from faults_of(inner, pointer if own else f"{pointer}/{escape(str(name))}")
    elif isinstance(detail, list | tuple):
        for index, inner in enumerate(detail):
            # Lists of mappings are items; lists of sentences are several faults of one value.
            yield from faults_of(inner, f"{pointer}/{index}" if isinstance(inner, Mapping) else pointer)
    else:
        yield Fault(pointer, getattr(detail, "code", "invalid"), str(detail))


def escape(name: str) -> str:
    """One reference token of a JSON pointer."""
    return name.replace("~", "~0").replace("/", "~1")


def _challenge(error: exceptions.APIException) -> dict[str, str]:
    header = getattr(error, "auth_header", None)
    return {"WWW-Authenticate": header} if header else {}


def _has_no_body(request: HttpRequest | Request | None) -> bool:
    return request is not None and request.method in ("GET", "HEAD")


def _at_query(fault: Fault) -> Fault:
    """Rules point into the body; where there is none, the value came as a query parameter of that name."""
    if not fault.pointer.startswith("/"):
        return fault
    return Fault("?" + fault.pointer.rsplit("/", 1)[1], fault.code, fault.detail)
