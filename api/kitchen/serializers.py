"""Shapes of powders and kitchens. Limits are those of the rules, said all at once."""

from typing import Any

from api.kitchen.rules.limits import IN_A_KITCHEN, Limits
from api.kitchen.rules.powders import Powder, PowderComposition, powder_told
from api.web.strict import StrictFloatField, StrictSerializer


def within(limits: Limits, **options: Any) -> StrictFloatField:
    """A number between the ends that a rule names."""
    return StrictFloatField(min_value=limits.low, max_value=limits.high, **options)


class CompositionIn(StrictSerializer):
    """Mass fractions of the powder as sold; they add up to 1 within 0.02."""

    water = StrictFloatField(min_value=0, max_value=1)
    protein = StrictFloatField(min_value=0, max_value=1)
    fat = StrictFloatField(min_value=0, max_value=1)
    carbohydrate = StrictFloatField(min_value=0, max_value=1)
    fibre = StrictFloatField(min_value=0, max_value=1)
    ash = StrictFloatField(min_value=0, max_value=1)


class PowderIn(StrictSerializer):
    """The powder in the carer's bag; what is missing follows from `composition`, or is asked for."""

    dry_matter_fraction = StrictFloatField(
        required=False, greater_than=0, max_value=1, help_text="1 less the moisture on the label."
    )
    energy_kj_per_g_dm = StrictFloatField(
        required=False,
        greater_than=0,
        max_value=40,
        help_text="Metabolisable energy per gram of dry matter; reckoned from the composition where missing.",
    )
    bulk_density_g_per_ml = StrictFloatField(
        required=False,
        min_value=0.1,
        max_value=2,
        help_text="Grams of powder in a millilitre of scoop, as scooped.",
    )
    composition = CompositionIn(required=False)


def powder_from(told: dict[str, Any]) -> Powder:
    """The complete powder; a refusal of the rules carries the field's pointer."""
    composition = told.get("composition")
    return powder_told(**(told | {"composition": None if composition is None else PowderComposition(**composition)}))


class VesselIn(StrictSerializer):
    """The pot, where it is not warmed first."""

    heat_capacity_j_per_k = within(
        IN_A_KITCHEN["vessel/heat_capacity_j_per_k"], help_text="Mass of the wetted part times 0.8 (glass) J/(g K)."
    )
    temperature_c = within(IN_A_KITCHEN["vessel/temperature_c"], required=False, help_text="The room's if missing.")
