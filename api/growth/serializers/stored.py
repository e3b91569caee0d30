"""The growth of a stored bird as it leaves the service."""

from typing import Any

from rest_framework import serializers

from api.birds.rules.words import WeighingState
from api.growth.serializers.assessments import AssessmentOut, PointOut
from api.web.reasons import number, texts
from api.web.strict import QueryParameters, StrictDateField


class GrowthQuery(QueryParameters):
    """From which day on to look ahead."""

    on = StrictDateField(required=False, help_text="The forecast begins the day after; the last weighing's day.")


class EstimatedAgeOut(serializers.Serializer[Any]):
    """An age on a day, from what was weighed and seen then, with its 90 % interval."""

    on = serializers.DateField()
    days = number()
    low_days = number()
    high_days = number()
    hatched_on = serializers.DateField()
    used = texts()


class AgeBasisOut(serializers.Serializer[Any]):
    """How its age is known: `hatched_at`, `hatched_on` or `age_estimate` as told, or `estimated`."""

    basis = serializers.CharField()
    estimate = EstimatedAgeOut(allow_null=True, help_text="Where nobody told an age.")


class StoredPointOut(PointOut):
    """A weighing as in an assessment, with its id and the state in which it is kept."""

    index = serializers.IntegerField(help_text="Place among the weighings used, in order of time.")
    weighing_id = serializers.UUIDField()
    weighing_state = serializers.ChoiceField(choices=[word.value for word in WeighingState])


class BirdGrowthOut(AssessmentOut):
    """How a stored bird grows."""

    bird_id = serializers.UUIDField()
    age = AgeBasisOut()
    points = StoredPointOut(many=True)
