"""Wiring of the room."""

from django.apps import AppConfig


class NetworksConfig(AppConfig):
    name = "api.networks"
    label = "networks"
    verbose_name = "Networks"
