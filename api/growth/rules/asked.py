"""What is told of a bird whose growth is to be judged."""

from datetime import date, datetime

from api.birds.rules.words import Context
from species.domain.record import Record
from species.domain.vocabulary import MilestoneKey

#: A bird that shows one of these counts as feathered, whatever its age.
FEATHERED = frozenset({MilestoneKey.BODY_FEATHERED, MilestoneKey.FULLY_FEATHERED})


class Weighing(Record, frozen=True, kw_only=True):
    """One weighing, with its place in the request.

    Attributes
    ----------
    confirmed
        Somebody looked and says that it is this bird's: it is believed.
    questioned
        It was asked about and nobody has answered yet: nothing is reckoned from it, however well it may fit by now.
    """

    at: datetime
    mass_g: float
    context: Context = Context.UNKNOWN
    scale_step_g: float | None = None
    index: int
    confirmed: bool = False
    questioned: bool = False


class AgeTold(Record, frozen=True, kw_only=True):
    """An estimate of the age on a day, with its standard deviation."""

    on: date
    days: float
    sd_days: float


class GrowthAsked(Record, frozen=True, kw_only=True):
    """A bird and its weighings; one of the three ways to tell its age stands."""

    weighings: tuple[Weighing, ...]
    time_zone: str
    hatched_on: date | None = None
    hatched_at: datetime | None = None
    age_estimate: AgeTold | None = None
    strain: str | None = None
    adult_mass_g: float | None = None
    on: date | None = None
    weaning: bool = False
    feathered: bool = False
