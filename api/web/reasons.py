"""What every computed answer carries: cautions, the reasons of its numbers, and who computed it."""

from typing import Any

from rest_framework import serializers

from api.web.rules.cautions import Severity


def number(*, null: bool = False, **options: Any) -> serializers.FloatField:
    return serializers.FloatField(allow_null=null, **options)


def texts() -> serializers.ListField:
    return serializers.ListField(child=serializers.CharField())


class CautionOut(serializers.Serializer[Any]):
    """Something to know or to do, with the time it leaves."""

    code = serializers.CharField()
    severity = serializers.ChoiceField(choices=[word.value for word in Severity])
    act_within_h = number(null=True)
    text = serializers.CharField()
    sources = texts()


class BasisOut(serializers.Serializer[Any]):
    """Why a field has its value: the rule, called with `inputs`, gives `value`."""

    field = serializers.CharField(help_text="JSON pointer into this answer.")
    rule = serializers.CharField()
    inputs = serializers.DictField()
    value = serializers.JSONField()
    sources = texts()


class ComputedByOut(serializers.Serializer[Any]):
    """Which revision of the species' profile and which build of the service gave the answer."""

    revision = serializers.IntegerField(allow_null=True)
    build = serializers.CharField()
