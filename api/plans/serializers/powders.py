"""A powder in a request: what the label of the bag says."""

from typing import Any

from api.plans.rules.powders import powder_told
from api.plans.rules.request import Powder, PowderComposition
from api.web.strict import StrictFloatField, StrictSerializer


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
