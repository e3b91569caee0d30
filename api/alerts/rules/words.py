"""Closed lists of words of the room: docs/reference/words.md."""

from enum import StrEnum


class StateAsked(StrEnum):
    """Which alerts a list is to hold."""

    NOT_RESOLVED = "not_resolved"
    OPEN = "open"
    ACKNOWLEDGED = "acknowledged"
    RESOLVED = "resolved"
    ANY = "any"
