"""Work that is due: taken by claim, so that it is done once however many workers look, and again if one dies."""

from typing import Any

from django.db import models

from api.tenancy.ids import new_id
from api.web import clock


class State(models.TextChoices):
    WAITING = "waiting", "Waiting"
    DONE = "done", "Done"
    GIVEN_UP = "given_up", "Given up"


class Work(models.Model):
    """One piece of work of a network.

    Read before any scope is open: it is what a scope is opened from. A claim is a time until which nobody else
    takes it; a worker that is killed leaves its claim to run out.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    network = models.ForeignKey("tenancy.Network", on_delete=models.CASCADE, related_name="+")
    state = models.CharField(max_length=16, choices=State.choices, default=State.WAITING)
    made_at = models.DateTimeField(default=clock.now, editable=False)
    due_at = models.DateTimeField(default=clock.now)
    claimed_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    last_error = models.TextField(blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    objects: models.Manager[Any] = models.Manager()

    class Meta:
        abstract = True
        ordering = ["due_at", "id"]
        indexes = [
            models.Index(fields=["due_at"], condition=models.Q(state="waiting"), name="%(class)s_waiting"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=State.values), name="%(class)s_state_known"),
        ]


class Job(Work):
    """A run of a kind of job for a network. ``slot`` names the turn, such as a local date: one run for each."""

    kind = models.CharField(max_length=64)
    slot = models.CharField(max_length=64)
    told = models.JSONField(default=dict, blank=True)

    class Meta(Work.Meta):
        constraints = [
            *Work.Meta.constraints,
            models.UniqueConstraint(fields=["kind", "network", "slot"], name="job_once_a_slot"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.slot}"
