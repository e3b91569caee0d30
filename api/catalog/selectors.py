"""What the catalogue answers with: species knowledge put together for a reader."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from api.catalog.rules.chart import species_chart
from api.catalog.rules.growth_table import GrowthDay, growth_table
from api.catalog.rules.known import Known
from api.catalog.rules.unlisted import PRACTICE_OF_GUILD, inferred_profile
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Evidence, Source
from species.domain.vocabulary import FoodGuild
from species.packs.sourced import source_keys, sourced_values
from species.selectors import (
    Listed,
    RevisionEntry,
    profile_get,
    profile_list,
    published_get,
    revision_list,
    sources_get,
)


class SpeciesPage(Record, frozen=True, kw_only=True):
    """Part of the list of species, and how many there are in all."""

    count: int
    results: tuple[Listed, ...]


class SpeciesAnswer(Profile, frozen=True, kw_only=True):
    """A profile in one of its revisions. ``sources`` are those that its values name, in full."""

    revision: int
    latest_revision: int
    published_at: datetime
    pack: str
    pack_version: str
    retired: bool
    sources: tuple[Source, ...]


class RevisionsAnswer(Record, frozen=True, kw_only=True):
    """A species' history, newest revision first. ``sources`` are those that its entries name, in full."""

    key: str
    results: tuple[RevisionEntry, ...]
    sources: tuple[Source, ...]


class GrowthCurveAnswer(Record, frozen=True, kw_only=True):
    """A species' growth, as a curve and day by day."""

    key: str
    revision: int
    evidence: Evidence
    growth_curve: GrowthCurve
    days: tuple[GrowthDay, ...]
    sources: tuple[Source, ...]


class NoGrowthCurve(DomainError):  # noqa: N818
    """The species has no growth curve."""

    def __init__(self, key: str) -> None:
        super().__init__(
            f"No growth curve is known of {key}.",
            code="no_growth_curve",
            remedy="GET its profile for the masses that are known.",
        )


def species_page(*, limit: int, offset: int, **filters: str) -> SpeciesPage:
    """The species that fit the filters of ``species.selectors.profile_list``."""
    count, results = profile_list(limit=limit, offset=offset, **filters)
    return SpeciesPage(count=count, results=results)


def species_answer(key: str, revision: int | None) -> SpeciesAnswer:
    """A profile with the sources behind it. Two queries."""
    published = published_get(key, revision)
    profile = published.profile
    return SpeciesAnswer(
        **{field: getattr(profile, field) for field in profile.__struct_fields__},
        revision=published.revision,
        latest_revision=published.latest_revision,
        published_at=published.published_at,
        pack=published.pack_key,
        pack_version=published.pack_version,
        retired=published.retired,
        sources=_cited(_keys_in(profile), published.pack_key),
    )


def revisions_answer(key: str) -> RevisionsAnswer:
    """The history of a species with the sources behind the changes. Three queries."""
    entries = revision_list(key)
    keys = {source for entry in entries for source in entry.sources}
    pack_key = entries[0].pack_key if entries else None
    return RevisionsAnswer(key=key, results=entries, sources=_cited(keys, pack_key))


def growth_curve_answer(key: str, revision: int | None) -> GrowthCurveAnswer:
    """The growth of a species, day by day. Two queries.

    Raises
    ------
    NoGrowthCurve
        The profile has none.
    """
    published = published_get(key, revision)
    curve = published.profile.growth_curve
    if curve is None:
        raise NoGrowthCurve(key)
    return GrowthCurveAnswer(
        key=key,
        revision=published.revision,
        evidence=published.profile.evidence,
        growth_curve=curve,
        days=growth_table(curve),
        sources=_cited(_keys_in(curve), published.pack_key),
    )


class GrowthCurveDrawing(Record, frozen=True, kw_only=True):
    """A species' growth as a picture."""

    key: str
    revision: int
    svg: str


def growth_curve_drawing(key: str, revision: int | None) -> GrowthCurveDrawing:
    """The growth of a species as an SVG chart. One query.

    Raises
    ------
    NoGrowthCurve
        The profile has none.
    """
    published = published_get(key, revision)
    curve = published.profile.growth_curve
    if curve is None:
        raise NoGrowthCurve(key)
    return GrowthCurveDrawing(key=key, revision=published.revision, svg=species_chart(published.profile, curve))


def _keys_in(record: Record) -> set[str]:
    return {key for _, value in sourced_values(record) for key in source_keys(value)}


def _cited(keys: Iterable[str], pack_key: str | None) -> tuple[Source, ...]:
    found = sources_get(keys, pack_key)
    return tuple(found[key] for key in sorted(found))


def species_known(species: str | None, unlisted_species: Mapping[str, Any] | None) -> tuple[Known, int | None]:
    """What is known of a bird's species, listed or not, and the revision it stands in.

    Raises
    ------
    DomainError
        Of an unknown key, or an adult mass beyond any growth line.
    """
    if unlisted_species is None:
        profile, revision = profile_get(species or "")
        return Known(profile=profile), revision
    guild = unlisted_species.get("food_guild")
    borrowed = PRACTICE_OF_GUILD.get(FoodGuild(guild)) if guild else None
    practice = profile_get(borrowed)[0] if borrowed else None
    return inferred_profile(**unlisted_species, practice=practice), None
