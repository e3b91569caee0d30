"""Requests for a growth assessment, and its shape."""

from typing import Any

from rest_framework import serializers

from api.birds.rules.words import Context
from api.catalog.serializers import HEAVIEST_G, UnlistedSpeciesIn
from api.growth.rules.asked import FEATHERED
from api.growth.rules.assessment import Status
from api.growth.rules.record import MOST_WEIGHINGS
from api.web.reasons import BasisOut, CautionOut, ComputedByOut, number, texts
from api.web.rules.cautions import Severity
from api.web.strict import (
    OneOf,
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictDateField,
    StrictDateTimeField,
    StrictFloatField,
    StrictListField,
    StrictSerializer,
    TimeZoneField,
)
from species.domain.vocabulary import MilestoneKey


class WeighingIn(StrictSerializer):
    """One weighing; before the first feed, crop empty, tells most."""

    at = StrictDateTimeField()
    mass_g = StrictFloatField(greater_than=0, max_value=HEAVIEST_G)
    context = StrictChoiceField(required=False, choices=[word.value for word in Context])
    scale_step_g = StrictFloatField(required=False, greater_than=0, max_value=100)


class AgeTellIn(StrictSerializer):
    """An estimated age on a day."""

    on = StrictDateField()
    days = StrictFloatField(min_value=0, max_value=1000)
    sd_days = StrictFloatField(required=False, default=1.0, min_value=0, max_value=100)


class MilestoneTellIn(StrictSerializer):
    """A visible step of development, seen or looked for and not seen."""

    key = StrictChoiceField(choices=[word.value for word in MilestoneKey])
    seen = StrictBooleanField(required=False, default=True)


class AssessmentIn(StrictSerializer):
    """A bird's weighings, in any order."""

    species = StrictCharField(required=False, max_length=80, help_text="Key of a profile; GET /species lists them.")
    unlisted_species = UnlistedSpeciesIn(required=False)
    hatched_on = StrictDateField(required=False, help_text="Means noon of that day, give or take half a day.")
    hatched_at = StrictDateTimeField(required=False)
    age_estimate = AgeTellIn(required=False)
    weighings = StrictListField(child=WeighingIn(), min_length=1, max_length=MOST_WEIGHINGS)
    milestones = StrictListField(child=MilestoneTellIn(), required=False, max_length=62)
    sex = StrictChoiceField(required=False, choices=["female", "male", "unknown"])
    strain = StrictCharField(required=False, max_length=80)
    adult_mass_g = StrictFloatField(
        required=False,
        greater_than=0,
        max_value=HEAVIEST_G,
        help_text="Of this bird's strain, sex or parents, where it differs from the species.",
    )
    time_zone = TimeZoneField(required=False)
    on = StrictDateField(required=False, help_text="The forecast begins the day after; the last weighing's day.")
    weaning = StrictBooleanField(required=False, help_text="It is being weaned: some loss is expected.")

    alternatives = (
        OneOf(
            ("species", "unlisted_species"),
            missing="Give species, a key that GET /api/v1/species lists, or unlisted_species.",
        ),
        OneOf(
            ("hatched_on", "hatched_at", "age_estimate"),
            missing="How old is it? Give hatched_on, hatched_at or age_estimate.",
        ),
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        told = super().validate(attrs)
        seen = {milestone["key"] for milestone in told.pop("milestones", []) if milestone["seen"]}
        told.pop("sex", None)  # no profile tells the sexes apart; adult_mass_g does
        apart = {name: told.pop(name) for name in ("species", "unlisted_species") if name in told}
        return {**apart, "bird": {**told, "feathered": bool(FEATHERED & seen)}}


class CurveOut(serializers.Serializer[Any]):
    """The bird's own curve, with standard deviations of its posterior."""

    form = serializers.CharField()
    asymptote_g = number()
    rate_per_day = number()
    inflection_days = number()
    age_shift_days = number(help_text="How many days the bird is ahead of the age told.")
    asymptote_sd_g = number()
    rate_sd_per_day = number()
    inflection_sd_days = number()
    age_shift_sd_days = number()
    settled = serializers.BooleanField(help_text="False where no curve fits its weights: do not rely on it.")


class PointOut(serializers.Serializer[Any]):
    """A weighing among its species (3rd to 97th centile) and after its own record."""

    at = serializers.DateTimeField()
    age_days = number()
    mass_g = number()
    expected_g = number()
    low_g = number()
    high_g = number()
    centile = number(null=True)
    z = number(null=True)
    conditional_z = number(null=True)
    conditional_expected_g = number(null=True)
    gain_g_per_day = number(null=True)
    expected_gain_g_per_day = number(null=True)
    state = serializers.ChoiceField(choices=["accepted", "questioned"])
    index = serializers.IntegerField(help_text="Place in the request.")


class FindingOut(serializers.Serializer[Any]):
    """Something about its weight that asks for somebody, with the evidence and what to do."""

    code = serializers.CharField()
    severity = serializers.ChoiceField(choices=[word.value for word in Severity])
    act_within_h = number(null=True)
    since = serializers.DateTimeField()
    text = serializers.CharField()
    evidence = serializers.DictField()
    actions = texts()


class ForecastOut(serializers.Serializer[Any]):
    """What a weighing on that day should bring, with its 90 % interval."""

    on = serializers.DateField()
    expected_g = number()
    low_g = number()
    high_g = number()


class AssessmentOut(serializers.Serializer[Any]):
    """How a bird grows: its own curve, every weighing against it, findings, and the week to come."""

    curve = CurveOut()
    points = PointOut(many=True)
    status = serializers.ChoiceField(choices=[word.value for word in Status])
    findings = FindingOut(many=True)
    forecast = ForecastOut(many=True)
    cautions = CautionOut(many=True)
    basis = BasisOut(many=True)
    computed_by = ComputedByOut()
