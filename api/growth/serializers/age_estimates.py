"""Requests for an age, and the estimate."""

from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from api.catalog.serializers import HEAVIEST_G, UnlistedSpeciesIn
from api.growth.serializers.assessments import MilestoneTellIn
from api.web.reasons import BasisOut, CautionOut, ComputedByOut, number, texts
from api.web.strict import (
    OneOf,
    StrictCharField,
    StrictDateField,
    StrictFloatField,
    StrictListField,
    StrictSerializer,
)

FEWEST_CANDIDATES, MOST_CANDIDATES = 2, 20
MOST_MILESTONES = 62


class AgeEstimateIn(StrictSerializer):
    """What is seen of a bird of unknown age."""

    species = StrictCharField(required=False, max_length=80, help_text="Key of a profile; GET /species lists them.")
    unlisted_species = UnlistedSpeciesIn(required=False)
    candidates = StrictListField(
        required=False,
        child=StrictCharField(max_length=80),
        min_length=FEWEST_CANDIDATES,
        max_length=MOST_CANDIDATES,
        help_text="Keys of the species it may be.",
    )
    mass_g = StrictFloatField(required=False, greater_than=0, max_value=HEAVIEST_G)
    milestones = StrictListField(
        required=False,
        child=MilestoneTellIn(),
        max_length=MOST_MILESTONES,
        help_text="What was looked for; `seen` false where it was not there yet.",
    )
    on = StrictDateField(required=False, help_text="The day of it; today in Etc/UTC if missing.")

    alternatives = (
        OneOf(
            ("species", "unlisted_species", "candidates"),
            missing="Give species, a key that GET /api/v1/species lists, unlisted_species, or candidates.",
        ),
        OneOf(
            ("mass_g", "milestones"),
            missing="What tells its age? Give mass_g, milestones, or both.",
            several=True,
        ),
    )

    def validate_candidates(self, keys: list[str]) -> list[str]:
        if twice := sorted({key for key in keys if keys.count(key) > 1}):
            raise ValidationError([ErrorDetail(f"Name each candidate once: {', '.join(twice)}.", "repeated_candidate")])
        return keys

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        told = super().validate(attrs)
        apart = {name: told.pop(name) for name in ("species", "unlisted_species", "candidates") if name in told}
        return {**apart, "seen": told}


class LikelyDayOut(serializers.Serializer[Any]):
    """A whole day of age, half a day to each side."""

    days = serializers.IntegerField()
    probability = number()


class CandidateAgeOut(serializers.Serializer[Any]):
    """A species it may be: how probable among those asked about, and its age if it is one."""

    species = serializers.CharField(help_text="Key; the scientific name as told where the species is not listed.")
    probability = number()
    days = number()
    low_days = number()
    high_days = number()


class AgeEstimateOut(serializers.Serializer[Any]):
    """An age with its 90 % interval; of several candidates that of the most probable."""

    days = number(help_text="Median, to 0.1 d.")
    low_days = number()
    high_days = number()
    hatched_on = serializers.DateField()
    likely = serializers.ListField(child=LikelyDayOut(), help_text="The five most probable whole days, best first.")
    used = texts()
    candidates = serializers.ListField(child=CandidateAgeOut(), help_text="Most probable first.")
    cautions = serializers.ListField(child=CautionOut())
    basis = serializers.ListField(child=BasisOut())
    computed_by = ComputedByOut()
