"""Wiring of the room."""

from django.apps import AppConfig


class PlansConfig(AppConfig):
    name = "api.plans"
    label = "plans"
    verbose_name = "Feeding plans"
