"""What is told of one bird: shapes of a request for a plan. Whether it can be true is for the rules."""

from typing import Any

from api.birds.rules import words as told
from api.catalog.serializers import HEAVIEST_G
from api.networks.serializers import FeedingDayIn
from api.plans.rules.plausible import OLDEST_DAYS
from api.web.strict import (
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictDateField,
    StrictDateTimeField,
    StrictFloatField,
    StrictIntegerField,
    StrictListField,
    StrictSerializer,
    StrictTimeField,
    TimeZoneField,
)
from species.domain.vocabulary import MilestoneKey, Skill


def one_of(words: Any, **options: Any) -> StrictChoiceField:
    return StrictChoiceField(choices=[word.value for word in words], required=False, **options)


def mass_field(**options: Any) -> StrictFloatField:
    return StrictFloatField(required=False, greater_than=0, max_value=HEAVIEST_G, **options)


class LastFeedIn(StrictSerializer):
    """The feed before this one."""

    at = StrictDateTimeField()
    volume_ml = StrictFloatField(required=False, min_value=0, max_value=2000)
    mass_g = StrictFloatField(required=False, min_value=0, max_value=HEAVIEST_G)
    dry_matter_fraction = StrictFloatField(required=False, min_value=0, max_value=1)


class ConditionIn(StrictSerializer):
    """What was seen and felt; what is left out counts as unknown, and unknown is not fine."""

    body = one_of(told.Body)
    hydration = one_of(told.Hydration)
    dehydration_fraction = StrictFloatField(
        required=False, min_value=0, max_value=0.15, help_text="Share of body mass lost as water."
    )
    body_condition = one_of(told.BodyCondition)
    alertness = one_of(told.Alertness)
    swallowing = one_of(told.Swallowing)
    crop = one_of(told.Crop)
    crop_content = one_of(told.CropContent)
    crop_wall = one_of(told.CropWall)
    last_feed = LastFeedIn(required=False)
    droppings = one_of(told.Droppings)
    signs = StrictListField(
        child=StrictChoiceField(choices=[word.value for word in told.Sign]), required=False, max_length=40
    )


class GivenIn(StrictSerializer):
    """What the carer does now; it is held against the printed bands and comes back as cautions."""

    dry_matter_fraction = StrictFloatField(required=False, greater_than=0, max_value=1)
    temperature_c = StrictFloatField(required=False, min_value=-20, max_value=100)
    volume_ml = StrictFloatField(required=False, greater_than=0, max_value=2000)
    mass_g = mass_field()
    feeds_per_day = StrictIntegerField(required=False, min_value=1, max_value=200)


class MilestoneSeenIn(StrictSerializer):
    """A visible step of development, seen, or looked for and not seen."""

    key = StrictChoiceField(choices=[word.value for word in MilestoneKey])
    seen = StrictBooleanField(required=False, default=True)


class BirdToldIn(StrictSerializer):
    """One bird and one day, without its species and its food."""

    age_days = StrictFloatField(
        required=False, min_value=0, max_value=OLDEST_DAYS, help_text="Days since hatching; hatch day is 0."
    )
    hatched_on = StrictDateField(required=False, help_text="Means noon of that day, give or take half a day.")
    hatched_at = StrictDateTimeField(required=False)
    mass_g = mass_field(help_text="Weighed before the first feed, crop empty.")
    peak_mass_g = mass_field(help_text="The highest mass it has had so far; weaning is held against it.")
    on = StrictDateField(required=False, help_text="The day the plan is for; today in `time_zone` where missing.")
    time_zone = TimeZoneField(required=False)
    feeding_day = FeedingDayIn(required=False)
    condition = ConditionIn(required=False)
    given = GivenIn(required=False)
    milestones = StrictListField(child=MilestoneSeenIn(), required=False, max_length=62)
    sex = one_of(told.Sex)
    adult_mass_g = mass_field(help_text="Of this bird's strain or parents, where it differs from the species.")
    strain = StrictCharField(required=False, max_length=80)
    brood_size = StrictIntegerField(required=False, min_value=1, max_value=30)
    rearing = one_of(told.Rearing)
    origin = one_of(told.Origin)
    aim = one_of(told.Aim)
    species_certainty = one_of(told.Certainty)
    carer_skill = one_of(Skill)
    first_feed_in_care = StrictBooleanField(required=False)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # ``from`` is a word of Python's.
        fields["from"] = StrictTimeField(
            required=False, source="start_from", help_text="Rest of the day from this time on."
        )
        return fields
