"""Rows of the species reference. Read them through species.selectors, write them through species.curation."""

from species.models.pack import LoadedPack, PackEntry
from species.models.profile import FormerKey, SpeciesProfile
from species.models.revision import ProfileRevision

__all__ = ["FormerKey", "LoadedPack", "PackEntry", "ProfileRevision", "SpeciesProfile"]
