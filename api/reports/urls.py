"""Addresses of reports: under /api/v1 for apps, and at the root for people."""

from django.urls import path

from api.reports.views.pages import ReportPageView
from api.reports.views.reports import ReportHtmlView, ReportListView, ReportView

urlpatterns = [
    path("reports", ReportListView.as_view(), name="reports"),
    path("reports/<uuid:report_id>", ReportView.as_view(), name="report"),
    path("reports/<uuid:report_id>.html", ReportHtmlView.as_view(), name="report-html"),
]

page_urlpatterns = [path("reports/<uuid:report_id>", ReportPageView.as_view(), name="report-page")]
