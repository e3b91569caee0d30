"""Wiring of the room."""

from django.apps import AppConfig


class CatalogConfig(AppConfig):
    name = "api.catalog"
    label = "catalog"
    verbose_name = "Catalogue"

    def ready(self) -> None:
        from api.catalog.probes import packs
        from api.web.probes import register_probe

        register_probe("packs", packs)
