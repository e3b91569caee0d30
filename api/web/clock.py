"""The only place that reads the clock, so that everything else can be asked about any moment."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, tzinfo
from zoneinfo import ZoneInfo


def _read() -> datetime:
    return datetime.now(UTC)


_source: Callable[[], datetime] = _read


def now() -> datetime:
    """The present instant, aware, in UTC."""
    return _source()


def today(zone: tzinfo | str) -> date:
    """The present date where ``zone`` is the local time: whose day it is has to be said."""
    return now().astimezone(ZoneInfo(zone) if isinstance(zone, str) else zone).date()


@contextmanager
def standing_at(instant: datetime) -> Iterator[None]:
    """Hold the clock at an aware instant; for tests and for reproducing an answer of the past."""
    global _source
    if instant.tzinfo is None:
        raise ValueError("An instant needs its offset: a naive date-time has no place on the time line.")
    before, fixed = _source, instant.astimezone(UTC)
    _source = lambda: fixed  # noqa: E731
    try:
        yield
    finally:
        _source = before
