"""Wiring of the room."""

from django.apps import AppConfig


class TenancyConfig(AppConfig):
    name = "api.tenancy"
    label = "tenancy"
    verbose_name = "Users, networks and access"
