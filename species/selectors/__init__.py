"""The only door through which species knowledge is read: rows in, the domain's records out."""

from species.selectors.errors import RenamedSpecies, UnknownRevision, UnknownSpecies
from species.selectors.profiles import (
    Listed,
    Published,
    RevisionEntry,
    profile_get,
    profile_list,
    published_get,
    revision_list,
)
from species.selectors.tables import food_get, foods_get, formula_get, formula_list, source_get, sources_get

__all__ = [
    "Listed",
    "Published",
    "RenamedSpecies",
    "RevisionEntry",
    "UnknownRevision",
    "UnknownSpecies",
    "food_get",
    "foods_get",
    "formula_get",
    "formula_list",
    "profile_get",
    "profile_list",
    "published_get",
    "revision_list",
    "source_get",
    "sources_get",
]
