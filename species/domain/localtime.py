"""Local clock times and real elapsed time, through every change of the clocks.

A carer reads a clock on the wall; a crop empties in real time. Between the two stands the zone: once a year
an hour of the wall clock does not exist, once a year it comes twice. Sums are done on the time line, in UTC,
and shown on the wall afterwards. Clock changes come from the IANA time zone database; how the two readings of
one wall time are told apart is PEP 495's ``fold``.
"""

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

from species.domain.errors import DomainError

UNIVERSAL = frozenset({"UTC", "Etc/UTC"})


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    return frozenset(available_timezones())


def zone_named(name: str) -> ZoneInfo:
    """The zone of a place, by its IANA name.

    Parameters
    ----------
    name
        ``Europe/Lisbon``, or ``Etc/UTC``. An abbreviation or a fixed offset (``EST``, ``Etc/GMT-1``,
        ``+01:00``) is refused: it does not tell when the clocks change, and a feed would be lost that night.

    Raises
    ------
    DomainError
        Of an unknown name, or one that is not a place's.
    """
    if name in UNIVERSAL:
        return ZoneInfo("Etc/UTC")
    if "/" not in name or name.startswith("Etc/"):
        raise DomainError(
            f"'{name}' does not tell when the clocks change.",
            field="/time_zone",
            code="not_a_place",
            remedy="Name the place by its IANA zone, for instance 'Europe/Lisbon', or 'Etc/UTC'.",
        )
    if name not in _known():
        town = name.rsplit("/", 1)[-1].casefold()
        near = sorted(known for known in _known() if known.rsplit("/", 1)[-1].casefold() == town)
        hint = " or ".join(f"'{known}'" for known in near[:3]) or "for instance 'Europe/Lisbon'"
        raise DomainError(
            f"No time zone is called '{name}'.",
            field="/time_zone",
            code="unknown_time_zone",
            remedy=f"Give an IANA name, {hint}.",
        )
    return ZoneInfo(name)


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
