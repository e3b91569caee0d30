"""A report's words: short sentences, a local clock, nothing typed that could break a line or a heading."""

import unicodedata
from datetime import date, datetime, timedelta
from textwrap import shorten
from typing import Protocol

from api.reports.rules.seen import WeightsDrawn
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Severity
from species.domain.localtime import zone_named

#: Letters of a typed name that are shown: a longer one fills the width of a phone twice.
LONGEST_NAME = 48
LONGEST_TEXT = 300
#: Weighings named in the words of a chart: enough to see which way it goes.
LAST_WEIGHINGS = 3

SEVERITY_WORDS = {
    Severity.URGENT: "Urgent",
    Severity.ACT_TODAY: "Act today",
    Severity.NOTE: "To know",
}
OUTCOME_WORDS = {
    "released": "released",
    "returned_to_parents": "returned to its parents",
    "fostered": "fostered",
    "transferred": "transferred",
    "placed": "placed",
    "retained": "kept",
    "died": "died",
    "euthanised": "euthanised",
    "dead_on_arrival": "dead on arrival",
    "escaped": "escaped",
}


class LocalDay(Protocol):
    """Whatever is of one local day: an occasion, or a report."""

    @property
    def on(self) -> date:
        """The date."""

    @property
    def time_zone(self) -> str:
        """Whose date it is."""


def one_line(text: str, most: int = LONGEST_NAME) -> str:
    """Typed text as one line of at most ``most`` letters, without anything that steers a reader's screen.

    Controls (line ends among them) and marks that turn the direction of writing become spaces; a name can so
    neither open a line of its own in a mail nor a field of its own in its head.
    """
    plain = "".join(" " if _steers(letter) else letter for letter in text)
    words = " ".join(plain.split())
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"


def heading(text: str) -> str:
    """A line for the head of a mail: letters that show and nothing else, such as the joiners within an emoji."""
    return "".join(letter for letter in text if letter.isprintable())


def _steers(letter: str) -> bool:
    return unicodedata.category(letter) in {"Cc", "Cs", "Zl", "Zp"} or unicodedata.bidirectional(letter) in {
        "LRE",
        "RLE",
        "LRO",
        "RLO",
        "PDF",
        "LRI",
        "RLI",
        "FSI",
        "PDI",
    }


def sentences(text: str) -> str:
    """Text of findings and of vets' reasons, kept to a length that is read."""
    return shorten(one_line(text, most=10 * LONGEST_TEXT), LONGEST_TEXT, placeholder="\N{HORIZONTAL ELLIPSIS}")


def counted(number: int, one: str, several: str | None = None) -> str:
    """``1 bird``, ``2 birds``."""
    return f"{number} {one if number == 1 else several or f'{one}s'}"


def amount(value: float) -> str:
    """A mass or volume as it was read from the scale, without trailing noughts."""
    return f"{value:.4g}" if abs(value) < 1000 else f"{value:.0f}"


def day(on: date) -> str:
    """``Sunday 2 May``."""
    return f"{on:%A} {on.day} {on:%B}"


def day_and_time(at: datetime, of: LocalDay) -> str:
    """An instant on the wall clock of the network, as one says it at breakfast: ``yesterday 21:10``."""
    local = at.astimezone(zone_named(of.time_zone))
    return f"{named_day(local.date(), of)} {local:%H:%M}"


def named_day(on: date, of: LocalDay) -> str:
    """``today``, ``yesterday``, ``tomorrow``, else the date, with its year where that is another."""
    if on == of.on:
        return "today"
    if on == of.on - timedelta(days=1):
        return "yesterday"
    if on == of.on + timedelta(days=1):
        return "tomorrow"
    return f"{on.day} {on:%B}" + (f" {on.year}" if on.year != of.on.year else "")


def within(hours: float | None) -> str:
    """How soon, in words."""
    if hours is None:
        return "at the next look"
    if hours <= URGENT_WITHIN_H:
        return "within the hour"
    if hours <= ACT_TODAY_WITHIN_H:
        return "today, before the last feed"
    return f"within {hours:g} hours"


def outcome_words(kind: str) -> str:
    """An outcome in words; one that is not known here is shown as it was recorded."""
    return OUTCOME_WORDS.get(kind, kind.replace("_", " "))


def weights_in_words(bird: str, weights: WeightsDrawn, of: LocalDay) -> str:
    """What a growth chart shows, for a reader who does not see it.

    Parameters
    ----------
    bird
        Its name.
    weights
        Its last weighings in g, and what is usual at its age.
    of
        The report's day, for the names of days.
    """
    last = sorted(weights.weighings)[-LAST_WEIGHINGS:]
    zone = zone_named(of.time_zone)
    said = ", ".join(f"{amount(mass_g)} g {_on(named_day(at.astimezone(zone).date(), of))}" for at, mass_g in last)
    usual = f"Usual at its age: {amount(weights.expected_g)} g ({amount(weights.low_g)} to {amount(weights.high_g)} g)."
    return f"Weight of {bird}: {said}. {usual}" if said else f"No weight of {bird} yet. {usual}"


def _on(named: str) -> str:
    return named if named in ("today", "yesterday", "tomorrow") else f"on {named}"
