"""Shapes of the answers that belong to no room."""

from datetime import UTC
from typing import Any

from rest_framework import serializers


class InstantOut(serializers.DateTimeField):
    """An instant in an answer: in UTC, whatever zone the server runs in."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"read_only": True, "default_timezone": UTC, **options})


class HealthOut(serializers.Serializer):
    status = serializers.ChoiceField(choices=["ok"])


class CheckOut(serializers.Serializer):
    ok = serializers.BooleanField()
    detail = serializers.CharField()
    took_ms = serializers.FloatField()


class ReadinessOut(serializers.Serializer):
    status = serializers.ChoiceField(choices=["ready"])
    checks = serializers.DictField(child=CheckOut())


class ProblemKindOut(serializers.Serializer):
    type = serializers.URLField()
    slug = serializers.SlugField()
    status = serializers.IntegerField()
    title = serializers.CharField()
    meaning = serializers.CharField()


class ProblemKindListOut(serializers.Serializer):
    results = ProblemKindOut(many=True)
