"""Wiring of the room."""

from django.apps import AppConfig


class GrowthConfig(AppConfig):
    name = "api.growth"
    label = "growth"
    verbose_name = "Growth"
