"""Cautions: what an answer warns of, and how soon somebody must act."""

from enum import StrEnum

from species.domain.record import Record


class Severity(StrEnum):
    """How soon somebody must act."""

    NOTE = "note"
    ACT_TODAY = "act_today"
    URGENT = "urgent"


#: Hours that a caution leaves: before the day's last feed, and within the hour. A note leaves all the time there is.
ACT_TODAY_WITHIN_H = 8.0
URGENT_WITHIN_H = 1.0


class Caution(Record, frozen=True, kw_only=True):
    """Something to know or to do, with the time it leaves."""

    code: str
    severity: Severity
    act_within_h: float | None = None
    text: str
    sources: tuple[str, ...] = ()
