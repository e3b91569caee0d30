"""The network's reports, for a token."""

from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from api.networks.rules.roles import Part
from api.networks.views.described import NOT_MODIFIED
from api.networks.views.records import PRIVATE, MemberView
from api.reports.rules.reading import reads_reports
from api.reports.selectors import reports as selectors
from api.reports.serializers import ReportOut, ReportPageOut, ReportQuery, ReportShortOut
from api.reports.views.pages import ONLY_ITSELF, page_html
from api.web import etags
from api.web.pagination import cursor_page
from api.web.problem import Problem

ONLY_OWN_SITES = "A report tells of every site of the network; a carer sees the own sites only. Ask a coordinator."


class ReportReadView(MemberView):
    """Reports are for those who may see every site."""

    part = Part.REPORTS
    required_scopes: ClassVar[dict[str, str]] = {"GET": "reports:read"}

    def check_permissions(self, request: Request) -> None:
        super().check_permissions(request)
        if request.auth is not None and not reads_reports(self.caller.role):
            raise Problem("not-permitted", ONLY_OWN_SITES)


class ReportListView(ReportReadView):
    query_serializer = ReportQuery

    @extend_schema(
        operation_id="reports_list",
        summary="The daily reports of the network, the latest first",
        parameters=[ReportQuery],
        responses={200: ReportPageOut, 304: NOT_MODIFIED},
    )
    def get(self, request: Request) -> HttpResponse:
        asked: dict[str, Any] = dict(self.query)
        rows = selectors.reports(from_day=asked.get("from"), to_day=asked.get("to"))
        page = cursor_page(rows, limit=asked["limit"], cursor=asked.get("cursor"), order=("-on", "-id"))
        answer = page.answer(ReportShortOut([selectors.in_short(row) for row in page.rows], many=True).data)
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)


class ReportView(ReportReadView):
    @extend_schema(
        operation_id="reports_retrieve",
        summary="One daily report, as figures and lists",
        responses={200: ReportOut, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, report_id: UUID) -> HttpResponse:
        """Lists are whole; names are those that birds and sites had when the report was written."""
        report = get_object_or_404(selectors.reports_whole(), pk=report_id)
        etag = etags.of_version(selectors.VERSION)
        return etags.respond(request, etag, lambda: ReportOut(selectors.in_full(report)).data, cache_control=PRIVATE)


class PageRenderer(BaseRenderer):
    """A page as it stands."""

    media_type = "text/html"
    format = "html"
    charset = "utf-8"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> str:
        return data["html"] if data else ""


class ReportHtmlView(ReportReadView):
    renderer_classes = (PageRenderer,)

    @extend_schema(
        operation_id="reports_read",
        summary="The same as a page, with its charts",
        responses={(200, "text/html"): str, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, report_id: UUID) -> HttpResponse:
        """A page of its own: styles and pictures stand in it, and it fetches nothing."""
        report = get_object_or_404(selectors.reports_with_pictures(), pk=report_id)
        etag = etags.of_version(selectors.VERSION)
        answer = etags.respond(request, etag, lambda: {"html": page_html(report)}, cache_control=PRIVATE)
        answer["Content-Security-Policy"] = ONLY_ITSELF
        return answer
