"""When to feed: the feeds of a day spread over real time and read on the carer's clock.

Feeds are evenly spaced in elapsed minutes, because a crop empties in elapsed minutes; a change of the clocks
moves what the wall says and nothing else. Times are rounded to five minutes of the wall clock where that is a
small part of the interval and leaves every interval inside its limits.

Sources of the even spacing and of the longer gap at night: APN (interval as the crop empties, 06:00 to 24:00)
and HRB p.617 (08, 12, 16 and 20 h). The rounding is ours.
"""

from datetime import date, datetime, time, timedelta
from math import ceil, floor

from species.domain.errors import DomainError
from species.domain.localtime import feeding_window, instant_at, later, minutes_between, zone_named

#: Times on the wall clock are multiples of this where the interval is long enough.
ROUND_TO_MIN = 5
#: Shorter intervals keep the minute: five minutes would be more than a sixth of them.
ROUND_FROM_MIN = 30


def window_min(*, on: str, time_zone: str, first: str, last: str) -> int:
    """Real minutes from the first to the last feed of a feeding day.

    Parameters
    ----------
    on
        Local date, ISO 8601.
    time_zone
        IANA name.
    first, last
        Local times of day; ``last`` earlier than ``first`` is on the next day.

    Raises
    ------
    DomainError
        Of a date, time or zone that cannot be read.
    """
    start, end = feeding_window(_date(on), _clock(first, "first"), _clock(last, "last"), zone_named(time_zone))
    return int(minutes_between(start, end))


def feeds_that_fit(*, window_min: float, interval_min: float) -> int:
    """The most feeds in a window, both ends counted, with no interval shorter than ``interval_min``.

    13 h at 90 min: 9 (HRB p.430 prints 9 to 10 for gulls).
    """
    _positive(window_min, interval_min)
    return floor(window_min / interval_min) + 1


def feeds_needed(*, window_min: float, interval_min: float) -> int:
    """The fewest feeds in a window, both ends counted, with no interval longer than ``interval_min``."""
    _positive(window_min, interval_min)
    return ceil(window_min / interval_min) + 1


def even_interval_min(*, window_min: float, feeds: int) -> int:
    """Minutes between feeds spread evenly over a window, ends included; the whole window for one feed."""
    if feeds < 1 or window_min < 0:
        raise DomainError(f"{feeds} feeds in {window_min} minutes cannot be spread.", code="no_feeds")
    return floor(window_min / max(feeds - 1, 1))


def timetable(
    *,
    on: str,
    time_zone: str,
    first: str,
    last: str,
    feeds: int,
    interval_low_min: int,
    interval_high_min: int | None,
    night_feeds: int,
    start_from: str | None,
) -> list[str]:
    """Instants of the feeds of one feeding day, in order, the night's after the day's.

    The day's first feed stands at ``first``; the last at ``last``, or before it where the longest interval
    would otherwise be passed. Night feeds lie evenly between the last feed of the day and the first of the
    next; the longest interval is a rule of the day, the shortest holds at night too.

    Parameters
    ----------
    on
        Local date, ISO 8601.
    time_zone
        IANA name.
    first, last
        Local times of day; ``last`` earlier than ``first`` is on the next day.
    feeds
        Feeds from ``first`` to ``last``, without those of the night.
    interval_low_min, interval_high_min
        Shortest and longest time between two feeds in real minutes; no longest where null.
    night_feeds
        Feeds after the last of the day and before the first of the next.
    start_from
        Local time from which the rest of the day is wanted: the next feed stands there, the others follow at
        the day's interval, as many as fit. Before ``first``: the whole day. After ``last``: only the night's.

    Returns
    -------
    RFC 3339 date-times with the offset that holds at each.

    Raises
    ------
    DomainError
        Where the feeds do not fit their limits, saying what to change and to what.
    """
    zone = zone_named(time_zone)
    day, opens, closes = _date(on), _clock(first, "first"), _clock(last, "last")
    _limits(feeds, night_feeds, interval_low_min, interval_high_min)
    start, end = feeding_window(day, opens, closes, zone)
    reopens = instant_at(day + timedelta(days=1), opens, zone)

    by_day = _day(start, end, feeds, interval_low_min, interval_high_min)
    by_night = _night(by_day[-1], reopens, night_feeds, interval_low_min)
    if start_from is not None:
        wanted = _clock(start_from, "from")
        runs_past_midnight = closes < opens
        resumes_on = day + timedelta(days=1) if runs_past_midnight and wanted <= closes else day
        resume = instant_at(resumes_on, wanted, zone)
        if resume > start:
            by_day = _rest(resume, end, by_day, interval_low_min, interval_high_min)
            clear = later(by_day[-1], interval_low_min) if by_day else resume
            by_night = [instant for instant in by_night if minutes_between(clear, instant) >= 0]
    return [instant.isoformat() for instant in by_day + by_night]


