"""A pack: a set of profiles with the foods, powders and sources they speak of."""

from typing import Annotated

import msgspec

from species.domain.food import Food, Formula
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Source


class PackHeader(Record, frozen=True, kw_only=True):
    """pack.toml: what the pack is, and which contract it was written for."""

    key: Annotated[str, msgspec.Meta(pattern=r"^[a-z]+(-[a-z]+)*$")]
    version: Annotated[str, msgspec.Meta(pattern=r"^\d+\.\d+\.\d+$")]
    contract: int
    title: str
    licence: str


class Pack(Record, frozen=True, kw_only=True):
    """A whole pack, read and checked."""

    header: PackHeader
    sources: tuple[Source, ...]
    formulas: tuple[Formula, ...]
    foods: tuple[Food, ...]
    profiles: tuple[Profile, ...]
