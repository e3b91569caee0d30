"""Reads of the outbox."""

from uuid import UUID

from django.db.models import QuerySet

from api.outbox.models import RecordVersion


def versions(kind: str, record_id: UUID) -> QuerySet[RecordVersion]:
    """A record as it stood, oldest version first."""
    return RecordVersion.objects.select_related("actor", "client").filter(kind=kind, record_id=record_id)
