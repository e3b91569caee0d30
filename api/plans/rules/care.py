"""What was recorded of a bird's care, and what of it still speaks when the next feed is due."""

from datetime import datetime, timedelta
from itertools import takewhile

from api.birds.rules.words import (
    Aim,
    Certainty,
    Crop,
    CropContent,
    CropWall,
    Origin,
    Purpose,
    Rearing,
    Response,
    Sex,
    Sign,
)
from api.plans.rules.red_flags import SAME_DAY_H
from api.plans.rules.request import Condition, FeedingDay, LastFeed
from species.domain.record import Record

#: A look at the crop speaks for the feed that follows it within this time; later somebody has to look again. Common
#: practice, no source.
CROP_LOOK_SPEAKS = timedelta(hours=2)
#: A crop found stopped stays so until somebody looks again or feeds, for a day: a last feed or look longer ago means
#: that feeds and looks were not written down. Common practice, no source.
RECORD_SPEAKS = timedelta(hours=24)
#: A feed that came back is a matter for a vet the same day (red_flags.SIGNS).
CAME_BACK_SPEAKS = timedelta(hours=SAME_DAY_H)
#: Crops that are late, whatever the hour.
STOPPED = frozenset({Crop.NOT_EMPTIED, Crop.DISTENDED})
#: Looks that hold the next feeds to their size, until as many have found the crop empty (practice, rule 12).
SLOW = STOPPED | {Crop.RESIDUE}
CLEAR_LOOKS = 2
#: Of the last two feeds, these ways of taking one hold the next to its size (practice, rule 12).
NOT_TAKEN_WELL = frozenset({Response.SLOW, Response.REFUSED, Response.REGURGITATED, Response.COUGHED, Response.LEAKED})
FEEDS_LOOKED_AT = 2
#: A new arrival rests before it is handled (HRB pp.333, 395: 15 to 20 min); this long after, nobody waits for that.
RESTED_AFTER = timedelta(hours=1)
#: A bird with weighings this far apart was fed in between, whether or not that was written down.
FED_UNWRITTEN_AFTER = timedelta(hours=24)


class FeedKept(Record, frozen=True, kw_only=True):
    """A feed; of a run of feeds the last."""

    at: datetime
    purpose: Purpose = Purpose.ROUTINE
    volume_ml: float | None = None
    mass_g: float | None = None
    dry_matter_fraction: float | None = None
    response: Response | None = None


class CropLook(Record, frozen=True, kw_only=True):
    """A look at the crop; ``last_feed_at`` as the carer told it."""

    at: datetime
    crop: Crop
    crop_content: CropContent | None = None
    crop_wall: CropWall | None = None
    last_feed_at: datetime | None = None


class CareKept(Record, frozen=True, kw_only=True):
    """A bird's record as far as its feeding goes, beside its growth; feeds and looks oldest first, the last of them."""

    intake_at: datetime
    feeds: tuple[FeedKept, ...] = ()
    looks: tuple[CropLook, ...] = ()
    feeding_day: FeedingDay | None = None
    sex: Sex = Sex.UNKNOWN
    brood_size: int | None = None
    rearing: Rearing = Rearing.HAND
    origin: Origin = Origin.UNKNOWN
    aim: Aim = Aim.UNDECIDED
    species_certainty: Certainty = Certainty.CERTAIN


def condition_now(care: CareKept, *, at: datetime) -> Condition:
    """What the record still says of the bird's state; everything else is unknown, and so is looked at first.

    Parameters
    ----------
    care
        Its record up to ``at``.
    at
        The instant at which the next feed is thought of.

    Notes
    -----
    A look at the crop is void once the bird was fed. A stopped crop, not fed on since, stands for a day; a skin over
    the crop that is not normal, and a thing swallowed, stand until somebody looks again.
    """
    food = [feed for feed in care.feeds if feed.purpose is not Purpose.FLUIDS]
    last = food[-1] if food and at - food[-1].at <= RECORD_SPEAKS else None
    look = care.looks[-1] if care.looks else None
    told_at = _latest(last.at if last else None, look.last_feed_at if look else None)
    if told_at is not None and at - told_at > RECORD_SPEAKS:
        told_at = None
    fed_since = look is not None and any(feed.at > look.at for feed in care.feeds)
    speaks = look is not None and not fed_since and at - look.at <= _speaks_for(look)
    stays = look is not None and look.crop_content is CropContent.FOREIGN_OBJECT
    came_back = bool(care.feeds) and care.feeds[-1].response is Response.REGURGITATED
    return Condition(
        crop=look.crop if look and speaks else Crop.UNKNOWN,
        crop_content=look.crop_content if look and (speaks or stays) else None,
        crop_wall=look.crop_wall if look and (speaks or look.crop_wall is not CropWall.NORMAL) else None,
        last_feed=None if told_at is None else _last_feed(told_at, last),
        signs=(Sign.REGURGITATION,) if came_back and at - care.feeds[-1].at <= CAME_BACK_SPEAKS else (),
    )


def food_is_slow(care: CareKept, *, at: datetime) -> bool:
    """Whether the last day's looks and feeds hold the next feeds to their size."""
    looks = [look for look in care.looks if at - look.at <= RECORD_SPEAKS]
    clear = sum(1 for _ in takewhile(lambda look: look.crop is Crop.EMPTY, reversed(looks)))
    slow = any(look.crop in SLOW for look in looks) and clear < CLEAR_LOOKS
    feeds = [feed for feed in care.feeds[-FEEDS_LOOKED_AT:] if at - feed.at <= RECORD_SPEAKS]
    return slow or any(feed.response in NOT_TAKEN_WELL for feed in feeds)


def first_feed(care: CareKept, *, weighed_since: datetime | None, at: datetime) -> bool:
    """Whether the next feed is the first in care: none is recorded, and no weighing of a day ago says otherwise.

    Parameters
    ----------
    care
        Its record up to ``at``.
    weighed_since
        Its first weighing in care; null where it was not weighed.
    at
        The present instant.
    """
    fed = any(feed.purpose is not Purpose.FLUIDS for feed in care.feeds)
    return not fed and not (weighed_since is not None and at - weighed_since > FED_UNWRITTEN_AFTER)


def _speaks_for(look: CropLook) -> timedelta:
    return RECORD_SPEAKS if look.crop in STOPPED else CROP_LOOK_SPEAKS


def _latest(*instants: datetime | None) -> datetime | None:
    return max((instant for instant in instants if instant is not None), default=None)


def _last_feed(at: datetime, last: FeedKept | None) -> LastFeed:
    if last is None or last.at != at:
        return LastFeed(at=at)
    return LastFeed(at=at, volume_ml=last.volume_ml, mass_g=last.mass_g, dry_matter_fraction=last.dry_matter_fraction)
