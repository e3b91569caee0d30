"""What was recorded of a bird's growth, in plain values."""

from datetime import date, datetime
from uuid import UUID

from api.birds.rules.words import Context, WeighingState
from api.growth.rules.asked import AgeTold
from species.domain.record import Record
from species.domain.vocabulary import MilestoneKey

#: An assessment is made of so many weighings at most; of a longer record, of the last.
MOST_WEIGHINGS = 400


class WeighingKept(Record, frozen=True, kw_only=True):
    """A weighing with what is held of it."""

    uid: UUID
    at: datetime
    mass_g: float
    context: Context = Context.UNKNOWN
    scale_step_g: float | None = None
    state: WeighingState = WeighingState.ACCEPTED


class MilestoneKept(Record, frozen=True, kw_only=True):
    """A step of development, seen, or looked for and not seen."""

    key: MilestoneKey
    seen: bool
    observed_at: datetime


class GrowthKept(Record, frozen=True, kw_only=True):
    """A bird's record as far as its growth goes, oldest first.

    Attributes
    ----------
    older
        There are weighings before those given.
    weaning_fed_at
        The last feed that was given to wean it.
    """

    time_zone: str
    weighings: tuple[WeighingKept, ...] = ()
    older: bool = False
    milestones: tuple[MilestoneKept, ...] = ()
    weaning_fed_at: datetime | None = None
    hatched_on: date | None = None
    hatched_at: datetime | None = None
    age_estimate: AgeTold | None = None
    strain: str | None = None
    adult_mass_g: float | None = None


def milestones_now(milestones: tuple[MilestoneKept, ...]) -> dict[MilestoneKey, bool]:
    """The last word on each step of development, in the order in which they were first looked for."""
    said: dict[MilestoneKey, bool] = {}
    for milestone in sorted(milestones, key=lambda milestone: milestone.observed_at):
        said[milestone.key] = milestone.seen
    return said
