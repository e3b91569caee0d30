"""Local time against one definition in UTC: the first instant whose wall clock has reached the wanted time."""

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from species.domain.errors import DomainError
from species.domain.localtime import feeding_window, instant_at, later, minutes_between, zone_named

# Local dates of clock changes, IANA time zone database (europe, australasia, northamerica).
# St. John's changed at 00:01 until 2011: the date itself came twice.
CHANGES = [
    ("Europe/Lisbon", date(2026, 3, 29)),
    ("Europe/Lisbon", date(2026, 10, 25)),
    ("Australia/Lord_Howe", date(2026, 4, 5)),
    ("Australia/Lord_Howe", date(2026, 10, 4)),
    ("America/St_Johns", date(2026, 3, 8)),
    ("America/St_Johns", date(2026, 11, 1)),
    ("America/St_Johns", date(2010, 11, 7)),
    ("Pacific/Apia", date(2011, 12, 30)),
]
MINUTE = timedelta(minutes=1)


@lru_cache(maxsize=256)
def walls(zone_name: str, on: date) -> list[tuple[datetime, datetime]]:
    """Every minute about a date, with what the wall clock reads: UTC to local is never in doubt."""
    zone = ZoneInfo(zone_name)
    opens = datetime.combine(on, time(), tzinfo=UTC) - timedelta(days=1, hours=4)
    minutes = (opens + i * MINUTE for i in range(24 * 60 * 4))
    return [(instant, instant.astimezone(zone).replace(tzinfo=None)) for instant in minutes]


def first_reading(zone_name: str, on: date, clock: time) -> datetime:
    wanted = datetime.combine(on, clock)
    reached = [instant for instant, wall in walls(zone_name, on) if wall >= wanted]
    before = max((i for i, wall in walls(zone_name, on) if wall < wanted - timedelta(days=1, hours=3)), default=None)
    return next(instant for instant in reached if before is None or instant > before)


near_a_change = st.sampled_from(CHANGES).flatmap(
    lambda change: st.tuples(
        st.just(change[0]),
        st.integers(-1, 1).map(lambda days: change[1] + timedelta(days=days)),
    )
)
clocks = st.times(max_value=time(23, 59)).map(lambda clock: clock.replace(second=0, microsecond=0))


@settings(deadline=None)
@given(place=near_a_change, clock=clocks)
def test_wall_time_becomes_the_first_instant_that_reaches_it(place, clock):
    zone_name, on = place
    instant = instant_at(on, clock, ZoneInfo(zone_name))
    assert instant.astimezone(UTC) == first_reading(zone_name, on, clock)


# Worked by hand from the IANA rules: Lisbon goes from +00:00 to +01:00 at 01:00 UTC and back at 01:00 UTC;
# Lord Howe moves by half an hour at 02:00 local; Samoa left out 30 December 2011.
@pytest.mark.parametrize(
    ("zone", "local", "utc"),
    [
        pytest.param("Europe/Lisbon", "2026-03-29T01:30", "2026-03-29T01:00", id="skipped-Lisbon"),
        pytest.param("Europe/Lisbon", "2026-10-25T01:30", "2026-10-25T00:30", id="repeated-Lisbon"),
        pytest.param("Australia/Lord_Howe", "2026-10-04T02:15", "2026-10-03T15:30", id="skipped-half-hour"),
        pytest.param("Australia/Lord_Howe", "2026-04-05T01:45", "2026-04-04T14:45", id="repeated-half-hour"),
        pytest.param("Pacific/Apia", "2011-12-30T06:00", "2011-12-30T10:00", id="skipped-day"),
    ],
)
def test_skipped_and_repeated_times(zone, local, utc):
    wall = datetime.fromisoformat(local)
    instant = instant_at(wall.date(), wall.time(), ZoneInfo(zone))
    assert instant.astimezone(UTC) == datetime.fromisoformat(utc).replace(tzinfo=UTC)


@settings(deadline=None)
@given(place=near_a_change, clock=clocks, minutes=st.integers(-3000, 3000))
def test_durations_are_real_elapsed_minutes(place, clock, minutes):
    zone_name, on = place
    start = instant_at(on, clock, ZoneInfo(zone_name))
    end = later(start, minutes)
    assert (end.timestamp() - start.timestamp()) / 60 == minutes
    assert minutes_between(start, end) == minutes
    assert end.tzinfo is start.tzinfo


@settings(deadline=None)
@given(place=near_a_change, first=clocks, last=clocks)
def test_feeding_window_is_in_order_and_ends_next_day_when_last_is_earlier(place, first, last):
    zone_name, on = place
    start, end = feeding_window(on, first, last, ZoneInfo(zone_name))
    assert start.timestamp() <= end.timestamp()
    assert start.astimezone(UTC) == first_reading(zone_name, on, first)
    ends_on = on + timedelta(days=1) if last < first else on
    assert end.astimezone(UTC) == first_reading(zone_name, ends_on, last)


@pytest.mark.parametrize(
    ("name", "code", "says"),
    [
        ("EST", "time_zone_without_rules", "Europe/Lisbon"),
        ("CEST", "time_zone_without_rules", "Europe/Lisbon"),
        ("Etc/GMT-1", "time_zone_without_rules", "Europe/Lisbon"),
        ("+01:00", "time_zone_without_rules", "Europe/Lisbon"),
        ("Japan", "time_zone_without_rules", "Europe/Lisbon"),
        ("Atlantic/Lisbon", "unknown_time_zone", "Did you mean Europe/Lisbon?"),
        ("europe/lisboa", "unknown_time_zone", "Europe/Lisbon"),
        ("Lisbon", "unknown_time_zone", "Did you mean Europe/Lisbon?"),
        ("../../etc/passwd", "unknown_time_zone", "Europe/Lisbon"),
        ("Europe/../UTC", "unknown_time_zone", "UTC"),
        ("", "unknown_time_zone", "Europe/Lisbon"),
        ("x" * 100_000, "unknown_time_zone", "Europe/Lisbon"),
    ],
)
def test_zones_that_are_no_place_are_refused_with_one_that_would_do(name, code, says):
    with pytest.raises(DomainError) as refused:
        zone_named(name)
    assert refused.value.code == code
    assert says in refused.value.remedy
    assert refused.value.field == "/time_zone"
    assert len(str(refused.value)) < 300


@pytest.mark.parametrize("name", ["UTC", "Etc/UTC", "Europe/Lisbon", "Asia/Tokyo", "America/Argentina/Salta"])
def test_places_and_universal_time_are_known(name):
    assert instant_at(date(2026, 1, 1), time(12), zone_named(name)).utcoffset() is not None
