"""Shapes of the outbox in answers."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.outbox.models import Change, RecordVersion
from api.outbox.selectors import LATEST
from api.web.pagination import PageSizeField
from api.web.serializers import InstantOut
from api.web.strict import QueryParameters, StrictIntegerField


class RecordOut(serializers.Serializer[Any]):
    """What every record tells of itself."""

    id = serializers.UUIDField()
    version = serializers.IntegerField(min_value=1)
    recorded_at = InstantOut()
    changed_at = InstantOut()


class RecordVersionOut(serializers.ModelSerializer[RecordVersion]):
    """A record as it stood after one change."""

    # Told here: the row's own range is another in every database.
    version = serializers.IntegerField(min_value=1)
    at = InstantOut()
    data = serializers.DictField()
    by = serializers.SerializerMethodField(help_text="Person or app that made the change; null for the service.")

    class Meta:
        model = RecordVersion
        fields = ["version", "op", "at", "by", "data"]

    def get_by(self, version: RecordVersion) -> str | None:
        author: Any = version.actor or version.client
        return None if author is None else str(author)


@extend_schema_field({"anyOf": [{"type": "integer", "minimum": 0}, {"type": "string", "const": LATEST}]})
class PositionField(StrictIntegerField):
    """A position of the feed, or the word for its end."""

    default_error_messages = {
        "wrong_type": f"A position is a whole number, or the word {LATEST}.",
        "page_out_of_range": "A position is a whole number from 0.",
    }

    def to_internal_value(self, data: Any) -> Any:
        return data if data == LATEST else super().to_internal_value(data)

    def within(self, value: float) -> Any:
        if value < 0:
            self.fail("page_out_of_range")
        return value


class ChangesParameters(QueryParameters):
    after = PositionField(
        required=False,
        help_text=(
            "The last `next`: what has changed since is told. Missing: from the oldest change that is kept. `latest`: "
            "nothing is told, and `next` is the end of the feed."
        ),
    )
    limit = PageSizeField(default=50)


class ChangeOut(serializers.ModelSerializer[Change]):
    """A record that has changed, as it stands since, or that is gone."""

    id = serializers.UUIDField(source="record_id")
    version = serializers.IntegerField(min_value=1)
    at = InstantOut()
    data = serializers.DictField(allow_null=True, help_text="The record as its own address tells it; null once gone.")

    class Meta:
        model = Change
        fields = ["position", "kind", "id", "op", "version", "at", "data"]


class ChangesOut(serializers.Serializer[Any]):
    changes = ChangeOut(many=True)
    next = serializers.IntegerField(help_text="The last position looked at: send it as after.")
    more = serializers.BooleanField(help_text="Whether there are more changes behind next now.")
    sight = serializers.CharField(
        help_text="Names what the token may see here. Once it differs, begin anew with a fresh copy."
    )
