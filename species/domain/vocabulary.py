"""The closed lists of words that profiles and plans share. Meanings: docs/reference/words.md."""

from enum import StrEnum


class DevelopmentalMode(StrEnum):
    """How far a chick is at hatching."""

    ALTRICIAL = "altricial"
    SEMI_ALTRICIAL = "semi_altricial"
    SEMI_PRECOCIAL = "semi_precocial"
    PRECOCIAL = "precocial"


class FoodGuild(StrEnum):
    """What the young of a species are fed on in the wild."""

    GRANIVORE = "granivore"
    CROP_MILK = "crop_milk"
    NECTARIVORE = "nectarivore"
    AERIAL_INSECTIVORE = "aerial_insectivore"
    INSECTIVORE = "insectivore"
    OMNIVORE = "omnivore"
    CARNIVORE = "carnivore"
    PISCIVORE = "piscivore"
    GRAZER = "grazer"


class Portion(StrEnum):
    """What one feed is made of."""

    SLURRY = "slurry"
    SOLID = "solid"
    MIXED = "mixed"


class FeedingKind(StrEnum):
    """How the young of a species are fed by hand."""

    SLURRY = "slurry"
    SOLID = "solid"
    MIXED = "mixed"
    SELF_FEEDING = "self_feeding"


class CurveForm(StrEnum):
    """Growth equation of a profile."""

    LOGISTIC = "logistic"
    GOMPERTZ = "gompertz"
    BERTALANFFY = "bertalanffy"


class Method(StrEnum):
    """How food reaches the bird."""

    SPOON = "spoon"
    SYRINGE = "syringe"
    SOFT_TIP_SYRINGE = "soft_tip_syringe"
    OPEN_TIP_SYRINGE = "open_tip_syringe"
    DROPPER = "dropper"
    BRUSH = "brush"
    FORCEPS = "forceps"
    FINGERS = "fingers"
    PUPPET = "puppet"
    DISH = "dish"
    TUBE = "tube"


class Skill(StrEnum):
    """Who may do it."""

    UNTRAINED = "untrained"
    TRAINED = "trained"
    VET = "vet"


class StopWhen(StrEnum):
    """What ends a feed."""

    GAPE_STOPS = "gape_stops"
    CROP_ROUNDED = "crop_rounded"
    PORTION_GIVEN = "portion_given"


class Casting(StrEnum):
    """How much fur, feather or chitin a meal may hold."""

    NONE = "none"
    SMALL = "small"
    NATURAL = "natural"


class MilestoneKey(StrEnum):
    """Visible steps of development, in the order they are usually seen."""

    YOLK_ABSORBED = "yolk_absorbed"
    DOWN_DRY = "down_dry"
    EARS_OPEN = "ears_open"
    EYES_SLIT = "eyes_slit"
    EYES_OPEN = "eyes_open"
    PINS_UNDER_SKIN = "pins_under_skin"
    PINS_VISIBLE = "pins_visible"
    SECOND_DOWN = "second_down"
    PINS_UNSHEATHING = "pins_unsheathing"
    TAIL_PINS_VISIBLE = "tail_pins_visible"
    BODY_FEATHERED = "body_feathered"
    DOWN_ON_HEAD_ONLY = "down_on_head_only"
    FACIAL_DISC_FORMED = "facial_disc_formed"
    FULLY_FEATHERED = "fully_feathered"
    TAIL_FULL_LENGTH = "tail_full_length"
    WING_TIPS_PAST_TAIL = "wing_tips_past_tail"
    WATERPROOF = "waterproof"
    HOLDS_TEMPERATURE = "holds_temperature"
    SITS_UPRIGHT = "sits_upright"
    STANDS = "stands"
    PERCHES = "perches"
    WING_EXERCISE = "wing_exercise"
    LEAVES_NEST = "leaves_nest"
    CASTS_PELLET = "casts_pellet"
    PICKS_AT_FOOD = "picks_at_food"
    SELF_FEEDS_SOME = "self_feeds_some"
    SELF_FEEDS_ALL = "self_feeds_all"
    BEGGING_STOPS = "begging_stops"
    CATCHES_PREY = "catches_prey"
    FIRST_FLIGHT = "first_flight"
    SUSTAINED_FLIGHT = "sustained_flight"
