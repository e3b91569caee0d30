"""Wiring of the room."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "api.reports"
    label = "reports"
    verbose_name = "Reports"

    def ready(self) -> None:
        from api.jobs.registry import Kind, register_kind
        from api.reports.selectors.due import DAILY_REPORT, reports_due
        from api.reports.services import report_run

        register_kind(Kind(DAILY_REPORT, run=report_run, due=reports_due))
