"""Shapes of the outbox in answers."""

from typing import Any

from rest_framework import serializers

from api.outbox.models import RecordVersion
from api.web.serializers import InstantOut


class RecordOut(serializers.Serializer[Any]):
    """What every record tells of itself."""

    id = serializers.UUIDField()
    version = serializers.IntegerField(min_value=1)
    recorded_at = InstantOut()
    changed_at = InstantOut()


class RecordVersionOut(serializers.ModelSerializer[RecordVersion]):
    """A record as it stood after one change."""

    at = InstantOut()
    data = serializers.DictField()
    by = serializers.SerializerMethodField(help_text="Person or app that made the change; null for the service.")

    class Meta:
        model = RecordVersion
        fields = ["version", "op", "at", "by", "data"]

    def get_by(self, version: RecordVersion) -> str | None:
        author: Any = version.actor or version.client
        return None if author is None else str(author)
