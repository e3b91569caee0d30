"""Where a value comes from, and how near that is to the species it is used for."""

from enum import StrEnum
from typing import Annotated

import msgspec

from species.domain.record import Record

#: A source key of the pack's SOURCES.toml, a space, and the place in it: ``HRB p.446``.
SourceRef = Annotated[
    str,
    msgspec.Meta(
        pattern=r"^[A-Z][A-Za-z0-9&+-]* .+$",
        description="Source key, a space, then the page, table, check or row: 'HRB p.446'.",
    ),
]


class Evidence(StrEnum):
    """How far a whole profile may be trusted."""

    CURATED = "curated"
    DERIVED = "derived"
    INFERRED = "inferred"


class Reach(StrEnum):
    """What a value's source speaks of: this species, its group, or an equation of ours."""

    SPECIES = "species"
    GROUP = "group"
    INFERRED = "inferred"


class Tier(StrEnum):
    """Weight of a source: A paper or textbook, B proceedings, C practitioner's page, D open data."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"


class Source(Record, frozen=True, kw_only=True):
    """One entry of SOURCES.toml."""

    key: Annotated[str, msgspec.Meta(pattern=r"^[A-Z][A-Za-z0-9&+-]*$")]
    citation: Annotated[str, msgspec.Meta(min_length=10)]
    tier: Tier
    doi: str | None = None
    licence: str | None = None
    seen: Annotated[
        bool,
        msgspec.Meta(description="False where the value is from memory or through a second source only."),
    ] = True


class Sourced(Record, frozen=True, kw_only=True):
    """A value that carries where it comes from.

    ``sources`` for what was printed somewhere, ``equation`` for what was inferred; one of the two stands.
    """

    reach: Reach
    sources: tuple[SourceRef, ...] = ()
    equation: Annotated[str | None, msgspec.Meta(description="For an inferred value: the equation and its inputs.")] = (
        None
    )
    note: Annotated[str | None, msgspec.Meta(description="Disagreements, doubts, what was read but not used.")] = None


class Quantity(Sourced, frozen=True, kw_only=True):
    """One number. Its unit is the suffix of the field that holds it."""

    value: float


class Band(Sourced, frozen=True, kw_only=True):
    """A printed range, ends included; ``usual`` where practice names a middle."""

    low: float
    high: float
    usual: float | None = None

    @property
    def middle(self) -> float:
        """The usual value, or half-way between the ends."""
        return self.usual if self.usual is not None else (self.low + self.high) / 2


class Flag(Sourced, frozen=True, kw_only=True):
    """A yes or no."""

    value: bool


class Statement(Sourced, frozen=True, kw_only=True):
    """A sentence for the reader, with the code programs know it by."""

    code: Annotated[str, msgspec.Meta(pattern=r"^[a-z][a-z0-9_]*$")]
    text: Annotated[str, msgspec.Meta(min_length=8)]
