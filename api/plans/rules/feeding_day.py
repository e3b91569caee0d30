"""First and last feed by the carer's clock, where the carer did not say."""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from api.plans.rules.request import FeedingDay
from species.domain.stage import Stage

#: Start of the day where none was told; the earlier one for feeding days that end at midnight (APN 06:00 to 24:00).
#: The later one is common practice, no source.
LONG_DAY_FIRST, DAY_FIRST = time(6), time(7)
LONG_DAY_H = 16.0
#: Length of the feeding day where the stage prints none: the shorter end for diurnal birds (HRB pp.430, 513).
FALLBACK_H = 12.0


def feeding_day_of(stage: Stage | None, told: FeedingDay | None) -> FeedingDay:
    """Give the carer's feeding day, or the stage's printed length from the usual start."""
    if told is not None:
        return told
    hours = stage.feeding_day_h.middle if stage and stage.feeding_day_h else FALLBACK_H
    first = LONG_DAY_FIRST if hours >= LONG_DAY_H else DAY_FIRST
    last_min = (first.hour * 60 + round(hours * 60)) % (24 * 60)
    return FeedingDay(first=first, last=time(*divmod(last_min, 60)))


def no_feed_yet(*, at: datetime, on: date, zone: ZoneInfo, last_fed_at: datetime | None, first: time) -> bool:
    """Whether the day's first feed is still to come: it is not yet time for it, or the last feed was another day's.

    Parameters
    ----------
    at
        The instant looked at, aware.
    on, zone
        The local day it belongs to.
    last_fed_at
        The feed before it; null where none was told.
    first
        First feed by the carer's clock.
    """
    if last_fed_at is not None:
        return last_fed_at.astimezone(zone).date() < on
    return at.astimezone(zone).time() < first
