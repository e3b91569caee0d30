"""Requests for a feeding plan: by POST with all that was seen, by GET with the little that a link can hold."""

from collections.abc import Mapping
from typing import Any

from rest_framework.exceptions import ErrorDetail, ValidationError

from api.plans.rules.plausible import OLDEST_DAYS
from api.plans.serializers.birds_told import HEAVIEST_G, BirdToldIn, UnlistedSpeciesIn
from api.plans.serializers.powders import PowderIn, powder_from
from api.web.strict import (
    QueryParameters,
    StrictCharField,
    StrictDateField,
    StrictFloatField,
    StrictTimeField,
    TimeZoneField,
)

NOT_THE_BIRD = ("species", "unlisted_species", "formula", "formula_key")
AGES = ("age_days", "hatched_on", "hatched_at", "mass_g")


class FeedingPlanIn(BirdToldIn):
    """A bird of a listed or an unlisted species; at least one of `age_days`, `hatched_on`, `hatched_at`, `mass_g`."""

    species = StrictCharField(required=False, max_length=80, help_text="Key of a profile; GET /species lists them.")
    unlisted_species = UnlistedSpeciesIn(required=False)
    formula = PowderIn(required=False)
    formula_key = StrictCharField(
        required=False, max_length=80, help_text="A formula of the catalogue; the profile's default where missing."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        errors: dict[str, list[ErrorDetail]] = {}
        if "species" not in attrs and "unlisted_species" not in attrs:
            errors["species"] = [
                ErrorDetail("Give species, a key that GET /api/v1/species lists, or unlisted_species.", "required")
            ]
        if "species" in attrs and "unlisted_species" in attrs:
            errors["unlisted_species"] = [
                ErrorDetail("Give either species or unlisted_species, not both.", "one_of_two")
            ]
        if "formula" in attrs and "formula_key" in attrs:
            errors["formula_key"] = [ErrorDetail("Give either formula or formula_key, not both.", "one_of_two")]
        errors |= _without_age(attrs)
        if errors:
            raise ValidationError(errors)
        if "formula" in attrs:
            attrs["formula"] = powder_from(attrs["formula"])
        return _bird_apart(attrs)


class FeedingPlanQuery(QueryParameters):
    """The plan of a well bird of the species, by its age or its mass."""

    age_days = StrictFloatField(required=False, min_value=0, max_value=OLDEST_DAYS)
    hatched_on = StrictDateField(required=False)
    mass_g = StrictFloatField(required=False, greater_than=0, max_value=HEAVIEST_G)
    on = StrictDateField(required=False, help_text="Today in `time_zone` where missing.")
    time_zone = TimeZoneField(required=False)
    first = StrictTimeField(required=False, help_text="First feed of the day; goes with `last`.")
    last = StrictTimeField(required=False, help_text="Last feed of the day; earlier than `first` is the next day.")
    formula_key = StrictCharField(required=False, max_length=80)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        errors = _without_age(attrs)
        for one, other in (("first", "last"), ("last", "first")):
            if one in attrs and other not in attrs:
                errors[other] = [ErrorDetail(f"A feeding day has two ends: give {other} with {one}.", "required")]
        if errors:
            raise ValidationError(errors)
        if "first" in attrs:
            attrs["feeding_day"] = {"first": attrs.pop("first"), "last": attrs.pop("last")}
        return _bird_apart(attrs)


def _bird_apart(attrs: Mapping[str, Any]) -> dict[str, Any]:
    """Species and food by their names, and all the rest under ``bird``."""
    apart = {name: value for name, value in attrs.items() if name in NOT_THE_BIRD}
    return {**apart, "bird": {name: value for name, value in attrs.items() if name not in NOT_THE_BIRD}}


def _without_age(attrs: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
    if any(name in attrs for name in AGES):
        return {}
    return {
        "age_days": [
            ErrorDetail(
                "How old is it? Give age_days, hatched_on or hatched_at, or at least mass_g to estimate from.",
                "required",
            )
        ]
    }
