"""Alerts: somebody has to look at a bird or a site, until somebody has or it is over."""

from typing import Any

from django.conf import settings
from django.db import models

from api.tenancy.models import NetworkRecord


class AlertState(models.TextChoices):
    OPEN = "open", "Open"
    ACKNOWLEDGED = "acknowledged", "Acknowledged"
    RESOLVED = "resolved", "Resolved"


class Resolution(models.TextChoices):
    """How an alert ended."""

    PASSED = "passed", "The finding has passed"
    BY_HAND = "by_hand", "Resolved by hand"
    LEFT_CARE = "left_care", "The bird has left care"
    WITHDRAWN = "withdrawn", "The record behind it was corrected"


class Alert(NetworkRecord):
    """One finding about one bird, or one site, from its opening to its end; never two open ones of a kind."""

    KIND = "alert"
    TOLD = (
        "code",
        "severity",
        "state",
        "bird_id",
        "site_id",
        "since",
        "opened_at",
        "escalated_at",
        "last_found_at",
        "act_within_h",
        "text",
        "evidence",
        "actions",
        "acknowledged_at",
        "acknowledged_by",
        "snoozed_until",
        "resolved_at",
        "resolution",
        "note",
    )

    bird = models.ForeignKey("birds.Bird", null=True, on_delete=models.PROTECT, related_name="alerts")
    site = models.ForeignKey("networks.Site", on_delete=models.PROTECT, related_name="alerts")
    code = models.CharField(max_length=64)
    severity = models.CharField(max_length=16)
    state = models.CharField(max_length=16, choices=AlertState.choices, default=AlertState.OPEN)
    since = models.DateTimeField()
    opened_at = models.DateTimeField()
    escalated_at = models.DateTimeField(null=True, blank=True)
    last_found_at = models.DateTimeField()
    act_within_h = models.FloatField(null=True, blank=True)
    text = models.TextField()
    evidence = models.JSONField(default=dict)
    actions = models.JSONField(default=list)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by_user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    snoozed_until = models.DateTimeField(null=True, blank=True)
    resolved_at = models.DateTimeField(null=True, blank=True)
    resolution = models.CharField(max_length=16, choices=Resolution.choices, null=True, blank=True)  # noqa: DJ001
    note = models.CharField(max_length=2000, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["-opened_at", "-row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="alert_id_once"),
            models.UniqueConstraint(
                fields=["bird", "code"],
                condition=models.Q(bird__isnull=False) & ~models.Q(state="resolved"),
                name="alert_one_open_a_bird_and_code",
            ),
            models.UniqueConstraint(
                fields=["site", "code"],
                condition=models.Q(bird__isnull=True) & ~models.Q(state="resolved"),
                name="alert_one_open_a_site_and_code",
            ),
        ]
        indexes = [
            models.Index(fields=["network", "state", "-opened_at"], name="alert_by_state"),
            models.Index(fields=["network", "-resolved_at"], name="alert_by_end"),
        ]

    def __str__(self) -> str:
        return f"{self.code} of {self.bird or self.site}"

    @property
    def acknowledged_by(self) -> dict[str, Any] | None:
        user = self.acknowledged_by_user
        return None if user is None else {"id": str(user.pk), "name": str(user)}
