"""A report as a page for people: where the link of a mail leads, for members who sign in."""

from typing import Any
from uuid import UUID

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse
from django.views import View

from api.networks.views.records import PRIVATE
from api.reports.models import Report
from api.reports.rendering import with_pictures
from api.reports.selectors import reports as selectors

#: The page holds all that it shows: a browser has no reason to fetch or to run anything for it.
ONLY_ITSELF = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


class ReportPageView(LoginRequiredMixin, View):
    """The whole report. Who may not read it learns no more than that there is no such page."""

    http_method_names = ["get", "head"]

    def get(self, request: HttpRequest, report_id: UUID, **_: Any) -> HttpResponse:
        report = selectors.report_for(request.user, report_id)
        if report is None:
            raise Http404
        headers = {"Cache-Control": PRIVATE, "Content-Security-Policy": ONLY_ITSELF}
        return HttpResponse(page_html(report), headers=headers)


def page_html(report: Report) -> str:
    """The report's page with its pictures in it."""
    return with_pictures(report.page, report.letter.images)
