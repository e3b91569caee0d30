"""Shapes of what is recorded of a bird, in requests and answers."""

from typing import Any

from rest_framework import serializers

from api.birds.rules.words import (
    Context,
    Crop,
    CropContent,
    CropWall,
    Purpose,
    Response,
    WeighingState,
)
from api.birds.serializers.told import (
    LARGEST_ML,
    ChangeIn,
    NewRecordIn,
    instant,
    mass_field,
    note_field,
    one_of,
    text,
    word,
)
from api.outbox.serializers import RecordOut
from api.web.pagination import CursorParameters
from api.web.reasons import number
from api.web.strict import (
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictDateTimeField,
    StrictDecimalField,
    StrictFloatField,
    StrictIntegerField,
    StrictUuidField,
)
from species.domain.errors import DomainError
from species.domain.vocabulary import Method, MilestoneKey

#: What somebody who has looked may say of a weight.
ANSWERS = (WeighingState.CONFIRMED.value, WeighingState.REJECTED.value)


class RecordParameters(CursorParameters):
    """What a list of records is narrowed by: `from` belongs to the span, `to` does not."""

    bird_id = StrictUuidField(required=False)
    site_id = StrictUuidField(required=False)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # ``from`` is a word of Python's.
        fields["from"] = StrictDateTimeField(required=False, source="since", help_text="At this instant or later.")
        fields["to"] = StrictDateTimeField(required=False, source="before", help_text="Before this instant.")
        return fields

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        told = super().validate(attrs)
        if "since" in told and "before" in told and told["since"] >= told["before"]:
            raise DomainError(
                "The span ends before it begins.",
                field="/to",
                code="no_span",
                remedy="Let to be later than from.",
            )
        return told


class OfABirdIn(NewRecordIn):
    """What is recorded of a bird."""

    bird_id = StrictUuidField()
    note = note_field()


class WeighingRecordIn(OfABirdIn):
    """One weight. Before the first feed, crop empty, tells most."""

    at = StrictDateTimeField()
    mass_g = mass_field(greater_than=0)
    context = one_of(Context)
    scale_step_g = StrictDecimalField(
        places=3, required=False, greater_than=0, max_value=1000, help_text="Smallest step that the scale shows."
    )


class WeighingRecordChangeIn(ChangeIn, WeighingRecordIn):
    """What is to be different of a weighing; `bird_id` where the wrong bird was named.

    `state` answers whether this is the bird's weight. Another mass, or another bird's, is judged anew.
    """

    clearable = ("scale_step_g",)
    state = StrictChoiceField(choices=list(ANSWERS), required=False)


class FeedRecordIn(OfABirdIn):
    """One feed, or with `count` and `until` a run of small ones; amounts are those of one feed."""

    at = StrictDateTimeField(help_text="Of the first feed of a run.")
    until = StrictDateTimeField(required=False, help_text="Time of the last feed of a run.")
    count = StrictIntegerField(required=False, min_value=1, max_value=200)
    purpose = one_of(Purpose)
    food = StrictCharField(required=False, max_length=80)
    volume_ml = StrictDecimalField(places=3, required=False, min_value=0, max_value=LARGEST_ML)
    mass_g = mass_field(required=False, min_value=0)
    dry_matter_fraction = StrictFloatField(required=False, greater_than=0, max_value=1)
    temperature_c = StrictDecimalField(
        places=2, required=False, min_value=-20, max_value=100, help_text="In the syringe."
    )
    method = one_of(Method)
    response = one_of(Response)


class FeedRecordChangeIn(ChangeIn, FeedRecordIn):
    """What is to be different of a feed; a null takes back what was told."""

    clearable = (
        "until",
        "food",
        "volume_ml",
        "mass_g",
        "dry_matter_fraction",
        "temperature_c",
        "method",
        "response",
    )


class CropCheckRecordIn(OfABirdIn):
    """A look at the crop."""

    at = StrictDateTimeField()
    crop = one_of(Crop, required=True)
    crop_content = one_of(CropContent)
    crop_wall = one_of(CropWall)
    last_feed_at = StrictDateTimeField(required=False, help_text="Where it is not among the feeds recorded.")


class CropCheckRecordChangeIn(ChangeIn, CropCheckRecordIn):
    """What is to be different of a crop check; a null takes back what was told."""

    clearable = ("crop_content", "crop_wall", "last_feed_at")


class MilestoneRecordIn(OfABirdIn):
    """A visible step of development, seen, or looked for and not seen."""

    key = one_of(MilestoneKey, required=True)
    seen = StrictBooleanField(required=False)
    observed_at = StrictDateTimeField()
    last_absent_at = StrictDateTimeField(required=False, help_text="When it was last looked for and not there yet.")


class MilestoneRecordChangeIn(ChangeIn, MilestoneRecordIn):
    """What is to be different of a milestone; a null takes back what was told."""

    clearable = ("last_absent_at",)


class QuestionOut(serializers.Serializer[Any]):
    """Why a weight is asked about."""

    expected_g = number()
    meant_g = number(null=True, help_text="What was meant, where a slip of the pen explains it.")


class WeighingRecordOut(RecordOut):
    """A weighing, as ``told`` tells it."""

    bird_id = serializers.UUIDField()
    at = instant()
    mass_g = number()
    context = word(Context)
    scale_step_g = number(null=True)
    state = word(WeighingState)
    question = QuestionOut(allow_null=True)
    note = serializers.CharField(allow_blank=True)


class FeedRecordOut(RecordOut):
    """A feed, as ``told`` tells it."""

    bird_id = serializers.UUIDField()
    at = instant()
    until = instant(allow_null=True)
    count = serializers.IntegerField()
    purpose = word(Purpose)
    food = text()
    volume_ml = number(null=True)
    mass_g = number(null=True)
    dry_matter_fraction = number(null=True)
    temperature_c = number(null=True)
    method = word(Method, allow_null=True)
    response = word(Response, allow_null=True)
    note = serializers.CharField(allow_blank=True)


class CropCheckRecordOut(RecordOut):
    """A crop check, as ``told`` tells it."""

    bird_id = serializers.UUIDField()
    at = instant()
    crop = word(Crop)
    crop_content = word(CropContent, allow_null=True)
    crop_wall = word(CropWall, allow_null=True)
    last_feed_at = instant(allow_null=True)
    note = serializers.CharField(allow_blank=True)


class MilestoneRecordOut(RecordOut):
    """A milestone, as ``told`` tells it."""

    bird_id = serializers.UUIDField()
    key = word(MilestoneKey)
    seen = serializers.BooleanField()
    observed_at = instant()
    last_absent_at = instant(allow_null=True)
    note = serializers.CharField(allow_blank=True)
