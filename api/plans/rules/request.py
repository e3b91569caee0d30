"""What a carer or an app says about one bird when it asks for a plan. Words: docs/reference/words.md."""

from datetime import date, datetime, time
from enum import StrEnum

from species.domain.record import Record
from species.domain.vocabulary import MilestoneKey, Skill


class Body(StrEnum):
    """How the bird feels to the hand."""

    WARM = "warm"
    COOL = "cool"
    COLD = "cold"
    HOT = "hot"
    UNKNOWN = "unknown"


class Hydration(StrEnum):
    """Degree of dehydration."""

    NORMAL = "normal"
    MILD = "mild"
    MODERATE = "moderate"
    SEVERE = "severe"
    UNKNOWN = "unknown"


class BodyCondition(StrEnum):
    """Breast muscle and fat."""

    GOOD = "good"
    THIN = "thin"
    EMACIATED = "emaciated"
    UNKNOWN = "unknown"


class Alertness(StrEnum):
    """How awake the bird is."""

    BRIGHT = "bright"
    QUIET = "quiet"
    WEAK = "weak"
    UNRESPONSIVE = "unresponsive"


class Swallowing(StrEnum):
    """Whether it swallows what is put in its mouth."""

    STRONG = "strong"
    WEAK = "weak"
    NONE = "none"
    UNKNOWN = "unknown"


class Crop(StrEnum):
    """Fill of the crop."""

    EMPTY = "empty"
    RESIDUE = "residue"
    PARTLY_FULL = "partly_full"
    FULL = "full"
    DISTENDED = "distended"
    NOT_EMPTIED = "not_emptied"
    NO_CROP = "no_crop"
    UNKNOWN = "unknown"


class CropContent(StrEnum):
    """What the crop holds, by touch or by light."""

    FOOD = "food"
    SEED = "seed"
    FLUID = "fluid"
    AIR = "air"
    FOREIGN_OBJECT = "foreign_object"


class CropWall(StrEnum):
    """Skin over the crop."""

    NORMAL = "normal"
    RED = "red"
    BLISTERED = "blistered"
    LEAKING = "leaking"


class Droppings(StrEnum):
    """Droppings since the last feed."""

    NORMAL = "normal"
    NONE_YET = "none_yet"
    NONE_SINCE_FEED = "none_since_feed"
    WATERY = "watery"
    GREEN = "green"
    UNDIGESTED = "undigested"
    BLOODY = "bloody"
    CHALKY = "chalky"


class Sign(StrEnum):
    """Things seen that a vet should know of."""

    CAT_OR_DOG_CONTACT = "cat_or_dog_contact"
    BLEEDING = "bleeding"
    WOUND = "wound"
    FRACTURE = "fracture"
    SPLAYED_LEGS = "splayed_legs"
    OPEN_MOUTH_BREATHING = "open_mouth_breathing"
    WET_BREATHING = "wet_breathing"
    FOOD_FROM_NOSTRILS = "food_from_nostrils"
    REGURGITATION = "regurgitation"
    SOUR_SMELL = "sour_smell"
    SEIZURE = "seizure"
    HEAD_TILT = "head_tilt"
    MOUTH_PLAQUES = "mouth_plaques"
    OILED = "oiled"
    FLY_EGGS_OR_MAGGOTS = "fly_eggs_or_maggots"
    AIR_UNDER_SKIN = "air_under_skin"
    YOLK_SAC_OUTSIDE = "yolk_sac_outside"
    PALE = "pale"
    EYE_INJURY = "eye_injury"


class Rearing(StrEnum):
    """Who feeds it."""

    HAND = "hand"
    TOPPED_UP = "topped_up"
    FOSTERED = "fostered"


class Origin(StrEnum):
    """Where it comes from."""

    WILD = "wild"
    CAPTIVE = "captive"
    UNKNOWN = "unknown"


class Aim(StrEnum):
    """What it is reared for."""

    RELEASE = "release"
    BREEDING = "breeding"
    COMPANION = "companion"
    UNDECIDED = "undecided"


class Certainty(StrEnum):
    """How sure the species is."""

    CERTAIN = "certain"
    PROBABLE = "probable"
    UNKNOWN = "unknown"


class Sex(StrEnum):
    """Sex of the bird."""

    FEMALE = "female"
    MALE = "male"
    UNKNOWN = "unknown"


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


class PowderComposition(Record, frozen=True, kw_only=True):
    """Mass fractions of a powder as sold."""

    water: float
    protein: float
    fat: float
    carbohydrate: float
    fibre: float
    ash: float


class Powder(Record, frozen=True, kw_only=True):
    """The powder in the carer's bag, complete: what was not told was filled in and said so."""

    dry_matter_fraction: float
    energy_kj_per_g_dm: float
    composition: PowderComposition | None = None
    bulk_density_g_per_ml: float | None = None
    sources: tuple[str, ...] = ()


class Given(Record, frozen=True, kw_only=True):
    """What the carer does now."""

    dry_matter_fraction: float | None = None
    temperature_c: float | None = None
    volume_ml: float | None = None
    mass_g: float | None = None
    feeds_per_day: int | None = None


class PlanRequest(Record, frozen=True, kw_only=True):
    """One bird, one day. At least one of the ages or the mass stands."""

    on: date
    time_zone: str = "Etc/UTC"
    time_zone_given: bool = False
    age_days: float | None = None
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
