"""Wiring of the room."""

from django.apps import AppConfig

WEIGHED = ("weighing.recorded", "weighing.corrected", "weighing.removed")
#: What weights, crops and feeds are held against.
SEEN = ("milestone.recorded", "milestone.corrected", "milestone.removed", "bird.updated", "bird.moved")
FED = (
    "feed.recorded",
    "feed.corrected",
    "feed.removed",
    "crop_check.recorded",
    "crop_check.corrected",
    "crop_check.removed",
)


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

        back = "bird.outcome_withdrawn"
        subscribe(
            *WEIGHED, *SEEN, back, name="alerts.growth", handle=at_bird(services.bird_growth_look), once_per="bird_id"
        )
        # Whether a bird gains, and how much of a feed is too much, is told by its weights.
        subscribe(
            *FED,
            *WEIGHED,
            *SEEN,
            back,
            name="alerts.record",
            handle=at_bird(services.bird_record_look),
            once_per="bird_id",
        )
        subscribe(
            "bird.outcome_recorded",
            "bird.removed",
            "bird.updated",
            back,
            name="alerts.outcomes",
            handle=at_bird(services.bird_outcome_look),
            once_per="bird_id",
        )
        register_sweep("alerts.sites", services.sites_look)
