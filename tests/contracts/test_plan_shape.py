"""The rules' records and the shapes that leave the service name the same fields: none is lost on the way out."""

from typing import Any, get_args
from zoneinfo import available_timezones

import msgspec
import pytest
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from api.plans.rules.mix import Mix
from api.plans.rules.plan import FeedingPlan
from api.plans.serializers.mixes import MixOut
from api.plans.serializers.plan_shape import FeedingPlanOut
from api.web.strict import TimeZoneField
from species.domain.errors import DomainError
from species.domain.localtime import zone_named


def record_within(annotation: Any) -> type[msgspec.Struct] | None:
    """The record in ``X``, ``X | None`` or ``tuple[X, ...]``."""
    if isinstance(annotation, type) and issubclass(annotation, msgspec.Struct):
        return annotation
    return next((found for part in get_args(annotation) if (found := record_within(part))), None)


def shape_within(field: serializers.Field) -> serializers.Serializer | None:
    if isinstance(field, serializers.Serializer):
        return field
    child = getattr(field, "child", None)
    return child if isinstance(child, serializers.Serializer) else None


def lost(record: type[msgspec.Struct], shape: serializers.Serializer, at: str = "") -> list[str]:
    missing = []
    for field in msgspec.structs.fields(record):
        if field.name not in shape.fields:
            missing.append(f"{at}/{field.name}")
            continue
        inner, inner_shape = record_within(field.type), shape_within(shape.fields[field.name])
        if inner is not None and inner_shape is not None:
            missing += lost(inner, inner_shape, f"{at}/{field.name}")
    return missing


@pytest.mark.parametrize(("record", "shape"), [(FeedingPlan, FeedingPlanOut), (Mix, MixOut)])
def test_no_field_of_a_record_is_lost_on_the_way_out(record, shape):
    assert lost(record, shape()) == []


def test_a_lost_field_would_be_noticed():
    class Poor(serializers.Serializer):
        decision = serializers.CharField()

    assert "/vet" in lost(FeedingPlan, Poor())


def test_field_and_rule_take_the_same_time_zones():
    def taken_by_rule(name: str) -> bool:
        try:
            zone_named(name)
        except DomainError:
            return False
        return True

    def taken_by_field(name: str) -> bool:
        try:
            TimeZoneField().run_validation(name)
        except ValidationError:
            return False
        return True

    names = [*available_timezones(), "+01:00", "UTC+2", "Mars/Olympus", ""]
    assert [name for name in names if taken_by_rule(name) != taken_by_field(name)] == []