def _day(start: datetime, end: datetime, feeds: int, low: int, high: int | None) -> list[datetime]:
    room = minutes_between(start, end)
    if (feeds - 1) * low > room:
        fit = feeds_that_fit(window_min=room, interval_min=low)
        closes = later(start, (feeds - 1) * low)
        raise DomainError(
            f"{feeds} feeds at least {low} minutes apart take {(feeds - 1) * low} minutes; "
            f"from {start:%H:%M} to {end:%H:%M} there are {room:.0f}.",
            field="/feeding_day",
            code="feeds_do_not_fit",
            remedy=f"Feed until {closes:%H:%M}, or give {fit} feed{'s' if fit > 1 else ''}.",
        )
    span = room if high is None else min(room, (feeds - 1) * high)
    return _spread(start, span, feeds - 1, low, high)


def _night(last_feed: datetime, reopens: datetime, feeds: int, low: int) -> list[datetime]:
    if feeds == 0:
        return []
    room = minutes_between(last_feed, reopens)
    if (feeds + 1) * low > room:
        fit = max(floor(room / low) - 1, 0)
        raise DomainError(
            f"{feeds} night feed{'s' if feeds > 1 else ''} at least {low} minutes from every other feed need "
            f"{(feeds + 1) * low} minutes; from {last_feed:%H:%M} to {reopens:%H:%M} there are {room:.0f}.",
            field="/feeding_day",
            code="night_feeds_do_not_fit",
            remedy=f"Give {fit} in the night, or end the feeding day at {later(reopens, -(feeds + 1) * low):%H:%M}.",
        )
    return _spread(last_feed, room, feeds + 1, low, None)[1:-1]


def _rest(resume: datetime, end: datetime, whole: list[datetime], low: int, high: int | None) -> list[datetime]:
    """The rest of the day from ``resume`` to its end: at the whole day's interval, and none longer than the longest."""
    room = minutes_between(resume, end)
    if room < 0:
        return []
    usual = minutes_between(whole[0], whole[-1]) / (len(whole) - 1) if len(whole) > 1 else max(room, 1) + 1
    left = feeds_that_fit(window_min=room, interval_min=max(usual, low))
    if high is not None:
        left = max(left, feeds_needed(window_min=room, interval_min=high))
    return _day(resume, end, min(left, feeds_that_fit(window_min=room, interval_min=low), len(whole)), low, high)


def _spread(start: datetime, span_min: float, intervals: int, low: int, high: int | None) -> list[datetime]:
    """``intervals`` even steps over ``span_min``, on five minutes of the wall where the limits let them.

    Else on whole minutes, which always do: the limits are whole numbers on either side of the even step.
    """
    if intervals == 0:
        return [start]
    even = [floor(span_min * step / intervals) for step in range(intervals + 1)]
    exact = [later(start, minutes) for minutes in even]
    if span_min / intervals < ROUND_FROM_MIN:
        return exact
    rounded = [exact[0], *(_on_the_wall(instant) for instant in exact[1:-1]), exact[-1]]
    gaps = [minutes_between(a, b) for a, b in zip(rounded, rounded[1:], strict=False)]
    within = all(low <= gap and (high is None or gap <= high) for gap in gaps)
    return rounded if within else exact


def _on_the_wall(instant: datetime) -> datetime:
    """The nearest five minutes of the wall clock at which ``instant`` is read."""
    wall = instant.minute + instant.second / 60
    return later(instant, ROUND_TO_MIN * round(wall / ROUND_TO_MIN) - wall)


def _limits(feeds: int, night_feeds: int, low: int, high: int | None) -> None:
    if feeds < 1 or night_feeds < 0:
        raise DomainError(
            f"{feeds} feeds and {night_feeds} at night make no timetable.",
            code="no_feeds",
            remedy="Give at least one feed a day and no fewer than 0 at night.",
        )
    if low < 1 or (high is not None and high < low):
        raise DomainError(
            f"An interval from {low} to {high} minutes is none.",
            code="interval_limits",
            remedy="Give a shortest of at least 1 minute and a longest that is not below it.",
        )


def _positive(window: float, interval: float) -> None:
    if window < 0 or interval <= 0:
        raise DomainError(
            f"A window of {window} minutes with an interval of {interval} holds no feeds.",
            code="interval_limits",
            remedy="Give a window of at least 0 minutes and an interval above 0.",
        )


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise DomainError(f"'{text}' is no date.", field="/on", remedy="Write 2027-05-02.") from error


def _clock(text: str, name: str) -> time:
    try:
        return time.fromisoformat(text)
    except ValueError as error:
        raise DomainError(
            f"'{text}' is no time of day.", field=f"/feeding_day/{name}", remedy="Write 06:30."
        ) from error
