"""Turns of a daily job, held against a wall clock that is read minute by minute through a year.

The oracle only asks what the wall reads at an instant of UTC, which has one answer; it never turns a wall time into an
instant. Clock changes: IANA time zone database. Named changes: tz database files (NEWS and the region files).
"""

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.jobs.rules.due import latest_slot, next_slot, slot_of
from species.domain.errors import DomainError

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
#: Zone, year, minutes between two looks at the wall: all its changes and clocks are on that grid.
YEARS = [
    ("Australia/Lord_Howe", 2026, 15),  # half an hour of summer time
    ("Asia/Kathmandu", 2026, 15),  # +05:45, no changes
    ("Pacific/Chatham", 2026, 15),  # +12:45, changes at 02:45
    ("Pacific/Apia", 2011, 15),  # no 30 December
    ("Pacific/Kwajalein", 1993, 15),  # no 21 August
    ("Europe/Lisbon", 2026, 15),
    ("America/New_York", 2026, 15),
    ("America/St_Johns", 2010, 1),  # changes at one minute past midnight
    ("Asia/Tehran", 2022, 15),  # midnight does not exist on the day of the change
    ("Africa/Casablanca", 2026, 15),  # changes for Ramadan
    ("America/Santiago", 2026, 15),  # forward at midnight; back over midnight
    ("Asia/Beirut", 2026, 15),
    ("America/Nuuk", 2024, 15),  # the last hour of 30 March does not exist
    ("Etc/UTC", 2026, 15),
]
CLOCKS = [time(7), time(0), time(0, 30), time(2, 30), time(2, 45), time(23, 30)]
THROUGH = [pytest.param(*year, clock, id=f"{year[0]}-{year[1]}-{clock:%H%M}") for year in YEARS for clock in CLOCKS]


