"""Wiring of the room."""

from django.apps import AppConfig


class AlertsConfig(AppConfig):
    name = "api.alerts"
    label = "alerts"
    verbose_name = "Alerts"
