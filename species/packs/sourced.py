"""Walks every value of a record that says where it comes from."""

from collections import Counter
from collections.abc import Iterator

import msgspec

from species.domain.record import Record
from species.domain.sourcing import Reach, Sourced


def sourced_values(record: Record, pointer: str = "") -> Iterator[tuple[str, Sourced]]:
    """Every sourced value inside a record, as (JSON pointer, value), in the order of its fields."""
    if isinstance(record, Sourced):
        yield pointer, record
    for field in msgspec.structs.fields(record):
        value = getattr(record, field.name)
        if isinstance(value, Record):
            yield from sourced_values(value, f"{pointer}/{field.name}")
        elif isinstance(value, tuple):
            for index, item in enumerate(value):
                if isinstance(item, Record):
                    yield from sourced_values(item, f"{pointer}/{field.name}/{index}")


def source_keys(value: Sourced) -> tuple[str, ...]:
    """The keys of the sources a value names, without their places."""
    return tuple(reference.split(" ", 1)[0] for reference in value.sources)


def provenance_counts(record: Record) -> dict[Reach, int]:
    """How many values of a record come from the species itself, from its group, from an equation."""
    counted = Counter(value.reach for _, value in sourced_values(record))
    return {reach: counted[reach] for reach in Reach}
