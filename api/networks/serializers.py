"""Shapes of networks in requests and answers."""

from rest_framework import serializers

from api.networks.models import Membership, Role, SiteKind
from api.outbox.serializers import RecordOut
from api.web.serializers import InstantOut
from api.web.strict import (
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictListField,
    StrictSerializer,
    StrictTimeField,
    StrictUuidField,
    TimeZoneField,
)


class MemberOut(serializers.ModelSerializer):
    name = serializers.CharField(source="user.name", read_only=True)
    email = serializers.EmailField(source="user.email", read_only=True)
    joined_at = InstantOut()

    class Meta:
        model = Membership
        fields = ["id", "version", "name", "email", "role", "wants_report", "joined_at"]


class MemberChangeIn(StrictSerializer):
    """What is to be different; the rest stays."""

    role = StrictChoiceField(choices=Role.choices, required=False)
    wants_report = StrictBooleanField(
        required=False, help_text="Whether the daily report is sent by mail; to coordinators only."
    )


class MemberPageOut(serializers.Serializer):
    results = MemberOut(many=True)
    next = serializers.CharField(allow_null=True, help_text="Send it as cursor to get the page after this.")


class FeedingDayIn(StrictSerializer):
    """First and last feed by the clock on the wall; a `last` earlier than `first` is on the next day."""

    first = StrictTimeField()
    last = StrictTimeField()


class SiteChangeIn(StrictSerializer):
    """What is to be different; the rest stays."""

    name = StrictCharField(required=False)
    kind = StrictChoiceField(choices=SiteKind.choices, required=False)
    time_zone = TimeZoneField(required=False)
    feeding_day = FeedingDayIn(required=False, allow_null=True)
    note = StrictCharField(required=False, allow_blank=True, multiline=True, max_length=2000)
    carer_ids = StrictListField(
        child=StrictUuidField(),
        required=False,
        max_length=200,
        help_text="Members who feed here; a carer sees the birds of these sites only.",
    )


class SiteIn(SiteChangeIn):
    """A place where birds are fed."""

    id = StrictUuidField(required=False, help_text="Of your own choice; the service gives one where it is missing.")
    name = StrictCharField()
    kind = StrictChoiceField(choices=SiteKind.choices)
    time_zone = TimeZoneField(required=False, help_text="The network's if missing.")


class FeedingDayOut(serializers.Serializer):
    first = serializers.CharField()
    last = serializers.CharField()


class SiteOut(RecordOut):
    name = serializers.CharField()
    kind = serializers.ChoiceField(choices=SiteKind.choices)
    time_zone = serializers.CharField()
    feeding_day = FeedingDayOut(allow_null=True)
    note = serializers.CharField(allow_blank=True)
    carer_ids = serializers.ListField(child=serializers.UUIDField())
