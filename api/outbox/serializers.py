"""Shapes of the outbox in answers."""

from typing import Any

from rest_framework import serializers

from api.outbox.models import RecordVersion
from api.web.serializers import InstantOut


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
