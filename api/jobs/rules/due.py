"""When a daily job is due: once in each local day, at a time of the wall clock, through every change of the clocks.

A day that a zone leaves out (Samoa had no 30 December 2011) has no turn; a time that comes twice counts once, at its
first coming. What a turn answers for runs from the turn before it, so that no moment is told twice or not at all.
Clock changes come from the IANA time zone database; two readings of one wall time are told apart by PEP 495.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from itertools import count
from zoneinfo import ZoneInfo

from species.domain.localtime import instant_at
from species.domain.record import Record

_DAY = timedelta(days=1)


class Slot(Record, frozen=True, kw_only=True):
    """One turn of a daily job.

    Attributes
    ----------
    on
        Local day.
    due_at
        When it is due, UTC.
    period_start, period_end
        What it answers for, UTC, the end excluded: from the turn of the last local day there was. Mostly 24 h; another
        length when the clocks change in between.
    """

    on: date
    due_at: datetime
    period_start: datetime
    period_end: datetime


def slot_of(on: date, zone: ZoneInfo, clock: time) -> Slot | None:
    """The turn of a local day; None where the zone has no such day.

    Parameters
    ----------
    on
        Local date.
    zone
        Whose wall clock counts.
    clock
        Local time of day, naive. Where the clocks jump over it, the turn is due at the change.

    Raises
    ------
    DomainError
        Of a ``clock`` with an offset, or a date at the end of the calendar.
    """
    if not _exists(on, zone):
        return None
    before = next(day for day in _days(on, -1) if day != on and _exists(day, zone))
    due_at = _due_at(on, zone, clock)
    return Slot(on=on, due_at=due_at, period_start=_due_at(before, zone, clock), period_end=due_at)


def latest_slot(now: datetime, zone: ZoneInfo, clock: time) -> Slot:
    """The last turn that is due at ``now`` (aware) or was before; otherwise as :func:`slot_of`."""
    # Clocks put back over midnight read yesterday once more, and today's turn may have been already.
    tomorrow = now.astimezone(zone).date() + _DAY
    slots = (slot_of(on, zone, clock) for on in _days(tomorrow, -1))
    return next(slot for slot in slots if slot and slot.due_at <= now.astimezone(UTC))


def next_slot(after: datetime, zone: ZoneInfo, clock: time) -> Slot:
    """The first turn that is due later than ``after`` (aware); otherwise as :func:`slot_of`."""
    slots = (slot_of(on, zone, clock) for on in _days(after.astimezone(zone).date(), 1))
    return next(slot for slot in slots if slot and slot.due_at > after.astimezone(UTC))


def _days(first: date, step: int) -> Iterator[date]:
    return (first + n * _DAY for n in count(0, step))


def _due_at(on: date, zone: ZoneInfo, clock: time) -> datetime:
    return instant_at(on, clock, zone).astimezone(UTC)


def _exists(on: date, zone: ZoneInfo) -> bool:
    """Whether the wall shows this date at all: the first instant that is not before it is still in it."""
    return instant_at(on, time.min, zone).date() == on
