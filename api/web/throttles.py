"""Quotas of requests, told in advance by RateLimit headers.

Header fields after the IETF draft "RateLimit header fields for HTTP" (draft-ietf-httpapi-ratelimit-headers):
``RateLimit-Policy: "open";q=240;w=60`` and ``RateLimit: "open";r=239;t=60``.
A window is fixed, so across its edge twice the quota may pass: this is courtesy among clients, not a defence.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from api.web import clock

if TYPE_CHECKING:
    from rest_framework.views import APIView


@dataclass(frozen=True)
class Quota:
    """What is left of a quota for one caller."""

    scope: str
    limit: int
    window_s: int
    used: int
    resets_in_s: int

    @property
    def exhausted(self) -> bool:
        return self.used > self.limit

    @property
    def headers(self) -> dict[str, str]:
        remaining = max(0, self.limit - self.used)
        return {
            "RateLimit-Policy": f'"{self.scope}";q={self.limit};w={self.window_s}',
            "RateLimit": f'"{self.scope}";r={remaining};t={self.resets_in_s}',
        }


def count(scope: str, caller: str) -> Quota | None:
    """Count one request of the caller; ``None`` where the scope has no limit."""
    limit, window_s = settings.RATE_LIMITS[scope]
    if limit <= 0:
        return None
    now_s = clock.now().timestamp()
    window = int(now_s // window_s)
    key = f"quota:{scope}:{hashlib.sha256(caller.encode()).hexdigest()[:32]}:{window}"
    cache.add(key, 0, timeout=window_s + 1)
    try:
        used = cache.incr(key)
    except ValueError:  # it ran out between the two calls
        used = 1
    return Quota(scope, limit, window_s, used, max(1, int((window + 1) * window_s - now_s)))


def count_address(scope: str, request: HttpRequest) -> Quota | None:
    """Count one request of its address, where no view of the API does; ``None`` where the scope has no limit."""
    quota = count(scope, f"address:{BaseThrottle().get_ident(request)}")  # type: ignore[arg-type]
    if quota is not None:
        request.rate_quota = quota  # type: ignore[attr-defined]
    return quota


class ScopedThrottle(BaseThrottle):
    """The quota of a view's ``throttle_scope``, counted by token, else by address."""

    _resets_in_s = 1

    def allow_request(self, request: Request, view: "APIView") -> bool:
        scope = getattr(view, "throttle_scope", None) or _scope_for(request)
        token = getattr(request.auth, "pk", None)
        quota = count(scope, f"token:{token}" if token else f"address:{self.get_ident(request)}")
        if quota is None:
            return True
        # The answer is made elsewhere; the middleware finds the quota on the request that it knows.
        request._request.rate_quota = quota  # type: ignore[attr-defined]
        self._resets_in_s = quota.resets_in_s
        return not quota.exhausted

    def wait(self) -> float:
        return self._resets_in_s


def _scope_for(request: Request) -> str:
    if not request.auth:
        return "open"
    return "read" if request.method in ("GET", "HEAD") else "write"


class RateLimitMiddleware:
    """Writes the quota that was counted for this request into the answer, refusals too."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        quota: Quota | None = getattr(request, "rate_quota", None)
        if quota is not None:
            for name, value in quota.headers.items():
                response[name] = value
        return response
