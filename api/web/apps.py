"""Wiring of the room."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "api.web"
    label = "web"
    verbose_name = "Web"
