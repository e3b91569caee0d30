"""Rows of the HTTP habits; they know no network."""

from datetime import datetime, timedelta

from django.db import models
from django.db.models import Q

# A process that has not answered by then is taken for dead.
WORK_AT_MOST = timedelta(seconds=60)


class IdempotentExchange(models.Model):
    """A request with an Idempotency-Key, and its answer once the work is done.

    Nothing of the request stands here but hashes. The body of the answer is kept as the text that was sent: a JSON
    column would sort its names.
    """

    key_hash = models.CharField(max_length=64, primary_key=True)
    body_hash = models.CharField(max_length=64)
    # Whose reservation it is. Who was taken for dead and comes back finds another name here, and gives way.
    holder = models.UUIDField()
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    body = models.TextField(blank=True, default="")
    reserved_at = models.DateTimeField()
    # Empty while the request is in flight.
    answered_at = models.DateTimeField(null=True)
    expires_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="web_exchange_answered_with_a_status",
                condition=Q(answered_at=None, status=None) | Q(answered_at__isnull=False, status__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.key_hash[:12]} {'in flight' if self.in_flight else self.status}"

    @property
    def in_flight(self) -> bool:
        return self.answered_at is None

    def is_free(self, now: datetime) -> bool:
        """Whether another request may have the key: it is past its time, or who held it has died."""
        return self.expires_at <= now or (self.in_flight and self.reserved_at <= now - WORK_AT_MOST)
