"""Wiring of the room."""

from django.apps import AppConfig


class KitchenConfig(AppConfig):
    name = "api.kitchen"
    label = "kitchen"
    verbose_name = "Kitchen"
