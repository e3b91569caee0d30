"""The timetable against sums in UTC, over the nights in which the clocks change, and against printed practice."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from api.plans.rules.timetable import (
    even_interval_min,
    feeds_needed,
    feeds_that_fit,
    timetable,
    window_min,
)
from species.domain.errors import DomainError

# Local dates on which the clocks change, IANA time zone database; Lord Howe by half an hour.
CHANGES = {
    "Europe/Lisbon": (date(2026, 3, 29), date(2026, 10, 25)),
    "Australia/Lord_Howe": (date(2026, 4, 5), date(2026, 10, 4)),
    "America/St_Johns": (date(2026, 3, 8), date(2026, 11, 1)),
}


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def reading(zone: str, on: date, clock: time) -> datetime:
    """The first instant whose wall clock has reached the wanted time, found minute by minute in UTC."""
    wanted = datetime.combine(on, clock)
    instant = wanted.replace(tzinfo=UTC) - timedelta(hours=15)
    while instant.astimezone(ZoneInfo(zone)).replace(tzinfo=None) < wanted:
        instant += timedelta(minutes=1)
    return instant


def gaps_min(times: list[str]) -> list[float]:
    return [(utc(b) - utc(a)).total_seconds() / 60 for a, b in pairwise(times)]


places = st.sampled_from(sorted(CHANGES)).flatmap(
    lambda zone: st.tuples(
        st.just(zone),
        st.sampled_from(CHANGES[zone]).flatmap(
            lambda change: st.integers(-1, 1).map(lambda days: change + timedelta(days=days))
        ),
    )
)
quarter_hours = st.integers(0, 95).map(lambda n: f"{n // 4:02d}:{n % 4 * 15:02d}")
minutes = st.integers(0, 1439).map(lambda n: f"{n // 60:02d}:{n % 60:02d}")
clocks = quarter_hours | minutes


@settings(deadline=None)
@given(
    place=places,
    first=clocks,
    last=clocks,
    low=st.integers(10, 360),
    spread=st.none() | st.integers(0, 240),
    share=st.floats(0, 1),
    night=st.integers(0, 2),
)
def test_every_real_interval_is_within_its_limits_over_clock_changes(place, first, last, low, spread, share, night):
    zone, on = place
    high = None if spread is None else low + spread
    opens, closes = time.fromisoformat(first), time.fromisoformat(last)
    start = reading(zone, on, opens)
    end = reading(zone, on + timedelta(days=closes < opens), closes)
    reopens = reading(zone, on + timedelta(days=1), opens)
    room = (end - start).total_seconds() / 60
    feeds = 1 + int(share * (room // low))
    ends_by = end if high is None else min(end, start + timedelta(minutes=high * (feeds - 1)))
    if feeds == 1:
        ends_by = start
    assume((reopens - ends_by).total_seconds() / 60 >= (night + 1) * low or night == 0)

    times = timetable(
        on=on.isoformat(),
        time_zone=zone,
        first=first,
        last=last,
        feeds=feeds,
        interval_low_min=low,
        interval_high_min=high,
        night_feeds=night,
        start_from=None,
    )
    day, at_night = times[:feeds], times[feeds:]
    assert len(day) == feeds  # none skipped,
    assert len(at_night) == night
    assert len({utc(text) for text in times}) == len(times)  # none doubled
    assert utc(day[0]) == start
    assert utc(day[-1]) == ends_by
    assert all(low <= gap and (high is None or gap <= high) for gap in gaps_min(day))
    assert all(gap >= low for gap in gaps_min([day[-1], *at_night]))
    if at_night:
        assert (reopens - utc(at_night[-1])).total_seconds() / 60 >= low
    if len(day) > 2:
        even = (ends_by - start).total_seconds() / 60 / (feeds - 1)
        assert all(abs(gap - even) <= 6 for gap in gaps_min(day))  # even, to five minutes of the wall and one
    for text in times:
        local = datetime.fromisoformat(text)
        assert local.utcoffset() == local.astimezone(ZoneInfo(zone)).utcoffset()


@settings(deadline=None)
@given(place=places, feeds=st.integers(2, 12), night=st.integers(0, 2))
def test_times_fall_on_five_minutes_of_the_wall_where_nothing_forbids_it(place, feeds, night):
    zone, on = place
    times = timetable(
        on=on.isoformat(),
        time_zone=zone,
        first="06:30",
        last="20:30",
        feeds=feeds,
        interval_low_min=30,
        interval_high_min=None,
        night_feeds=night,
        start_from=None,
    )
    assert {datetime.fromisoformat(text).minute % 5 for text in times} == {0}


@settings(deadline=None)
@given(place=places, resume=minutes, feeds=st.integers(1, 9), night=st.integers(0, 1))
def test_rest_of_the_day_starts_when_asked_and_keeps_the_limits(place, resume, feeds, night):
    zone, on = place
    asked = {
        "on": on.isoformat(),
        "time_zone": zone,
        "first": "06:00",
        "last": "22:00",
        "feeds": feeds,
        "interval_low_min": 90,
        "interval_high_min": 240,
        "night_feeds": night,
    }
    whole = timetable(**asked, start_from=None)
    rest = timetable(**asked, start_from=resume)
    clock = time.fromisoformat(resume)
    if clock <= time(6):
        assert rest == whole
        return
    resumes = reading(zone, on, clock)
    assert all(utc(text) >= resumes for text in rest)
    assert all(gap >= 90 for gap in gaps_min(rest))
    assert len(rest) <= len(whole)
    if clock <= time(22):
        assert utc(rest[0]) == resumes
    else:
        assert rest == [text for text in whole[feeds:] if utc(text) >= resumes]


# --- checks of feeding-practice.md, section 12.2


def test_check_28_crop_empties_in_4_h_gives_4_to_5_h_from_6_to_24_and_a_night_of_6_h_apn():
    room = window_min(on="2026-06-01", time_zone="Europe/Lisbon", first="06:00", last="00:00")
    feeds = feeds_that_fit(window_min=room, interval_min=240)
    times = timetable(
        on="2026-06-01",
        time_zone="Europe/Lisbon",
        first="06:00",
        last="00:00",
        feeds=feeds,
        interval_low_min=240,
        interval_high_min=300,
        night_feeds=0,
        start_from=None,
    )
    assert all(240 - 6 <= gap <= 300 + 6 for gap in gaps_min(times))  # tolerance 0.1 h
    reopens = datetime(2026, 6, 2, 5, tzinfo=UTC)  # 06:00 in Lisbon's summer
    assert (reopens - utc(times[-1])).total_seconds() / 3600 >= 6 - 0.1


def test_check_29_gull_every_90_min_over_13_h_is_9_to_10_feeds_hrb_p430():
    assert feeds_that_fit(window_min=13 * 60, interval_min=90) == 9
    assert feeds_needed(window_min=13 * 60, interval_min=90) == 10


def test_check_30_lorikeet_at_3_weeks_is_fed_at_8_12_16_20_hrb_p617():
    times = timetable(
        on="2026-06-01",
        time_zone="Australia/Lord_Howe",
        first="08:00",
        last="20:00",
        feeds=4,
        interval_low_min=240,
        interval_high_min=240,
        night_feeds=0,
        start_from=None,
    )
    assert [text[11:16] for text in times] == ["08:00", "12:00", "16:00", "20:00"]


def test_check_31_swift_every_30_to_60_min_over_12_h_is_12_to_24_intervals_hrb_p513():
    assert feeds_needed(window_min=720, interval_min=60) - 1 == 12
    assert feeds_that_fit(window_min=720, interval_min=30) - 1 == 24


# --- refusals say what to change, and what they propose works


def test_feeds_that_do_not_fit_are_refused_with_two_ways_out():
    asked = {
        "on": "2026-06-01",
        "time_zone": "Europe/Lisbon",
        "first": "06:30",
        "interval_low_min": 120,
        "interval_high_min": None,
        "night_feeds": 0,
        "start_from": None,
    }
    with pytest.raises(DomainError) as refused:
        timetable(**asked, feeds=9, last="20:30")
    assert refused.value.code == "feeds_do_not_fit"
    assert refused.value.remedy == "Feed until 22:30, or give 8 feeds."
    assert timetable(**asked, feeds=9, last="22:30")
    assert timetable(**asked, feeds=8, last="20:30")


def test_night_feeds_that_do_not_fit_are_refused_with_two_ways_out():
    asked = {
        "on": "2026-06-01",
        "time_zone": "Europe/Lisbon",
        "first": "06:00",
        "feeds": 2,
        "interval_low_min": 180,
        "interval_high_min": None,
        "start_from": None,
    }
    with pytest.raises(DomainError) as refused:
        timetable(**asked, last="22:00", night_feeds=2)
    assert refused.value.remedy == "Give 1 in the night, or end the feeding day at 21:00."
    assert timetable(**asked, last="22:00", night_feeds=1)
    assert timetable(**asked, last="21:00", night_feeds=2)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"feeds": 0}, "no_feeds"),
        ({"night_feeds": -1}, "no_feeds"),
        ({"interval_low_min": 0}, "interval_limits"),
        ({"interval_high_min": 60}, "interval_limits"),
        ({"on": "2026-02-30"}, "refused"),
        ({"first": "25:00"}, "refused"),
        ({"time_zone": "Mars/Olympus"}, "unknown_time_zone"),
    ],
)
def test_inputs_that_make_no_timetable_are_refused(change, code):
    asked = {
        "on": "2026-06-01",
        "time_zone": "Europe/Lisbon",
        "first": "06:00",
        "last": "22:00",
        "feeds": 4,
        "interval_low_min": 120,
        "interval_high_min": 360,
        "night_feeds": 0,
        "start_from": None,
    }
    with pytest.raises(DomainError) as refused:
        timetable(**(asked | change))
    assert refused.value.code == code
    assert refused.value.remedy


def test_even_interval_of_a_window():
    assert even_interval_min(window_min=840, feeds=5) == 210
    assert even_interval_min(window_min=840, feeds=1) == 840
    with pytest.raises(DomainError):
        even_interval_min(window_min=840, feeds=0)
