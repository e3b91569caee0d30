"""One weight a day, so that a full crop is not taken for growth, nor an emptied one for a loss."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Protocol, TypeVar

from api.birds.rules.words import Context

#: What a crop may hold, as a share of mass: up to a tenth of the bird (APN).
CROP_HOLDS_FRACTION = 0.10
#: Emptiest first. Where it was not told, food may be on board.
_FULLNESS = {Context.BEFORE_FIRST_FEED: 0, Context.BEFORE_FEED: 0, Context.UNKNOWN: 1, Context.AFTER_FEED: 2}
_TELLS = (Context.BEFORE_FIRST_FEED, Context.BEFORE_FEED, Context.UNKNOWN, Context.AFTER_FEED)
#: Weighings further apart say nothing of how the last days went.
APART_AT_MOST_DAYS = 5.0
#: Gains smaller than this share of mass are no gain: scale, a dropping. Common practice, no source.
NO_GAIN_FRACTION = 0.005


class Weighed(Protocol):
    """What is needed of a weighing here."""

    @property
    def on(self) -> date: ...
    @property
    def age_days(self) -> float: ...
    @property
    def mass_g(self) -> float: ...
    @property
    def context(self) -> Context: ...


W = TypeVar("W", bound=Weighed)


def one_a_day(weighed: Iterable[W]) -> tuple[W, ...]:
    """The weighing of each day that tells most, in order of age: the emptiest, and of like ones the first."""
    best: dict[date, W] = {}
    for one in weighed:
        told = best.get(one.on)
        if told is None or _TELLS.index(one.context) < _TELLS.index(told.context):
            best[one.on] = one
    return tuple(sorted(best.values(), key=lambda one: one.age_days))


def alike(one: Context, other: Context) -> bool:
    """Whether two weighings were made in like state of the crop."""
    return _FULLNESS[one] == _FULLNESS[other]


def food_g(before: Weighed, after: Weighed) -> float:
    """Food that the earlier weighing may have held and the later one not, g; 0 where that cannot be."""
    emptier = _FULLNESS[after.context] < _FULLNESS[before.context]
    return CROP_HOLDS_FRACTION * before.mass_g if emptier else 0.0


def lost_fraction(before: Weighed, after: Weighed) -> float:
    """Share of the bird that is certainly gone between two weighings; below 0 where it gained."""
    return 1 - after.mass_g / (before.mass_g - food_g(before, after))


def without_gain(days: Sequence[W]) -> tuple[int, W]:
    """How many mornings up to the last brought no gain, and the weighing they began with.

    A gap of several days without gain counts all its mornings, up to :data:`APART_AT_MOST_DAYS`.
    """
    count, began = 0, days[-1]
    for later, earlier in zip(reversed(days), reversed(days[:-1]), strict=False):
        apart = later.age_days - earlier.age_days
        if apart > APART_AT_MOST_DAYS or lost_fraction(earlier, later) < -NO_GAIN_FRACTION:
            break
        count, began = count + max(round(apart), 1), earlier
    return count, began


def day_before(days: Sequence[W]) -> W | None:
    """The weighing of the day before the last, or of the nearest day that still speaks."""
    if len(days) < 2 or days[-1].age_days - days[-2].age_days > APART_AT_MOST_DAYS:
        return None
    return days[-2]
