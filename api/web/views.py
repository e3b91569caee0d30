"""Views that every room starts from, and those that belong to no room."""

from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiYamlRenderer
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularSwaggerView
from rest_framework.permissions import AllowAny
from rest_framework.renderers import BaseRenderer, JSONRenderer, TemplateHTMLRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.web import probes
from api.web.problem import Fault, Problem, public_url
from api.web.problem_kinds import KINDS
from api.web.serializers import HealthOut, ProblemKindListOut, ProblemKindOut, ReadinessOut
from api.web.strict import QueryParameters

METHODS = ["get", "post", "put", "patch", "delete", "head", "options"]


class NoStore:
    """For answers computed for one caller: kept by no cache on the way."""

    def finalize_response(self, request: Request, response: HttpResponse, *args: Any, **kwargs: Any) -> HttpResponse:
        answer: HttpResponse = super().finalize_response(request, response, *args, **kwargs)  # type: ignore[misc]
        if not answer.has_header("Cache-Control"):
            patch_cache_control(answer, no_store=True)
        return answer


class StrictView(APIView):
    """A view reads its query string by ``query_serializer`` and finds it in ``self.query``.

    Without one, any parameter is refused: a misspelt filter must not pass for none.
    """

    http_method_names = METHODS
    query_serializer: type[QueryParameters] = QueryParameters
    # Problems besides those that every view of its kind answers with, for the OpenAPI document.
    also_answers: tuple[int, ...] = ()
    query: dict[str, Any]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        # OPTIONS asks about the address, not with it.
        self.query = {} if request.method == "OPTIONS" else self.query_serializer.read(request)

    def options(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """The methods that this address takes (RFC 9110, section 9.3.7)."""
        return Response(status=204, headers={"Allow": ", ".join(self.allowed_methods)})


class OpenView(StrictView):
    """Open to everyone, throttled by address."""

    authentication_classes = ()
    permission_classes = (AllowAny,)
    throttle_scope = "open"


class ComputeView(NoStore, OpenView):
    """Open to everyone: computes an answer and stores nothing."""

    throttle_scope = "compute"


class HealthView(NoStore, OpenView):
    throttle_classes = ()

    @extend_schema(operation_id="health_retrieve", summary="Is the process alive?", responses=HealthOut)
    def get(self, request: Request) -> Response:
        return Response({"status": "ok"})


class ReadyView(NoStore, OpenView):
    throttle_classes = ()
    also_answers = (503,)

    @extend_schema(operation_id="ready_retrieve", summary="Does all it stands on answer?", responses=ReadinessOut)
    def get(self, request: Request) -> Response:
        findings = probes.ask_all()
        checks = {
            name: {"ok": finding.ok, "detail": finding.detail, "took_ms": finding.took_ms}
            for name, finding in findings.items()
        }
        failed = [Fault("", name, finding.detail) for name, finding in findings.items() if not finding.ok]
        if failed:
            raise Problem("not-ready", failed[0].detail, errors=failed, extra={"checks": checks})
        return Response({"status": "ready", "checks": checks})


class _ProblemPage(TemplateHTMLRenderer):
    """For people who follow a problem's ``type``; asked for by Accept only."""

    template_name = "web/problems.html"


class ProblemListView(OpenView):
    renderer_classes = (JSONRenderer, _ProblemPage)

    @extend_schema(
        operation_id="problems_list", summary="Every kind of refusal, explained", responses=ProblemKindListOut
    )
    def get(self, request: Request) -> Response:
        return Response({"results": [_described(slug, request) for slug in KINDS]})


class ProblemView(OpenView):
    renderer_classes = (JSONRenderer, _ProblemPage)

    @extend_schema(operation_id="problems_retrieve", summary="One kind of refusal", responses=ProblemKindOut)
    def get(self, request: Request, slug: str) -> Response:
        if slug not in KINDS:
            raise Problem("not-found", f"{slug} is no kind of problem; /api/v1/problems lists them.")
        described = _described(slug, request)
        if isinstance(request.accepted_renderer, _ProblemPage):
            return Response({"results": [described]})
        return Response(described)


def _described(slug: str, request: Request) -> dict[str, Any]:
    kind = KINDS[slug]
    return {
        "type": f"{public_url(request)}/api/v1/problems/{slug}",
        "slug": slug,
        "status": kind.status,
        "title": kind.title,
        "meaning": kind.meaning,
    }


class _Yaml(BaseRenderer):
    media_type = "application/yaml"
    format = "yaml"
    charset = "utf-8"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> bytes:
        return data if isinstance(data, bytes) else str(data).encode()


class OpenApiView(OpenView):
    renderer_classes = (_Yaml,)

    @extend_schema(exclude=True)
    def get(self, request: Request) -> Response:
        return Response(openapi_document())


@cache
def openapi_document() -> bytes:
    """The OpenAPI document as YAML; told once a process, since the code does not change meanwhile."""
    schema = SchemaGenerator().get_schema(request=None, public=True)
    return bytes(OpenApiYamlRenderer().render(schema, renderer_context={}))


class DocsView(SpectacularSwaggerView):
    """The viewer, from this server alone: it asks no other host for anything."""

    authentication_classes = ()
    permission_classes = (AllowAny,)
    throttle_scope = "open"
    http_method_names = METHODS
    url = "/api/v1/openapi.yaml"

    @extend_schema(exclude=True)
    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Response:
        answer: Response = super().get(request, *args, **kwargs)
        return answer
