"""One id for a request: in the answer, in problems and in every line of the log."""

import logging
import re
import uuid
from collections.abc import Callable
from contextvars import ContextVar

from django.http import HttpRequest, HttpResponse

HEADER = "X-Request-Id"
_SANE = re.compile(r"[A-Za-z0-9._-]{1,64}")
_current: ContextVar[str] = ContextVar("request_id", default="")


def current() -> str:
    return _current.get()


class RequestIdMiddleware:
    """Take the caller's id where it is harmless, else make one; give it back."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        sent = request.headers.get(HEADER, "")
        request_id = sent if _SANE.fullmatch(sent) else str(uuid.uuid4())
        # It stays set until the next request of this thread: Django logs refusals after the last middleware.
        _current.set(request_id)
        response = self.get_response(request)
        response[HEADER] = request_id
        return response


class RequestIdFilter(logging.Filter):
    """Gives every log record ``request_id``."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_id = current() or "-"
        return True
