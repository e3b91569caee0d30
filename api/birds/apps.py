"""Wiring of the room."""

from django.apps import AppConfig


class BirdsConfig(AppConfig):
    name = "api.birds"
    label = "birds"
    verbose_name = "Birds"

    def ready(self) -> None:
        from api.birds.services import guard_formula, guard_site
        from api.outbox.registry import guard_removal

        guard_removal("site", guard_site)
        guard_removal("formula", guard_formula)
