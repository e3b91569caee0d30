"""Reads of species profiles and their revisions."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

import msgspec

from species.domain.profile import Profile, VernacularName
from species.domain.record import Record
from species.domain.sourcing import Evidence
from species.domain.vocabulary import DevelopmentalMode, FeedingKind, FoodGuild
from species.models import FormerKey, ProfileRevision, SpeciesProfile
from species.packs.diff import Change
from species.packs.sourced import source_keys, sourced_values
from species.selectors.errors import RenamedSpecies, UnknownRevision, UnknownSpecies
from species.selectors.search import match_score, plain

#: Decoded revisions kept in a process; every species twice over.
_KEPT_PROFILES = 1000
_NEAR_NAMES = 3
#: What any key looks like. Other text is not looked for: PostgreSQL refuses a NUL character with an error.
_KEY = re.compile(r"[a-z]+(-[a-z]+){1,2}")


@dataclass(frozen=True)
class Published:
    """A profile with the revision it stands in."""

    profile: Profile
    revision: int
    latest_revision: int
    published_at: datetime
    pack_key: str
    pack_version: str
    retired: bool


class Listed(Record, frozen=True, kw_only=True):
    """A species in a list."""

    key: str
    scientific_name: str
    vernacular_names: tuple[VernacularName, ...]
    synonyms: tuple[str, ...]
    order: str
    family: str
    food_guild: FoodGuild
    developmental_mode: DevelopmentalMode
    feeding_kind: FeedingKind
    evidence: Evidence
    adult_mass_g: float
    revision: int


class RevisionEntry(Record, frozen=True, kw_only=True):
    """A revision in a species' history: ``sources`` are the keys of those behind the changed values."""

    revision: int
    published_at: datetime
    pack_key: str
    pack_version: str
    note: str
    changes: tuple[Change, ...]
    sources: tuple[str, ...]


def profile_get(key: str, revision: int | None = None) -> tuple[Profile, int]:
    """The profile of a species and the number of its revision.

    Parameters
    ----------
    key
        Key of the species.
    revision
        A number, or None for the current one.

    Raises
    ------
    UnknownSpecies
        No species has the key; ``near`` holds those most like it.
    RenamedSpecies
        The key is a former one; ``new_key`` is today's.
    UnknownRevision
        The species has no revision of that number.
    """
    published = published_get(key, revision)
    return published.profile, published.revision


def published_get(key: str, revision: int | None = None) -> Published:
    """As :func:`profile_get`, with when and from which pack it was published.

    One query, and a second where this process has not decoded that revision before.
    """
    if not _KEY.fullmatch(key):
        raise _unknown(key)
    rows = SpeciesProfile.objects.select_related("current").defer("current__document", "current__changes")
    species = rows.filter(key=key).first()
    if species is None or species.current is None:
        raise _nobody(key)
    latest = stood = species.current
    if revision is not None and revision != latest.number:
        older = species.revisions.defer("document", "changes").filter(number=revision).first()
        if older is None:
            raise UnknownRevision(key, revision, latest.number)
        stood = older
    return Published(
        profile=_profile_of(stood.pk, stood.digest),
        revision=stood.number,
        latest_revision=latest.number,
        published_at=stood.published_at,
        pack_key=stood.pack_key,
        pack_version=stood.pack_version,
        retired=species.retired,
    )


@lru_cache(maxsize=_KEPT_PROFILES)
def _profile_of(pk: int, digest: str) -> Profile:
    # A revision never changes. The digest keeps databases apart that count their rows alike.
    document = ProfileRevision.objects.values_list("document", flat=True).get(pk=pk)
    return msgspec.convert(document, Profile)


def _nobody(key: str) -> UnknownSpecies | RenamedSpecies:
    renamed = FormerKey.objects.filter(key=key).select_related("profile").first()
    if renamed is not None:
        return RenamedSpecies(key, renamed.profile.key)
    return _unknown(key)


def _unknown(key: str) -> UnknownSpecies:
    near = _ranked(key, _live_rows())[:_NEAR_NAMES]
    return UnknownSpecies(key, [(row.key, _spoken_name(row)) for row in near])


