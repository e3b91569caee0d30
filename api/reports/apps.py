"""Wiring of the room."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "api.reports"
    label = "reports"
    verbose_name = "Reports"
