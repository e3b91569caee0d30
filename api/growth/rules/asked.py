"""What is told of a bird whose growth is to be judged."""

from datetime import date, datetime
from enum import StrEnum

from species.domain.record import Record


class Context(StrEnum):
    """When in the round of feeds a bird was weighed."""

    BEFORE_FIRST_FEED = "before_first_feed"
    BEFORE_FEED = "before_feed"
    AFTER_FEED = "after_feed"
    UNKNOWN = "unknown"


class Weighing(Record, frozen=True, kw_only=True):
    """One weighing, with its place in the request."""

    at: datetime
    mass_g: float
    context: Context = Context.UNKNOWN
    scale_step_g: float | None = None
    index: int


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
