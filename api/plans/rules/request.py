"""What a carer or an app says about one bird when it asks for a plan. Words: docs/reference/words.md."""

from datetime import date, datetime, time

from api.birds.rules.words import (
    Aim,
    Alertness,
    Body,
    BodyCondition,
    Certainty,
    Crop,
    CropContent,
    CropWall,
    Droppings,
    Hydration,
    Origin,
    Rearing,
    Sex,
    Sign,
    Swallowing,
)
from api.kitchen.rules.powders import Powder
from species.domain.record import Record
from species.domain.vocabulary import MilestoneKey, Skill


class LastFeed(Record, frozen=True, kw_only=True):
    """The feed before this one."""

    at: datetime
    volume_ml: float | None = None
    mass_g: float | None = None
    dry_matter_fraction: float | None = None


class Condition(Record, frozen=True, kw_only=True):
    """What was seen and felt. What was not told is unknown, and unknown is not fine."""

    body: Body = Body.UNKNOWN
    hydration: Hydration = Hydration.UNKNOWN
    dehydration_fraction: float | None = None
    body_condition: BodyCondition = BodyCondition.UNKNOWN
    alertness: Alertness | None = None
    swallowing: Swallowing = Swallowing.UNKNOWN
    crop: Crop = Crop.UNKNOWN
    crop_content: CropContent | None = None
    crop_wall: CropWall | None = None
    last_feed: LastFeed | None = None
    droppings: Droppings | None = None
    signs: tuple[Sign, ...] = ()


class MilestoneSeen(Record, frozen=True, kw_only=True):
    """A visible step of development, seen or looked for and not seen."""

    key: MilestoneKey
    seen: bool


class FeedingDay(Record, frozen=True, kw_only=True):
    """First and last feed of the day by the carer's clock; ``last`` earlier than ``first`` is next day."""

    first: time
    last: time


class Given(Record, frozen=True, kw_only=True):
    """What the carer does now."""

    dry_matter_fraction: float | None = None
    temperature_c: float | None = None
    volume_ml: float | None = None
    mass_g: float | None = None
    feeds_per_day: int | None = None


class Lately(Record, frozen=True, kw_only=True):
    """What the record of a stored bird says of its last days; of a bird that is only told, nothing.

    Attributes
    ----------
    no_gain
        Its weights stood still or fell (true), rose (false); null where they do not tell.
    being_weaned
        It is being weaned.
    weaning_loss
        It has lost more of its own peak than weaning allows.
    food_slow
        Feeds were refused or came back, or the crop was slow and has not been clear twice since.
    rested
        It has been in care for longer than a new arrival rests, or has been handled since.
    last_weighed_g
        Its last weight, where that is too old to feed by.
    forecast_low_g
        Low end of what its own curve expects of it now; null where that is too far ahead, or no curve is known.
    """

    no_gain: bool | None = None
    being_weaned: bool = False
    weaning_loss: bool = False
    food_slow: bool = False
    rested: bool = False
    last_weighed_g: float | None = None
    forecast_low_g: float | None = None


class PlanRequest(Record, frozen=True, kw_only=True):
    """One bird, one day. At least one of the ages or the mass stands.

    ``age_sd_days`` stands beside an age that was estimated.
    """

    on: date
    time_zone: str = "Etc/UTC"
    time_zone_given: bool = False
    age_days: float | None = None
    age_sd_days: float | None = None
    hatched_on: date | None = None
    hatched_at: datetime | None = None
    mass_g: float | None = None
    peak_mass_g: float | None = None
    start_from: time | None = None
    feeding_day: FeedingDay | None = None
    powder: Powder | None = None
    condition: Condition = Condition()
    given: Given | None = None
    milestones: tuple[MilestoneSeen, ...] = ()
    sex: Sex = Sex.UNKNOWN
    adult_mass_g: float | None = None
    strain: str | None = None
    brood_size: int | None = None
    rearing: Rearing = Rearing.HAND
    origin: Origin = Origin.UNKNOWN
    aim: Aim = Aim.UNDECIDED
    species_certainty: Certainty = Certainty.CERTAIN
    carer_skill: Skill = Skill.UNTRAINED
    first_feed_in_care: bool | None = None
    lately: Lately = Lately()
