"""A mix: what a carer asks for, and what comes back. Words: docs/methods/mixing.md."""

from datetime import datetime
from enum import StrEnum

from api.kitchen.rules.powders import PowderComposition
from api.web.rules.cautions import Caution
from api.web.rules.ledger import BasisEntry
from species.domain.record import Record


class MixOrder(StrEnum):
    """What meets first: the two waters, or the powder and part of the hot water."""

    BLEND_FIRST = "blend_first"
    PASTE_FIRST = "paste_first"


class Portion(Record, frozen=True, kw_only=True):
    """What one bird (or several alike) gets at this round, in mL of finished mix at feeding temperature."""

    label: str
    volume_ml: float
    dry_matter_fraction: float
    count: int = 1
    group: str | None = None


class Vessel(Record, frozen=True, kw_only=True):
    """The part of the pot that the mix wets; a pot that was warmed first counts nothing."""

    heat_capacity_j_per_k: float
    temperature_c: float


class Assumption(Record, frozen=True, kw_only=True):
    """An input that was not told, what was taken for it, and why that."""

    field: str
    value: float | str
    why: str


class MixRequest(Record, frozen=True, kw_only=True):
    """A round's portions and the kitchen they are made in, complete: ``assumed`` says what was filled in."""

    portions: tuple[Portion, ...]
    powder_dry_matter_fraction: float
    composition: PowderComposition
    target_c: float
    hot_water_c: float
    cool_water_c: float
    powder_c: float
    room_c: float
    altitude_m: float
    spare_fraction: float
    hydration_j_per_g: float = 0.0
    vessel: Vessel | None = None
    scoop_g: float | None = None
    prepared_at: datetime | None = None
    thin_in_steps: bool = False
    order: MixOrder = MixOrder.BLEND_FIRST
    assumed: tuple[Assumption, ...] = ()
    powder_sources: tuple[str, ...] = ()


class Thinning(Record, frozen=True, kw_only=True):
    """Warm water into what is left of a batch, for birds that take it thinner.

    ``final_c`` holds if what is left is still at the target, ``low_final_c`` if it has cooled to the lower limit.
    """

    dry_matter_fraction: float
    labels: tuple[str, ...]
    volume_ml: float
    left_g: float
    water_g: float
    water_g_per_10_g_left: float
    hot_water_g: float
    hot_water_ml: float
    cool_water_g: float
    cool_water_ml: float
    water_c: float
    final_c: float
    low_final_c: float
    mixed_dry_matter_fraction: float


class MixBatch(Record, frozen=True, kw_only=True):
    """One pot. ``mixed_*``, ``blend_c`` and ``final_c`` are what the rounded grams give, reckoned again.

    ``blend_c`` is the temperature of all the water poured together, ``blend_in_pot_c`` what it reads in the vessel;
    ``paste_*`` stand for ``paste_first`` alone.
    """

    dry_matter_fraction: float
    group: str | None
    labels: tuple[str, ...]
    portions_ml: float
    volume_ml: float
    mixed_volume_ml: float
    mass_g: float
    powder_g: float
    water_g: float
    hot_water_g: float
    hot_water_ml: float
    cool_water_g: float
    cool_water_ml: float
    scale_step_g: float
    scoops: float | None
    paste_water_g: float | None
    paste_c: float | None
    blend_c: float
    blend_in_pot_c: float
    final_c: float
    mixed_dry_matter_fraction: float
    minutes_above_low_c: float | None
    thinning: tuple[Thinning, ...]
    steps: tuple[str, ...]


class GivingBand(Record, frozen=True, kw_only=True):
    """How warm, measured in the syringe."""

    target_c: float
    low_c: float
    high_c: float
    never_above_c: float


class Mix(Record, frozen=True, kw_only=True):
    """One fresh mix for a round. ``minutes_above_low_c`` is that of the batch which cools first; null in a room
    so warm that only the hour ends it."""

    batches: tuple[MixBatch, ...]
    temperature: GivingBand
    boils_at_c: float
    minutes_above_low_c: float | None
    keep_at_most_min: int
    discard_by: str | None
    assumed: tuple[Assumption, ...]
    cautions: tuple[Caution, ...]
    basis: tuple[BasisEntry, ...]
