"""Shapes of birds in requests and answers."""

from typing import Any

from rest_framework import serializers

from api.birds.rules.words import (
    Aim,
    CauseCertainty,
    Certainty,
    Isolation,
    Origin,
    OutcomeKind,
    Rearing,
    Sex,
)
from api.birds.serializers.told import ChangeIn, NewRecordIn, instant, mass_field, note_field, one_of, text, word
from api.catalog.serializers import HEAVIEST_G, UnlistedSpeciesIn
from api.outbox.serializers import RecordOut
from api.web.pagination import CursorParameters
from api.web.reasons import number, texts
from api.web.strict import (
    OneOf,
    StrictBooleanField,
    StrictCharField,
    StrictDateField,
    StrictDateTimeField,
    StrictFloatField,
    StrictIntegerField,
    StrictListField,
    StrictSerializer,
    StrictUuidField,
)
from species.domain.vocabulary import DevelopmentalMode, FoodGuild

#: Nothing is reared by hand for longer; common practice, no source.
OLDEST_DAYS = 1000


class MarkIn(StrictSerializer):
    """How it is told from the others; at least one of the three."""

    kind = StrictCharField(required=False, max_length=40, help_text="Such as ring, band, dot on the bill.")
    colour = StrictCharField(required=False, max_length=40)
    code = StrictCharField(required=False, max_length=40)

    alternatives = (OneOf(("kind", "colour", "code"), several=True, missing="Say something of the mark."),)


class AgeEstimatedIn(StrictSerializer):
    """An estimated age on a day; POST /api/v1/age-estimates makes one."""

    on = StrictDateField()
    days = StrictFloatField(min_value=0, max_value=OLDEST_DAYS)
    sd_days = StrictFloatField(required=False, default=1.0, min_value=0, max_value=100)


class IntakeIn(StrictSerializer):
    """When it came into care, why, from where, and what its finder fed it."""

    at = StrictDateTimeField(required=False, help_text="Now where it is missing.")
    reason = StrictCharField(required=False)
    located_at = StrictCharField(required=False)
    finder_fed = StrictCharField(required=False)


class IntakeChangeIn(IntakeIn):
    """Parts of the intake that are to be different; an empty text is not told any more."""

    reason = StrictCharField(required=False, allow_blank=True)
    located_at = StrictCharField(required=False, allow_blank=True)
    finder_fed = StrictCharField(required=False, allow_blank=True)


class BirdIn(NewRecordIn):
    """A bird that comes into care. Where nothing tells its age, it is estimated from its weight."""

    name = StrictCharField(max_length=100)
    site_id = StrictUuidField(help_text="Where it is fed.")
    species = StrictCharField(required=False, max_length=80, help_text="Key of a profile; GET /species lists them.")
    unlisted_species = UnlistedSpeciesIn(required=False)
    species_certainty = one_of(Certainty, help_text="Neither species is needed where it is unknown.")
    mark = MarkIn(required=False)
    sex = one_of(Sex)
    strain = StrictCharField(required=False, max_length=80)
    adult_mass_g = StrictFloatField(
        required=False,
        greater_than=0,
        max_value=HEAVIEST_G,
        help_text="Of this bird's strain, sex or parents, where it differs from the species.",
    )
    hatched_on = StrictDateField(required=False, help_text="Means noon of that day, give or take half a day.")
    hatched_at = StrictDateTimeField(required=False)
    age_estimate = AgeEstimatedIn(required=False)
    intake = IntakeIn(required=False)
    origin = one_of(Origin)
    aim = one_of(Aim)
    rearing = one_of(Rearing)
    brood_size = StrictIntegerField(required=False, min_value=1, max_value=30)
    isolation = one_of(Isolation)
    formula_key = StrictCharField(
        required=False, max_length=80, help_text="One of the network's formulas or of the catalogue."
    )
    note = note_field()

    alternatives = (OneOf(("species", "unlisted_species")), OneOf(("hatched_on", "hatched_at", "age_estimate")))


