"""Shapes of a request for a mix and of the mix. Limits are those of the rules, said all at once."""

from typing import Any

from rest_framework import serializers

from api.kitchen.serializers import PowderIn, VesselIn, within
from api.plans.rules.mix import MixOrder
from api.plans.rules.mix_limits import LIMITS, MOST_PORTIONS
from api.web.reasons import BasisOut, CautionOut, ComputedByOut, number, texts
from api.web.strict import (
    OneOf,
    StrictBooleanField,
    StrictCharField,
    StrictChoiceField,
    StrictDateTimeField,
    StrictFloatField,
    StrictIntegerField,
    StrictListField,
    StrictSerializer,
)


def limited(name: str, *, required: bool = False, **options: Any) -> StrictFloatField:
    return within(LIMITS[name], required=required, **options)


class PortionIn(StrictSerializer):
    """What one bird, or several alike, get at this round."""

    label = StrictCharField(required=False, max_length=80, help_text="Who it is for; `portion 1` and so on if missing.")
    volume_ml = limited("portion/volume_ml", required=True, help_text="Of finished mix at feeding temperature.")
    count = StrictIntegerField(
        required=False,
        min_value=int(LIMITS["portion/count"].low),
        max_value=int(LIMITS["portion/count"].high),
        help_text="How many of it; 1 if missing.",
    )
    dry_matter_fraction = limited("portion/dry_matter_fraction", required=True, help_text="Of the mix, by mass.")
    group = StrictCharField(
        required=False, allow_null=True, max_length=80, help_text="Birds that may share a pot; groups never do."
    )


class MixIn(StrictSerializer):
    """Portions in feeding order, the powder, and the kitchen."""

    portions = StrictListField(child=PortionIn(), min_length=1, max_length=MOST_PORTIONS)
    formula = PowderIn(required=False)
    formula_key = StrictCharField(required=False, max_length=80, help_text="A formula of the catalogue.")
    target_c = limited("target_c", help_text="39.5 if missing.")
    hot_water_c = limited("hot_water_c", help_text="80 if missing.")
    cool_water_c = limited("cool_water_c", help_text="20 if missing.")
    powder_c = limited("powder_c", help_text="The room's if missing.")
    vessel = VesselIn(required=False)
    altitude_m = limited("altitude_m", help_text="Sea level if missing.")
    room_c = limited("room_c", help_text="21 if missing.")
    spare_fraction = limited("spare_fraction", help_text="For what stays in pot and syringes; 0.1 if missing.")
    scoop_g = limited("scoop_g", help_text="Mean of ten level scoops of this bag.")
    hydration_j_per_g = limited(
        "hydration_j_per_g", help_text="Heat that a gram of this powder sets free on wetting, from logged mixes; 0."
    )
    prepared_at = StrictDateTimeField(required=False)
    thin_in_steps = StrictBooleanField(required=False)
    order = StrictChoiceField(choices=[word.value for word in MixOrder], required=False)

    alternatives = (
        OneOf(
            ("formula", "formula_key"),
            missing="Which powder? Give formula, with dry_matter_fraction or composition, or formula_key.",
        ),
    )


class ThinningOut(serializers.Serializer[Any]):
    """Warm water into what is left, for the next serving."""

    dry_matter_fraction = number()
    labels = texts()
    volume_ml = number()
    left_g = number()
    water_g = number()
    water_g_per_10_g_left = number()
    hot_water_g = number()
    hot_water_ml = number()
    cool_water_g = number()
    cool_water_ml = number()
    water_c = number()
    final_c = number(help_text="If what was left is still at the target.")
    low_final_c = number(help_text="If it has cooled to the lower limit.")
    mixed_dry_matter_fraction = number()


class MixBatchOut(serializers.Serializer[Any]):
    """One pot; `mixed_*`, `blend_c` and `final_c` are what the rounded grams give."""

    dry_matter_fraction = number()
    group = serializers.CharField(allow_null=True)
    labels = texts()
    portions_ml = number(help_text="Sum of the portions.")
    volume_ml = number(help_text="With the spare.")
    mixed_volume_ml = number()
    mass_g = number()
    powder_g = number()
    water_g = number()
    hot_water_g = number()
    hot_water_ml = number(help_text="At its own temperature.")
    cool_water_g = number()
    cool_water_ml = number(help_text="At its own temperature.")
    scale_step_g = number()
    scoops = number(null=True)
    paste_water_g = number(null=True)
    paste_c = number(null=True)
    blend_c = number(help_text="Of all the water poured together, before the powder.")
    blend_in_pot_c = number(help_text="The same water as it reads in the vessel.")
    final_c = number()
    mixed_dry_matter_fraction = number()
    minutes_above_low_c = number(null=True)
    thinning = serializers.ListField(child=ThinningOut())
    steps = texts()


class GivingBandOut(serializers.Serializer[Any]):
    """How warm, measured in the syringe."""

    target_c = number()
    low_c = number()
    high_c = number()
    never_above_c = number()


class AssumptionOut(serializers.Serializer[Any]):
    """An input that was not told, and what was taken for it."""

    field = serializers.CharField(help_text="JSON pointer into the request.")
    value = serializers.JSONField()
    why = serializers.CharField()


class MixOut(serializers.Serializer[Any]):
    """One fresh mix for everybody due now."""

    batches = serializers.ListField(child=MixBatchOut())
    temperature = GivingBandOut()
    boils_at_c = number()
    minutes_above_low_c = number(null=True, help_text="Of the batch that cools first; null in a room that warm.")
    keep_at_most_min = serializers.IntegerField()
    discard_by = serializers.CharField(allow_null=True, help_text="Instant, RFC 3339, with the offset of prepared_at.")
    assumed = serializers.ListField(child=AssumptionOut())
    cautions = serializers.ListField(child=CautionOut())
    basis = serializers.ListField(child=BasisOut())
    computed_by = ComputedByOut()
