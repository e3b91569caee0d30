"""Wiring of the room."""

from django.apps import AppConfig

RECORDED = tuple(
    f"{kind}.{event}"
    for kind in ("weighing", "milestone", "feed", "crop_check")
    for event in ("recorded", "corrected", "removed")
)
LEFT = ("bird.outcome_recorded", "bird.outcome_withdrawn", "bird.removed")


class AlertsConfig(AppConfig):
    name = "api.alerts"
    label = "alerts"
    verbose_name = "Alerts"

    def ready(self) -> None:
        from collections.abc import Callable
        from uuid import UUID

        from api.alerts import services
        from api.jobs.registry import register_sweep
        from api.outbox.models import Event
        from api.outbox.registry import subscribe

        def at_bird(look: Callable[[UUID], None]) -> Callable[[Event], None]:
            return lambda event: look(UUID(event.data["bird_id"]))

        subscribe(
            *RECORDED,
            "bird.updated",
            "bird.moved",
            "bird.outcome_withdrawn",
            name="alerts.birds",
            handle=at_bird(services.bird_look),
            once_per="bird_id",
        )
        # When it came decides whether one that was put down counts as a death of the site.
        subscribe(
            *LEFT,
            "bird.updated",
            name="alerts.outcomes",
            handle=at_bird(services.bird_outcome_look),
            once_per="bird_id",
        )
        register_sweep("alerts.sites", services.sites_look)
