"""Powders and foods, described by what is in them; never by a maker's name."""

from typing import Annotated

import msgspec

from species.domain.record import Record
from species.domain.sourcing import Quantity, Sourced

FoodKey = Annotated[str, msgspec.Meta(pattern=r"^[a-z]+(_[a-z]+)*$")]
FormulaKey = Annotated[str, msgspec.Meta(pattern=r"^[a-z]+(-[a-z]+)*$")]


class Composition(Sourced, frozen=True, kw_only=True):
    """Mass fractions of a powder as sold; they add up to 1."""

    water: float
    protein: float
    fat: float
    carbohydrate: float
    fibre: float
    ash: float


class Formula(Record, frozen=True, kw_only=True):
    """A powder to be mixed with water."""

    key: FormulaKey
    name: str
    dry_matter_fraction: Quantity
    energy_kj_per_g_dm: Quantity
    bulk_density_g_per_ml: Quantity
    composition: Composition


class Food(Record, frozen=True, kw_only=True):
    """Something given whole or in pieces: insects, fish, mice."""

    key: FoodKey
    name: str
    energy_kj_per_g: Annotated[Quantity, msgspec.Meta(description="Metabolisable energy of the food as given.")]
    piece_mass_g: Quantity | None = None
    preparation: tuple[str, ...] = ()
    supplements: tuple["Supplement", ...] = ()


class Supplement(Sourced, frozen=True, kw_only=True):
    """What a food lacks, per kilogram of that food or as a share of it."""

    substance: str
    mg_per_kg_food: float | None = None
    fraction_of_food: float | None = None
