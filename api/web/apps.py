"""Wiring of the room."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "api.web"
    label = "web"
    verbose_name = "Web"

    def ready(self) -> None:
        from api.web import probes

        probes.register_probe("database", probes.database)
        probes.register_probe("cache", probes.shared_cache)
