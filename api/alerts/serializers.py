"""Shapes of alerts in requests and answers."""

from typing import Any

from rest_framework import serializers

from api.alerts.models import AlertState, Resolution
from api.alerts.rules.words import StateAsked
from api.outbox.serializers import RecordOut
from api.web.pagination import CursorParameters
from api.web.rules.cautions import Severity
from api.web.serializers import InstantOut
from api.web.strict import (
    OneOf,
    StrictCharField,
    StrictChoiceField,
    StrictDateTimeField,
    StrictFloatField,
    StrictSerializer,
    StrictUuidField,
)

_SEVERITIES = [word.value for word in Severity]


class AlertParameters(CursorParameters):
    state = StrictChoiceField(
        choices=[word.value for word in StateAsked],
        default=StateAsked.NOT_RESOLVED.value,
        help_text="Those that have not ended, unless asked for otherwise.",
    )
    severity = StrictChoiceField(choices=_SEVERITIES, required=False)
    code = StrictCharField(max_length=64, required=False, help_text="What was found, such as `weight_loss`.")
    bird_id = StrictUuidField(required=False)
    site_id = StrictUuidField(required=False)


def _note(**options: Any) -> StrictCharField:
    return StrictCharField(max_length=2000, multiline=True, **options)


class AcknowledgeIn(StrictSerializer):
    """Somebody has seen it and is at it."""

    note = _note(required=False)


class ResolveIn(StrictSerializer):
    """It is over, and why."""

    note = _note(help_text="What was found and done. The next reader has nothing else to go by.")


class SnoozeIn(StrictSerializer):
    """Not now, but soon."""

    until = StrictDateTimeField(required=False)
    hours = StrictFloatField(required=False, greater_than=0, help_text="From now on.")
    note = _note(required=False)

    alternatives = (OneOf(("hours", "until"), missing="Say until when: give hours or until."),)


class AcknowledgedByOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()


class AlertOut(RecordOut):
    code = serializers.CharField(help_text="What was found; an open list, docs/reference/codes.md.")
    severity = serializers.ChoiceField(
        choices=_SEVERITIES, help_text="The gravest since it opened: an alert grows no milder while it is open."
    )
    state = serializers.ChoiceField(choices=AlertState.choices)
    bird_id = serializers.UUIDField(allow_null=True, help_text="Null where it is about the site.")
    site_id = serializers.UUIDField()
    since = InstantOut(help_text="When what was found began, by the records.")
    opened_at = InstantOut()
    escalated_at = InstantOut(allow_null=True)
    last_found_at = InstantOut(help_text="Time of the record by which it was found last.")
    act_within_h = serializers.FloatField(allow_null=True)
    text = serializers.CharField()
    evidence = serializers.DictField(help_text="What it was found by, as it was then.")
    actions = serializers.ListField(child=serializers.CharField())
    acknowledged_at = InstantOut(allow_null=True)
    acknowledged_by = AcknowledgedByOut(allow_null=True, help_text="Null for an app on its own.")
    snoozed_until = InstantOut(allow_null=True)
    resolved_at = InstantOut(allow_null=True)
    resolution = serializers.ChoiceField(choices=Resolution.choices, allow_null=True)
    note = serializers.CharField(allow_blank=True)
