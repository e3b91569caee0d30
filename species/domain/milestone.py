"""When a visible step of development is first seen."""

from species.domain.record import Record
from species.domain.sourcing import Band
from species.domain.vocabulary import MilestoneKey


class Milestone(Record, frozen=True, kw_only=True):
    """Ages at which the step is first seen in most birds."""

    key: MilestoneKey
    seen_days: Band