@lru_cache(maxsize=len(YEARS))
def wall(zone: str, year: int, step: int) -> tuple[tuple[datetime, datetime], ...]:
    """What the wall reads, from some days before the year to some days after it: (UTC, naive wall time)."""
    start, end, hung = datetime(year - 1, 12, 27, tzinfo=UTC), datetime(year + 1, 1, 5, tzinfo=UTC), ZoneInfo(zone)
    ticks = (start + n * step * MINUTE for n in range((end - start) // MINUTE // step))
    return tuple((at, at.astimezone(hung).replace(tzinfo=None)) for at in ticks)


def scanned(zone: str, year: int, step: int, clock: time) -> list[tuple[date, datetime]]:
    """Each day that the wall showed, and the first look at which it read ``clock`` of that day or later."""
    looks = wall(zone, year, step)
    shown = {reads.date() for _, reads in looks}
    waited_for = datetime.combine(looks[0][1].date() + DAY, clock)
    due = []
    for at, reads in looks:
        while reads >= waited_for:
            due.append((waited_for.date(), at))
            waited_for += DAY
    return [(on, at) for on, at in due if on in shown]


@pytest.mark.parametrize(("zone", "year", "step", "clock"), THROUGH)
def test_every_local_day_has_one_turn_and_the_turns_abut(zone: str, year: int, step: int, clock: time) -> None:
    expected, hung = scanned(zone, year, step, clock), ZoneInfo(zone)
    at, before, found = expected[0][1] - MINUTE, None, []
    while (slot := next_slot(at, hung, clock)).due_at <= expected[-1][1]:
        found.append((slot.on, slot.due_at))
        assert before is None or slot.period_start == before.period_end == before.due_at
        assert slot.period_start < slot.period_end == slot.due_at
        assert slot.due_at.tzinfo is UTC
        at, before = slot.due_at, slot
    assert found == expected


@pytest.mark.parametrize(("zone", "year", "step", "clock"), THROUGH)
def test_a_dispatcher_that_ticks_through_a_change_makes_each_turn_once(
    zone: str, year: int, step: int, clock: time
) -> None:
    """It asks which turn was due last, for two days before and after each change, or in a week without one."""
    looks, expected, hung = wall(zone, year, step), scanned(zone, year, step, clock), ZoneInfo(zone)
    changes = [this for last, this in zip(looks, looks[1:], strict=False) if this[1] - last[1] != this[0] - last[0]]
    for change, _ in changes or [looks[6 * 24 * 60 // step]]:
        made: list[tuple[date, datetime]] = []
        for tick, _ in looks:
            if abs(tick - change) <= 2 * HOUR or (abs(tick - change) <= 2 * DAY and tick.minute % 15 == 0):
                slot = latest_slot(tick, hung, clock)
                assert slot.due_at <= tick < next_slot(tick, hung, clock).due_at
                if (slot.on, slot.due_at) not in made:
                    made.append((slot.on, slot.due_at))
        first = made[0][1]
        assert made == [turn for turn in expected if first <= turn[1] <= change + 2 * DAY]


@pytest.mark.parametrize(
    ("zone", "on", "clock", "hours"),
    [
        pytest.param("Australia/Lord_Howe", date(2026, 10, 4), time(7), 23.5, id="tz australasia, Rule LH: Oct, 0:30"),
        pytest.param("Australia/Lord_Howe", date(2026, 4, 5), time(7), 24.5, id="tz australasia, Rule LH: Apr, 0"),
        pytest.param("Europe/Lisbon", date(2026, 3, 29), time(7), 23, id="tz europe, Rule EU: last Sunday of March"),
        pytest.param("Europe/Lisbon", date(2026, 10, 25), time(7), 25, id="tz europe, Rule EU: last Sunday of October"),
        pytest.param("Pacific/Apia", date(2011, 12, 31), time(7), 24, id="tz australasia, Zone Pacific/Apia"),
        pytest.param("Asia/Kathmandu", date(2026, 3, 29), time(7), 24, id="tz asia: no rule"),
        pytest.param("America/Nuuk", date(2024, 3, 30), time(23, 30), 23.5, id="tz europe, Rule EU at 01:00 UTC"),
    ],
)
def test_a_period_is_as_long_as_the_zone_says(zone: str, on: date, clock: time, hours: float) -> None:
    slot = slot_of(on, ZoneInfo(zone), clock)
    assert slot is not None
    assert (slot.period_end - slot.period_start) / timedelta(hours=1) == hours


def test_after_a_day_that_never_was_the_period_runs_from_the_day_before_it() -> None:
    """Samoa went from 29 to 31 December 2011 (tz database, australasia: Zone Pacific/Apia, until 2011 Dec 29 24:00)."""
    apia = ZoneInfo("Pacific/Apia")
    assert slot_of(date(2011, 12, 30), apia, time(7)) is None
    after = slot_of(date(2011, 12, 31), apia, time(7))
    assert after is not None
    # 07:00 on the 29th was at -10:00, 07:00 on the 31st at +14:00: 24 h of the time line, 48 h of the calendar.
    assert after.period_start == datetime(2011, 12, 29, 17, tzinfo=UTC)
    assert after.period_end == datetime(2011, 12, 30, 17, tzinfo=UTC)
    assert latest_slot(after.due_at - MINUTE, apia, time(7)).on == date(2011, 12, 29)


def test_a_turn_that_was_before_the_clocks_went_back_over_midnight_stays_the_last() -> None:
    """St John's put its clocks back at 00:01 until 2011 (tz database, northamerica: Rule StJohns)."""
    st_johns, change = ZoneInfo("America/St_Johns"), datetime(2010, 11, 7, 2, 31, tzinfo=UTC)
    assert change.astimezone(st_johns).date() == date(2010, 11, 6)
    slot = latest_slot(change, st_johns, time(0))
    assert (slot.on, slot.due_at) == (date(2010, 11, 7), change - MINUTE)
    assert next_slot(change, st_johns, time(0)).on == date(2010, 11, 8)


@settings(max_examples=200)
@given(
    zone=st.sampled_from([zone for zone, _, _ in YEARS]),
    at=st.datetimes(datetime(1990, 1, 1), datetime(2037, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    clock=st.times().map(lambda drawn: drawn.replace(microsecond=0)),
)
def test_at_any_moment_one_turn_is_the_last_and_the_next_follows_it(zone: str, at: datetime, clock: time) -> None:
    hung = ZoneInfo(zone)
    last, coming = latest_slot(at, hung, clock), next_slot(at, hung, clock)
    assert last.due_at <= at < coming.due_at
    assert coming.period_start == last.due_at
    assert last == slot_of(last.on, hung, clock) == latest_slot(last.due_at, hung, clock)


def test_a_clock_with_an_offset_is_refused() -> None:
    with pytest.raises(DomainError, match="without offset"):
        slot_of(date(2026, 1, 1), ZoneInfo("Etc/UTC"), time(7, tzinfo=UTC))
