"""Wiring of the room."""

from django.apps import AppConfig


class BirdsConfig(AppConfig):
    name = "api.birds"
    label = "birds"
    verbose_name = "Birds"
