"""Shapes of the catalogue: parameters in, records out."""

from api.catalog.records import RecordSerializer
from api.catalog.selectors import GrowthCurveAnswer, RevisionsAnswer, SpeciesAnswer, SpeciesPage
from api.web.pagination import OffsetParameters
from api.web.strict import (
    QueryParameters,
    StrictCharField,
    StrictChoiceField,
    StrictFloatField,
    StrictIntegerField,
    StrictSerializer,
)
from species.domain.sourcing import Evidence
from species.domain.vocabulary import DevelopmentalMode, FoodGuild

#: No bird is heavier (an ostrich weighs up to about 156 kg); what is above was typed wrong.
HEAVIEST_G = 200_000


class UnlistedSpeciesIn(StrictSerializer):
    """A species without a profile: curve and ages come from adult mass, order and mode, food from the guild."""

    scientific_name = StrictCharField(max_length=120)
    order = StrictCharField(max_length=60)
    adult_mass_g = StrictFloatField(min_value=1, max_value=HEAVIEST_G)
    developmental_mode = StrictChoiceField(choices=[str(mode) for mode in DevelopmentalMode])
    food_guild = StrictChoiceField(
        required=False,
        choices=[str(guild) for guild in FoodGuild],
        help_text="Without it no food amounts are given: order and mass do not tell the diet.",
    )


class SpeciesListParameters(OffsetParameters):
    """What the list of species is narrowed by."""

    search = StrictCharField(
        required=False,
        max_length=100,
        help_text="A name in any language, scientific or not, synonyms too; forgiving of case, accents and typos. "
        "The best match comes first.",
    )
    order = StrictCharField(required=False, max_length=60, help_text="Taxonomic order, such as Psittaciformes.")
    family = StrictCharField(required=False, max_length=60, help_text="Taxonomic family, such as Cacatuidae.")
    diet = StrictChoiceField(
        required=False, choices=[str(guild) for guild in FoodGuild], help_text="What the young eat: food_guild."
    )
    evidence = StrictChoiceField(
        required=False, choices=[str(grade) for grade in Evidence], help_text="How far a profile may be trusted."
    )


class RevisionParameters(QueryParameters):
    """Which revision is read."""

    revision = StrictIntegerField(required=False, min_value=1, help_text="Its number; the current one without it.")


class SpeciesListOut(RecordSerializer):
    record = SpeciesPage
    prefix = "Species"


class SpeciesOut(RecordSerializer):
    record = SpeciesAnswer
    prefix = "Species"


class SpeciesRevisionsOut(RecordSerializer):
    record = RevisionsAnswer
    prefix = "Species"


class GrowthCurveOut(RecordSerializer):
    record = GrowthCurveAnswer
    prefix = "Species"
