"""Requests for a feeding plan: by POST with all that was seen, by GET with the little that a link can hold."""

from collections.abc import Mapping
from typing import Any

from rest_framework.exceptions import ErrorDetail

from api.catalog.serializers import HEAVIEST_G, UnlistedSpeciesIn
from api.kitchen.serializers import PowderIn, powder_from
from api.plans.rules.plausible import OLDEST_DAYS
from api.plans.serializers.birds_told import BirdToldIn
from api.web.strict import (
    OneOf,
    QueryParameters,
    StrictCharField,
    StrictDateField,
    StrictFloatField,
    StrictTimeField,
    TimeZoneField,
)

NOT_THE_BIRD = ("species", "unlisted_species", "formula", "formula_key")


class FeedingPlanIn(BirdToldIn):
    """A bird of a listed or an unlisted species; at least one of `age_days`, `hatched_on`, `hatched_at`, `mass_g`."""

    species = StrictCharField(required=False, max_length=80, help_text="Key of a profile; GET /species lists them.")
    unlisted_species = UnlistedSpeciesIn(required=False)
    formula = PowderIn(required=False)
    formula_key = StrictCharField(
        required=False, max_length=80, help_text="A formula of the catalogue; the profile's default where missing."
    )

    alternatives = (
        OneOf(
            ("species", "unlisted_species"),
            missing="Give species, a key that GET /api/v1/species lists, or unlisted_species.",
        ),
        OneOf(("formula", "formula_key")),
        OneOf(
            ("age_days", "hatched_on", "hatched_at", "mass_g"),
            several=True,
            missing="How old is it? Give age_days, hatched_on or hatched_at, or at least mass_g to estimate from.",
        ),
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        told = super().validate(attrs)
        if "formula" in told:
            told["formula"] = powder_from(told["formula"])
        return _bird_apart(told)


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

    alternatives = (
        OneOf(
            ("age_days", "hatched_on", "mass_g"),
            several=True,
            missing="How old is it? Give age_days or hatched_on, or at least mass_g to estimate from.",
        ),
    )

    def faults_between(self, attrs: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
        errors = super().faults_between(attrs)
        for one, other in (("first", "last"), ("last", "first")):
            if one in attrs and other not in attrs:
                errors[other] = [ErrorDetail(f"A feeding day has two ends: give {other} with {one}.", "required")]
        return errors

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        told = super().validate(attrs)
        if "first" in told:
            told["feeding_day"] = {"first": told.pop("first"), "last": told.pop("last")}
        return _bird_apart(told)


def _bird_apart(attrs: Mapping[str, Any]) -> dict[str, Any]:
    """Species and food by their names, and all the rest under ``bird``."""
    apart = {name: value for name, value in attrs.items() if name in NOT_THE_BIRD}
    return {**apart, "bird": {name: value for name, value in attrs.items() if name not in NOT_THE_BIRD}}
