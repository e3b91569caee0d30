"""Days, instants, times of day and time zones, each in its one spelling."""

import re
from datetime import date, datetime, time
from typing import Any

from rest_framework import serializers

from api.web.strict.fields import kind_of
from species.domain.errors import DomainError
from species.domain.localtime import zone_named

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_INSTANT = re.compile(r"(\d{4}-\d{2}-\d{2})[Tt](\d{2}:\d{2}(?::\d{2}(?:\.\d{1,9})?)?)([Zz]|[+-]\d{2}:\d{2})?", re.ASCII)
_TIME = re.compile(r"\d{2}:\d{2}", re.ASCII)
# Outside these years a date is a slip, and arithmetic of ages would leave the calendar.
FIRST_YEAR, LAST_YEAR = 1900, 2199


class _Text(serializers.Field):
    default_error_messages = {"wrong_type": "Text is needed, not {got}."}

    def text(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("wrong_type", got=kind_of(data))
        return str(data)

    def to_representation(self, value: Any) -> Any:
        return value if isinstance(value, str) or value is None else value.isoformat()


class StrictDateField(_Text):
    """A day of the calendar: YYYY-MM-DD."""

    default_error_messages = {
        "malformed": "A date is written YYYY-MM-DD, such as 2027-05-02.",
        "impossible_date": "There is no such day in the calendar.",
        "date_out_of_range": f"The year has to lie between {FIRST_YEAR} and {LAST_YEAR}.",
    }

    def to_internal_value(self, data: Any) -> date:
        text = self.text(data)
        if not _DATE.fullmatch(text):
            self.fail("malformed")
        try:
            value = date.fromisoformat(text)
        except ValueError:
            self.fail("impossible_date")
        if not FIRST_YEAR <= value.year <= LAST_YEAR:
            self.fail("date_out_of_range")
        return value


class StrictDateTimeField(_Text):
    """An instant after RFC 3339, with its offset; comes out aware."""

    default_error_messages = {
        "malformed": "An instant is written like 2027-05-02T06:30:00+01:00.",
        "offset_missing": "The offset is missing: write Z or one like +01:00 behind the time.",
        "impossible_date": "There is no such instant.",
        "date_out_of_range": f"The year has to lie between {FIRST_YEAR} and {LAST_YEAR}.",
    }

    def to_internal_value(self, data: Any) -> datetime:
        found = _INSTANT.fullmatch(self.text(data))
        if not found:
            self.fail("malformed")
        day, clock, offset = found.groups()
        if offset is None:
            self.fail("offset_missing")
        try:
            value = datetime.fromisoformat(f"{day}T{clock}{offset.upper()}")
        except ValueError:
            self.fail("impossible_date")
        if not FIRST_YEAR <= value.year <= LAST_YEAR:
            self.fail("date_out_of_range")
        return value


class StrictTimeField(_Text):
    """A time of day by the clock on the wall: HH:MM."""

    default_error_messages = {
        "malformed": "A time of day is written HH:MM, such as 06:30.",
        "impossible_time": "There is no such time of day; the last is 23:59.",
    }

    def to_internal_value(self, data: Any) -> time:
        text = self.text(data)
        if not _TIME.fullmatch(text):
            self.fail("malformed")
        try:
            return time.fromisoformat(text)
        except ValueError:
            self.fail("impossible_time")

    def to_representation(self, value: Any) -> Any:
        return value if isinstance(value, str) or value is None else value.strftime("%H:%M")


class TimeZoneField(_Text):
    """The name of a zone with a place's rules, such as ``Europe/Lisbon``; comes out as that name."""

    def to_internal_value(self, data: Any) -> str:
        name = self.text(data)
        try:
            zone_named(name)
        except DomainError as refused:
            raise serializers.ValidationError(str(refused), code=refused.code) from refused
        return name
