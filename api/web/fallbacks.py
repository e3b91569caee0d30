"""What Django answers where no view does: problem+json under /api, Django's own pages elsewhere."""

from django.http import HttpRequest, HttpResponse
from django.urls import Resolver404, resolve
from django.views import defaults

from api.web.problem import Problem, response


def _is_api(request: HttpRequest) -> bool:
    return request.path == "/api" or request.path.startswith("/api/")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    if not _is_api(request):
        return defaults.bad_request(request, exception)
    return response(
        Problem("invalid-request", "The request cannot be read; look at its Host header and path."), request
    )


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    if not _is_api(request):
        return defaults.permission_denied(request, exception)
    return response(Problem("not-permitted", "This is not permitted."), request)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if not _is_api(request):
        return defaults.page_not_found(request, exception)
    detail = f"There is no {request.path} here; /api/v1/docs lists the addresses."
    bare = request.path.rstrip("/")
    if bare != request.path and _exists(bare):
        detail = f"Addresses end without a slash: {bare} is the one."
    return response(Problem("not-found", detail), request)


def server_error(request: HttpRequest) -> HttpResponse:
    if not _is_api(request):
        return defaults.server_error(request)
    return response(Problem("internal-error", "The service failed at this request; the fault is ours."), request)


def _exists(path: str) -> bool:
    try:
        resolve(path)
    except Resolver404:
        return False
    return True
