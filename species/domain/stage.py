"""A stretch of a chick's life with one set of printed practice."""

from typing import Annotated

import msgspec

from species.domain.food import FoodKey
from species.domain.record import Record
from species.domain.sourcing import Band, Quantity, Sourced
from species.domain.vocabulary import Casting, MilestoneKey


class Ages(Sourced, frozen=True, kw_only=True):
    """Days from hatching (hatch day = 0): from ``from_day`` up to, not including, ``to_day``."""

    from_day: float
    to_day: Annotated[float | None, msgspec.Meta(description="None: until independence.")] = None


class Stage(Record, frozen=True, kw_only=True):
    """What practice prints for one stage. A blank means no printed value was found.

    ``interval_min`` is the time between feeds by day; ``feeds_per_day`` is given where practice counts feeds.
    ``volume_fraction`` is the share of the bird's actual mass in one feed of slurry; ``meal_fraction`` the same
    for solid food; ``daily_fraction`` the share eaten in a whole day; ``pieces_per_feed`` counts whole insects.
    """

    key: Annotated[str, msgspec.Meta(pattern=r"^[a-z][a-z0-9_]*$")]
    name: str
    ages: Ages
    opens_with: Annotated[
        tuple[MilestoneKey, ...],
        msgspec.Meta(description="A bird that shows any of these is at least in this stage."),
    ] = ()
    feathered: bool = False
    interval_min: Band | None = None
    feeds_per_day: Band | None = None
    feeding_day_h: Band | None = None
    night_feeds: Quantity | None = None
    crop_empties_h: Band | None = None
    volume_fraction: Band | None = None
    meal_fraction: Band | None = None
    daily_fraction: Band | None = None
    pieces_per_feed: Band | None = None
    max_piece_mm: Quantity | None = None
    foods: tuple[FoodKey, ...] = ()
    casting: Casting | None = None
    dry_matter_fraction: Band | None = None
    brooder_c: Band | None = None
    humidity_fraction: Band | None = None


class PrintedVolume(Sourced, frozen=True, kw_only=True):
    """One row of a printed table of slurry by mass: from ``from_g`` up to, not including, ``to_g``."""

    from_g: float
    to_g: float | None = None
    low_ml: float
    high_ml: float
    interval_low_min: float | None = None
    interval_high_min: float | None = None
