"""Reads of the powders, foods and sources that profiles speak of. One query each; decoded once a process."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any, TypeVar

import msgspec

from species.domain.errors import DomainError
from species.domain.food import Food, Formula
from species.domain.record import Record
from species.domain.sourcing import Source
from species.models import PackEntry

Shape = TypeVar("Shape", bound=Record)


def formula_get(key: str) -> Formula:
    """The powder with this key.

    Raises
    ------
    DomainError
        ``unknown_formula``: there is none; the remedy lists those there are.
    """
    return _one(Formula, PackEntry.Kind.FORMULA, key, field="/formula_key", code="unknown_formula", word="powder")


def formula_list() -> tuple[Formula, ...]:
    """Every powder that is not retired, by key."""
    rows = PackEntry.objects.filter(kind=PackEntry.Kind.FORMULA, retired=False).order_by("key", "pack__id")
    unique = {row.key: row for row in reversed(rows)}
    return tuple(_decoded(Formula, unique[key].document) for key in sorted(unique))


def food_get(key: str) -> Food:
    """The food with this key.

    Raises
    ------
    DomainError
        ``unknown_food``: there is none; the remedy lists those there are.
    """
    return _one(Food, PackEntry.Kind.FOOD, key, field="/food", code="unknown_food", word="food")


def foods_get(keys: Iterable[str]) -> dict[str, Food]:
    """The foods with these keys; one that is unknown is missing from the answer."""
    return _several(Food, PackEntry.Kind.FOOD, keys)


def source_get(key: str, pack_key: str | None = None) -> Source:
    """The source with this key, that of the pack named first if several have it.

    Raises
    ------
    DomainError
        ``unknown_source``: there is none.
    """
    found = sources_get([key], pack_key)
    if key not in found:
        raise DomainError(f"There is no source {key[:80]!r}.", field="/source", code="unknown_source")
    return found[key]


def sources_get(keys: Iterable[str], pack_key: str | None = None) -> dict[str, Source]:
    """The sources with these keys. Packs may use one key for different works: the named pack's come first."""
    return _several(Source, PackEntry.Kind.SOURCE, keys, pack_key)


def _one(shape: type[Shape], kind: str, key: str, *, field: str, code: str, word: str) -> Shape:
    found = _several(shape, kind, [key])
    if key in found:
        return found[key]
    known = PackEntry.objects.filter(kind=kind, retired=False).order_by("key").values_list("key", flat=True)
    raise DomainError(
        f"There is no {word} {key[:80]!r}.",
        field=field,
        code=code,
        remedy=f"Those there are: {', '.join(sorted(set(known))) or 'none; load a pack first'}.",
    )


def _several(shape: type[Shape], kind: str, keys: Iterable[str], pack_key: str | None = None) -> dict[str, Shape]:
    rows = list(
        PackEntry.objects.filter(kind=kind, key__in=_storable(keys)).select_related("pack").order_by("pack__id")
    )
    # The last one written wins: retired before live, other packs before the one asked for, later before earlier.
    rows.sort(key=lambda row: (not row.retired, row.pack.key == pack_key, -row.pack_id))
    return {row.key: _decoded(shape, row.document) for row in rows}


def _storable(keys: Iterable[str]) -> set[str]:
    # PostgreSQL refuses a NUL character with an error; no key has one.
    return {key for key in keys if "\x00" not in key}


def _decoded(shape: type[Shape], document: Any) -> Shape:
    decoded = _decode(shape, msgspec.json.encode(document, order="sorted"))
    assert isinstance(decoded, shape)
    return decoded


@lru_cache(maxsize=2000)
def _decode(shape: type[Record], text: bytes) -> Record:
    return msgspec.json.decode(text, type=shape)