def profile_list(
    *,
    search: str | None = None,
    order: str | None = None,
    family: str | None = None,
    diet: str | None = None,
    evidence: str | None = None,
    limit: int | None = None,
    offset: int = 0,
) -> tuple[int, tuple[Listed, ...]]:
    """How many species fit, and those from ``offset`` on. Two queries.

    Parameters
    ----------
    search
        A name in any language, scientific or not, synonyms and former keys too; ranked by likeness.
        Without it the list goes by order, family and name.
    order, family
        Taxonomic names, in any case.
    diet, evidence
        A word of ``FoodGuild``, of ``Evidence``.
    limit, offset
        The part of the list; None for all.
    """
    rows = [
        row
        for row in _live_rows()
        if _is(order, row.order)
        and _is(family, row.family)
        and _is(diet, row.food_guild)
        and _is(evidence, row.evidence)
    ]
    if search:
        rows = _ranked(search, rows)
    part = rows[offset : None if limit is None else offset + limit]
    return len(rows), tuple(_listed(row) for row in part)


def revision_list(key: str) -> tuple[RevisionEntry, ...]:
    """The history of a species, newest first. Two queries.

    Raises
    ------
    UnknownSpecies, RenamedSpecies
        As :func:`profile_get`.
    """
    if not _KEY.fullmatch(key):
        raise _unknown(key)
    species = SpeciesProfile.objects.filter(key=key).first()
    if species is None:
        raise _nobody(key)
    return tuple(_entry(revision) for revision in species.revisions.order_by("-number"))


def _live_rows() -> list[SpeciesProfile]:
    return list(
        SpeciesProfile.objects.filter(retired=False, current__isnull=False)
        .select_related("current")
        .defer("current__document", "current__changes")
        .prefetch_related("former_keys")
    )


def _is(wanted: str | None, value: str) -> bool:
    return wanted is None or plain(wanted) == plain(value)


def _ranked(query: str, rows: Iterable[SpeciesProfile]) -> list[SpeciesProfile]:
    asked = plain(query)
    if not asked:
        return []
    scored = [(match_score(asked, _names_of(row)), row) for row in rows]
    fitting = [(score, row) for score, row in scored if score > 0]
    return [row for _, row in sorted(fitting, key=lambda item: (-item[0], item[1].scientific_name, item[1].key))]


def _names_of(row: SpeciesProfile) -> Sequence[str]:
    spoken = (name["name"] for name in row.vernacular_names)
    former = (former.key for former in row.former_keys.all())
    return [plain(name) for name in (row.scientific_name, row.key, *spoken, *row.synonyms, *former)]


def _spoken_name(row: SpeciesProfile) -> str:
    names = row.vernacular_names
    english = next((name["name"] for name in names if name["language"] == "en"), None)
    return str(english or (names[0]["name"] if names else row.scientific_name))


def _listed(row: SpeciesProfile) -> Listed:
    return Listed(
        key=row.key,
        scientific_name=row.scientific_name,
        vernacular_names=msgspec.convert(row.vernacular_names, tuple[VernacularName, ...]),
        synonyms=tuple(row.synonyms),
        order=row.order,
        family=row.family,
        food_guild=FoodGuild(row.food_guild),
        developmental_mode=DevelopmentalMode(row.developmental_mode),
        feeding_kind=FeedingKind(row.feeding_kind),
        evidence=Evidence(row.evidence),
        adult_mass_g=row.adult_g,
        revision=row.current.number if row.current else 0,
    )


def _entry(revision: ProfileRevision) -> RevisionEntry:
    changes: list[dict[str, Any]] = revision.changes
    return RevisionEntry(
        revision=revision.number,
        published_at=revision.published_at,
        pack_key=revision.pack_key,
        pack_version=revision.pack_version,
        note=revision.note,
        changes=msgspec.convert(changes, tuple[Change, ...]),
        sources=_sources_behind(revision, [change["pointer"] for change in changes]),
    )


def _sources_behind(revision: ProfileRevision, pointers: Sequence[str]) -> tuple[str, ...]:
    profile = msgspec.convert(revision.document, Profile)
    keys = (
        key
        for at, value in sourced_values(profile)
        if not pointers or any(_touches(pointer, at) for pointer in pointers)
        for key in source_keys(value)
    )
    return tuple(sorted(set(keys)))


def _touches(pointer: str, at: str) -> bool:
    """Whether a change at ``pointer`` changes the value at ``at``: it lies within it or around it."""
    return f"{pointer}/".startswith(f"{at}/") or f"{at}/".startswith(f"{pointer}/")
