"""What is wrong with a pack, said so that its author can put it right."""

from collections.abc import Iterable
from enum import StrEnum

from species.domain.record import Record


class Grade(StrEnum):
    """An error keeps a pack out; a note does not."""

    ERROR = "error"
    NOTE = "note"


class Finding(Record, frozen=True, kw_only=True):
    """One fault, with its place.

    ``file`` is relative to the pack's folder, ``pointer`` a JSON pointer into it (empty: the whole file),
    ``rule`` the name of the check that found it.
    """

    file: str
    pointer: str
    rule: str
    message: str
    grade: Grade = Grade.ERROR

    def __str__(self) -> str:
        place = f"{self.file}{'#' + self.pointer if self.pointer else ''}"
        mark = "" if self.grade is Grade.ERROR else "note: "
        return f"{place}: {mark}{self.message} [{self.rule}]"


def errors_of(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that keep a pack out."""
    return tuple(finding for finding in findings if finding.grade is Grade.ERROR)
