"""What differs between two documents, value by value."""

from collections.abc import Iterator
from typing import Any

from species.domain.record import Record


class Change(Record, frozen=True, kw_only=True):
    """One value that differs. ``before`` is None where there was none, ``after`` where it is gone."""

    pointer: str
    before: Any
    after: Any


def document_diff(before: Any, after: Any) -> tuple[Change, ...]:
    """The changes that lead from one document to another.

    Returns
    -------
    tuple of Change
        Empty when nothing differs. A field left out equals one that is None. Items of lists are compared
        by their place.
    """
    return tuple(_changes("", before, after))


def _changes(pointer: str, before: Any, after: Any) -> Iterator[Change]:
    if isinstance(before, dict) and isinstance(after, dict):
        for name in dict.fromkeys([*before, *after]):
            yield from _changes(f"{pointer}/{name}", before.get(name), after.get(name))
    elif isinstance(before, (list, tuple)) and isinstance(after, (list, tuple)):
        for index in range(max(len(before), len(after))):
            yield from _changes(f"{pointer}/{index}", _item(before, index), _item(after, index))
    elif before != after:
        yield Change(pointer=pointer, before=before, after=after)


def _item(items: list[Any] | tuple[Any, ...], index: int) -> Any:
    return items[index] if index < len(items) else None
