"""Wiring of the room."""

from django.apps import AppConfig


class CatalogConfig(AppConfig):
    name = "api.catalog"
    label = "catalog"
    verbose_name = "Catalogue"
