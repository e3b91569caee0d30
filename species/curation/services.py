"""Writes of the species reference."""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

import msgspec
from django.db import transaction
from django.db.models import Q
from django.db.models.functions import Now

from species.domain.errors import DomainError
from species.domain.pack import Pack
from species.domain.profile import Profile
from species.models import FormerKey, LoadedPack, PackEntry, ProfileRevision, SpeciesProfile
from species.packs.diff import document_diff


class Outcome(StrEnum):
    """What loading did to a species."""

    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"
    RETIRED = "retired"


@dataclass(frozen=True)
class Applied:
    """One species of a loaded pack: its outcome, its revision now, and how many values changed."""

    key: str
    outcome: Outcome
    revision: int
    changes: int = 0


@transaction.atomic
def pack_apply(
    *, pack: Pack, now: datetime | None = None, progress: Callable[[Applied], None] | None = None
) -> tuple[Applied, ...]:
    """Bring the database to what a checked pack says, in one transaction.

    Parameters
    ----------
    pack
        A pack without findings.
    now
        Stamp of new revisions; the database's clock without one.
    progress
        Called after each species.

    Raises
    ------
    DomainError
        When another loaded pack has one of its species; nothing is written.

    Returns
    -------
    tuple of Applied
        Every species of the pack, then those that it no longer has. A second call with the same pack gives
        ``unchanged`` throughout and writes no revision.
    """
    stamp = now or Now()
    loaded = _loaded_pack(pack, stamp)
    _entries_apply(loaded, pack)

    rows = _rows_for(loaded, pack)
    applied = []
    for profile in pack.profiles:
        row = _row_of(profile, rows)
        applied.append(_profile_apply(loaded, profile, row, stamp))
        if progress is not None:
            progress(applied[-1])
    for row in rows.values():
        # What is left in rows, the pack no longer speaks of.
        if not row.retired:
            row.retired = True
            row.save(update_fields=["retired"])
            applied.append(Applied(row.key, Outcome.RETIRED, row.current.number if row.current else 0))
            if progress is not None:
                progress(applied[-1])
    return tuple(applied)


def _loaded_pack(pack: Pack, stamp: Any) -> LoadedPack:
    header = pack.header
    loaded, _ = LoadedPack.objects.select_for_update().get_or_create(
        key=header.key,
        defaults={"version": header.version, "title": header.title, "licence": header.licence},
    )
    loaded.version, loaded.title, loaded.licence = header.version, header.title, header.licence
    loaded.loaded_at = stamp
    loaded.save()
    return loaded


def _entries_apply(loaded: LoadedPack, pack: Pack) -> None:
    wanted = {
        (kind, record.key): msgspec.to_builtins(record)
        for kind, records in (
            (PackEntry.Kind.SOURCE, pack.sources),
            (PackEntry.Kind.FORMULA, pack.formulas),
            (PackEntry.Kind.FOOD, pack.foods),
        )
        for record in records
    }
    PackEntry.objects.bulk_create(
        [
            PackEntry(pack=loaded, kind=kind, key=key, document=document, retired=False)
            for (kind, key), document in wanted.items()
        ],
        update_conflicts=True,
        unique_fields=["pack", "kind", "key"],
        update_fields=["document", "retired"],
    )
    gone = [entry.pk for entry in loaded.entries.all() if (entry.kind, entry.key) not in wanted]
    PackEntry.objects.filter(pk__in=gone).update(retired=True)


def _rows_for(loaded: LoadedPack, pack: Pack) -> dict[str, SpeciesProfile]:
    """The rows of this pack, and retired ones of other packs that it takes over."""
    keys = {key for profile in pack.profiles for key in (profile.key, *profile.former_keys)}
    rows = {}
    for row in (
        SpeciesProfile.objects.filter(Q(pack=loaded) | Q(key__in=keys))
        .select_related("current", "pack")
        .select_for_update(of=("self",))
    ):
        if row.pack_id != loaded.pk and not row.retired:
            raise DomainError(
                f"The pack {row.pack.key} has {row.key} already.",
                code="species_taken",
                remedy=f"Take it out of {loaded.key}, or take {row.pack.key} away first.",
            )
        rows[row.key] = row
    return rows


def _row_of(profile: Profile, rows: dict[str, SpeciesProfile]) -> SpeciesProfile | None:
    """Take the species' row out of those of the pack: under its key, or under one it had before."""
    for key in (profile.key, *profile.former_keys):
        if key in rows:
            return rows.pop(key)
    return None


def _profile_apply(loaded: LoadedPack, profile: Profile, row: SpeciesProfile | None, stamp: Any) -> Applied:
    document = msgspec.to_builtins(profile)
    if row is None:
        row = SpeciesProfile()
    before = row.current
    changes = () if before is None else document_diff(before.document, document)
    _listing_write(row, loaded, profile)
    _former_keys_write(row, profile.former_keys)
    if before is not None and not changes:
        return Applied(profile.key, Outcome.UNCHANGED, before.number)

    row.current = ProfileRevision.objects.create(
        profile=row,
        number=1 if before is None else before.number + 1,
        document=document,
        digest=document_digest(document),
        pack_key=loaded.key,
        pack_version=loaded.version,
        published_at=stamp,
        note=f"Loaded from the pack {loaded.key} {loaded.version}.",
        changes=msgspec.to_builtins(changes),
    )
    row.save(update_fields=["current"])
    outcome = Outcome.NEW if before is None else Outcome.CHANGED
    return Applied(profile.key, outcome, row.current.number, len(changes))


def _listing_write(row: SpeciesProfile, loaded: LoadedPack, profile: Profile) -> None:
    row.pack = loaded
    row.key = profile.key
    row.scientific_name = profile.scientific_name
    row.vernacular_names = msgspec.to_builtins(profile.vernacular_names)
    row.synonyms = list(profile.synonyms)
    row.order, row.family = profile.order, profile.family
    row.food_guild = profile.food_guild
    row.developmental_mode = profile.developmental_mode
    row.feeding_kind = profile.feeding_kind
    row.evidence = profile.evidence
    row.adult_g = profile.masses.adult_g.value
    row.retired = False
    row.save()


def _former_keys_write(row: SpeciesProfile, keys: Iterable[str]) -> None:
    FormerKey.objects.bulk_create(
        [FormerKey(key=key, profile=row) for key in keys],
        update_conflicts=True,
        unique_fields=["key"],
        update_fields=["profile"],
    )
    row.former_keys.exclude(key__in=list(keys)).delete()


def document_digest(document: Any) -> str:
    """SHA-256 of a document, the same for equal documents."""
    return hashlib.sha256(msgspec.json.encode(document, order="sorted")).hexdigest()
