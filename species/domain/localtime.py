"""Local clock times and real elapsed time, through every change of the clocks.

A carer reads a clock on the wall; a crop empties in real time. Between the two stands the zone: once a year
an hour of the wall clock does not exist, once a year it comes twice. Sums are done on the time line, in UTC,
and shown on the wall afterwards. Clock changes come from the IANA time zone database; how the two readings of
one wall time are told apart is PEP 495's ``fold``.
"""

import re
from datetime import UTC, date, datetime, time, timedelta
from difflib import get_close_matches
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

from species.domain.errors import DomainError

UNIVERSAL = frozenset({"UTC", "Etc/UTC"})
#: Written so, a zone is an offset or an abbreviation, whether or not the database happens to know it.
_OFFSET = re.compile(r"(UTC|GMT|Etc/GMT|Z)?[+-]?\d{1,2}(:?\d{2})?|Z|[A-Z]{2,5}(\d[A-Z]{3})?", re.ASCII)
#: No name of the database is longer.
_LONGEST_NAME = 64


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    return frozenset(available_timezones())


@lru_cache(maxsize=1)
def place_names() -> frozenset[str]:
    """Names of zones that carry a place's rules, ``Region/City``, and the two of universal time."""
    return frozenset(name for name in _known() if "/" in name and not name.startswith("Etc/")) | UNIVERSAL


def zone_named(name: str) -> ZoneInfo:
    """The zone of a place, by its IANA name.

    Parameters
    ----------
    name
        ``Europe/Lisbon``, or ``UTC``. An abbreviation or a fixed offset (``EST``, ``Etc/GMT-1``, ``+01:00``) is
        refused: ``EST`` has no summer time and ``Etc/GMT+5`` lies five hours *behind* UTC, so a feed would be lost
        in the night when the clocks change, or all be ten hours off.

    Raises
    ------
    DomainError
        ``time_zone_without_rules`` of a name that is not a place's, ``unknown_time_zone`` of one that is nobody's.
    """
    if name in place_names():
        return ZoneInfo("Etc/UTC" if name in UNIVERSAL else name)
    shown = name if len(name) <= _LONGEST_NAME else f"{name[:_LONGEST_NAME]}..."
    if name in _known() or _OFFSET.fullmatch(name):
        raise DomainError(
            f"'{shown}' is an abbreviation, a fixed offset or an old alias and does not tell when the clocks change.",
            field="/time_zone",
            code="time_zone_without_rules",
            remedy="Write Region/City, such as Europe/Lisbon or America/New_York, or UTC.",
        )
    near = _near(name) if len(name) <= _LONGEST_NAME else []
    raise DomainError(
        f"No time zone is called '{shown}'.",
        field="/time_zone",
        code="unknown_time_zone",
        remedy=f"Did you mean {' or '.join(near)}?" if near else "Write Region/City, such as Europe/Lisbon, or UTC.",
    )


def _near(name: str) -> list[str]:
    """Up to three known names: those of the same town, else those spelt most alike."""
    town = name.rsplit("/", 1)[-1].casefold()
    same_town = sorted(known for known in place_names() if known.rsplit("/", 1)[-1].casefold() == town)
    by_spelling = {known.casefold(): known for known in sorted(place_names())}
    return same_town[:3] or [by_spelling[spelt] for spelt in get_close_matches(name.casefold(), by_spelling)]


def instant_at(on: date, clock: time, zone: ZoneInfo) -> datetime:
    """The first instant at which the wall clock of ``zone`` reads ``clock`` on ``on``, or has gone past it.

    A time that is skipped when the clocks go forward becomes the instant of the change; a time that comes
    twice when they go back is its first coming.

    Parameters
    ----------
    on
        Local date.
    clock
        Local time of day, naive.
    zone
        Where the clock hangs.

    Returns
    -------
    Aware date-time in ``zone``.

    Raises
    ------
    DomainError
        Of a ``clock`` with an offset, or a date at the end of the calendar.
    """
    if clock.tzinfo is not None:
        raise DomainError("A clock time stands without offset: the zone gives it.", field="/time_zone")
    wall = datetime.combine(on, clock.replace(fold=0), tzinfo=zone)
    try:
        by_the_old_offset = wall.astimezone(UTC)
        by_the_new_offset = wall.replace(fold=1).astimezone(UTC)
    except OverflowError as end:
        raise DomainError(f"{on} is at the end of the calendar.", field="/on", remedy="Give a nearer date.") from end
    if by_the_new_offset >= by_the_old_offset:  # an ordinary time, or the first of two
        return by_the_old_offset.astimezone(zone)
    # Skipped. The change lies between the two readings: halve until its second stands alone.
    before, after = by_the_new_offset, by_the_old_offset
    new_offset = after.astimezone(zone).utcoffset()
    while after - before > timedelta(seconds=1):
        half = before + timedelta(seconds=(after - before) // timedelta(seconds=1) // 2)
        if half.astimezone(zone).utcoffset() == new_offset:
            after = half
        else:
            before = half
    return after.astimezone(zone)


def minutes_between(start: datetime, end: datetime) -> float:
    """Real minutes from ``start`` to ``end``, both aware; plain subtraction would compare wall clocks."""
    return (end.astimezone(UTC) - start.astimezone(UTC)) / timedelta(minutes=1)


def later(instant: datetime, minutes: float) -> datetime:
    """The instant ``minutes`` of real time after ``instant``, read on the same wall clock."""
    return (instant.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(instant.tzinfo)


def feeding_window(on: date, first: time, last: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """First and last instant of a feeding day; ``last`` earlier than ``first`` is on the next day.

    Returns
    -------
    Two aware date-times in ``zone``, the second not before the first.
    """
    ends_on = on + timedelta(days=1) if last < first else on
    return instant_at(on, first, zone), instant_at(ends_on, last, zone)
