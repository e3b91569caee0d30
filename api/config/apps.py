"""Wiring of the room."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "api.config"
    label = "config"
    verbose_name = "Wiring"