class BirdChangeIn(ChangeIn, BirdIn):
    """What is to be different of a bird; the rest stays.

    A species takes the place of the one told before, listed or not; so does a hatching day, an instant or an estimate
    of each other. A null takes back what was told. Site and outcome have addresses of their own.
    """

    fixed = ("id", "site_id")
    clearable = (
        "species",
        "unlisted_species",
        "mark",
        "strain",
        "adult_mass_g",
        "hatched_on",
        "hatched_at",
        "age_estimate",
        "brood_size",
        "formula_key",
    )
    intake = IntakeChangeIn(required=False)


class BirdParameters(CursorParameters):
    """What the list of birds is narrowed by."""

    site_id = StrictUuidField(required=False)
    species = StrictCharField(required=False, max_length=80, help_text="Key of a profile.")
    in_care = StrictBooleanField(required=False, help_text="true: not left yet; false: left.")


class MoveIn(StrictSerializer):
    """To which site a bird is brought, and when."""

    site_id = StrictUuidField()
    at = StrictDateTimeField(required=False, help_text="Now where it is missing.")


class ReleaseIn(StrictSerializer):
    """How a bird was set free."""

    method = StrictCharField(required=False)
    mass_g = mass_field(required=False, greater_than=0)
    ring = StrictCharField(required=False, max_length=80)
    place = StrictCharField(required=False)


class OutcomeIn(StrictSerializer):
    """How and when a bird left care."""

    kind = one_of(OutcomeKind, required=True)
    at = StrictDateTimeField()
    causes = StrictListField(child=StrictCharField(), required=False, max_length=20)
    cause_certainty = one_of(CauseCertainty)
    release = ReleaseIn(required=False, help_text="Of a bird that was released, fostered or returned to its parents.")
    note = note_field()


class UnlistedSpeciesOut(serializers.Serializer[Any]):
    scientific_name = serializers.CharField()
    order = serializers.CharField()
    adult_mass_g = number()
    developmental_mode = word(DevelopmentalMode)
    food_guild = word(FoodGuild, required=False)


class MarkOut(serializers.Serializer[Any]):
    kind = serializers.CharField(required=False)
    colour = serializers.CharField(required=False)
    code = serializers.CharField(required=False)


class AgeEstimatedOut(serializers.Serializer[Any]):
    on = serializers.DateField()
    days = number()
    sd_days = number()


class IntakeOut(serializers.Serializer[Any]):
    at = instant()
    reason = text()
    located_at = text()
    finder_fed = text()


class ReleasedOut(serializers.Serializer[Any]):
    method = serializers.CharField(required=False)
    mass_g = number(required=False)
    ring = serializers.CharField(required=False)
    place = serializers.CharField(required=False)


class OutcomeOut(serializers.Serializer[Any]):
    kind = word(OutcomeKind)
    at = instant()
    causes = texts()
    cause_certainty = word(CauseCertainty)
    release = ReleasedOut(allow_null=True)
    note = serializers.CharField(allow_blank=True)


class BirdOut(RecordOut):
    """A bird, as ``told`` tells it."""

    name = serializers.CharField()
    site_id = serializers.UUIDField()
    species = text()
    unlisted_species = UnlistedSpeciesOut(allow_null=True)
    species_certainty = word(Certainty)
    mark = MarkOut(allow_null=True)
    sex = word(Sex)
    strain = text()
    adult_mass_g = number(null=True)
    hatched_on = serializers.DateField(allow_null=True)
    hatched_at = instant(allow_null=True)
    age_estimate = AgeEstimatedOut(allow_null=True)
    intake = IntakeOut()
    origin = word(Origin)
    aim = word(Aim)
    rearing = word(Rearing)
    brood_size = serializers.IntegerField(allow_null=True)
    isolation = word(Isolation)
    formula_key = text()
    note = serializers.CharField(allow_blank=True)
    outcome = OutcomeOut(allow_null=True, help_text="Null while it is in care.")
