"""What is told of a bird, in closed lists of words: docs/reference/words.md."""

from enum import StrEnum


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


class Context(StrEnum):
    """When in the round of feeds a bird was weighed."""

    BEFORE_FIRST_FEED = "before_first_feed"
    BEFORE_FEED = "before_feed"
    AFTER_FEED = "after_feed"
    UNKNOWN = "unknown"


class WeighingState(StrEnum):
    """Whether a weight is believed."""

    ACCEPTED = "accepted"
    QUESTIONED = "questioned"
    CONFIRMED = "confirmed"
    REJECTED = "rejected"


class Purpose(StrEnum):
    """What a feed was for."""

    ROUTINE = "routine"
    FIRST_FEED = "first_feed"
    RECOVERY = "recovery"
    TOP_UP = "top_up"
    FLUIDS = "fluids"
    WEANING = "weaning"


class Response(StrEnum):
    """How the bird took a feed."""

    EAGER = "eager"
    NORMAL = "normal"
    SLOW = "slow"
    REFUSED = "refused"
    REGURGITATED = "regurgitated"
    COUGHED = "coughed"
    LEAKED = "leaked"


class Isolation(StrEnum):
    """Why a bird is kept, and fed, apart."""

    NONE = "none"
    NEW_ARRIVAL = "new_arrival"
    QUARANTINE = "quarantine"
    SICK = "sick"


class OutcomeKind(StrEnum):
    """How a bird left care."""

    RELEASED = "released"
    RETURNED_TO_PARENTS = "returned_to_parents"
    FOSTERED = "fostered"
    TRANSFERRED = "transferred"
    PLACED = "placed"
    RETAINED = "retained"
    DIED = "died"
    EUTHANISED = "euthanised"
    DEAD_ON_ARRIVAL = "dead_on_arrival"
    ESCAPED = "escaped"


class CauseCertainty(StrEnum):
    """Who says why a bird died."""

    POST_MORTEM = "post_mortem"
    VET = "vet"
    CARER = "carer"
    UNKNOWN = "unknown"
