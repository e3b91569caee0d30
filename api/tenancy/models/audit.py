"""Who changed what, when, for which network."""

from django.conf import settings
from django.db import models

from api.tenancy.models.rows import NetworkRow
from api.web import clock


class AuditEntry(NetworkRow):
    """One act. Entries are added and read, never changed."""

    at = models.DateTimeField(default=clock.now, editable=False)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    client = models.ForeignKey(
        settings.OAUTH2_PROVIDER_APPLICATION_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    action = models.CharField(max_length=64)
    object_kind = models.CharField(max_length=64)
    object_id = models.CharField(max_length=64)
    request_id = models.CharField(max_length=64, blank=True)
    data = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["network", "-at", "-id"], name="audit_by_network")]
        verbose_name_plural = "audit entries"

    def __str__(self) -> str:
        return f"{self.action} {self.object_kind} {self.object_id}"
