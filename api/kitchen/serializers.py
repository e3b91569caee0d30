"""Shapes of powders and kitchens. Limits are those of the rules, said all at once."""

import re
from typing import Any

from rest_framework import serializers

from api.kitchen.rules.limits import IN_A_KITCHEN, Limits
from api.kitchen.rules.powders import Powder, PowderComposition, powder_told
from api.outbox.serializers import RecordOut
from api.web.reasons import number
from api.web.serializers import InstantOut
from api.web.strict import StrictCharField, StrictFloatField, StrictSerializer, StrictUuidField

_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*", re.ASCII)


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


class FormulaChangeIn(PowderIn):
    """What is to be different; null takes back what was told. Its key stays: kitchens and birds name it by that."""

    name = StrictCharField(required=False)
    dry_matter_fraction = within(
        IN_A_KITCHEN["powder_dry_matter_fraction"],
        required=False,
        allow_null=True,
        help_text="1 less the moisture on the label; from the composition where null.",
    )
    energy_kj_per_g_dm = StrictFloatField(
        required=False,
        allow_null=True,
        greater_than=0,
        max_value=40,
        help_text="Metabolisable energy per gram of dry matter; reckoned from the composition where null.",
    )
    bulk_density_g_per_ml = StrictFloatField(
        required=False,
        allow_null=True,
        min_value=0.1,
        max_value=2,
        help_text="Grams of powder in a millilitre of scoop, as scooped.",
    )
    composition = CompositionIn(required=False, allow_null=True)
    note = StrictCharField(required=False, allow_blank=True, multiline=True, max_length=2000)


class KeyField(StrictCharField):
    """A short name that stands in addresses and in other records."""

    default_error_messages = {
        "malformed": "A key is written in small letters, digits and single hyphens, such as spring-powder-2."
    }

    def to_internal_value(self, data: Any) -> str:
        key = super().to_internal_value(data)
        if not _KEY.fullmatch(key):
            self.fail("malformed")
        return key


class FormulaIn(FormulaChangeIn):
    """A powder as the network buys it; what its label says."""

    id = StrictUuidField(required=False, help_text="Of your own choice; the service gives one where it is missing.")
    key = KeyField(
        max_length=80, help_text="Named by it in kitchens and birds; neither the network's nor the catalogue's already."
    )
    name = StrictCharField()


class CompositionOut(serializers.Serializer[Any]):
    water = number()
    protein = number()
    fat = number()
    carbohydrate = number()
    fibre = number()
    ash = number()


class FormulaOut(RecordOut):
    key = serializers.CharField()
    name = serializers.CharField()
    dry_matter_fraction = number()
    energy_kj_per_g_dm = number(null=True)
    bulk_density_g_per_ml = number(null=True)
    composition = CompositionOut(allow_null=True)
    note = serializers.CharField(allow_blank=True)


class KitchenVesselIn(VesselIn):
    """The pot that a site mixes in."""

    temperature_c = within(
        IN_A_KITCHEN["vessel/temperature_c"], required=False, allow_null=True, help_text="The room's where null."
    )


class KitchenIn(StrictSerializer):
    """What a site mixes with. It replaces what was told before: what is left out, or null, counts as not told."""

    formula_key = StrictCharField(
        required=False,
        allow_null=True,
        max_length=80,
        help_text="One of the network's formulas or of the catalogue's; each species' usual one where null.",
    )
    hot_water_c = within(IN_A_KITCHEN["hot_water_c"], required=False, allow_null=True)
    cool_water_c = within(IN_A_KITCHEN["cool_water_c"], required=False, allow_null=True)
    powder_c = within(IN_A_KITCHEN["powder_c"], required=False, allow_null=True)
    room_c = within(IN_A_KITCHEN["room_c"], required=False, allow_null=True)
    altitude_m = within(IN_A_KITCHEN["altitude_m"], required=False, allow_null=True)
    vessel = KitchenVesselIn(required=False, allow_null=True)
    scoop_g = within(
        IN_A_KITCHEN["scoop_g"], required=False, allow_null=True, help_text="Mean of ten level scoops of its formula."
    )


class VesselOut(serializers.Serializer[Any]):
    heat_capacity_j_per_k = number()
    temperature_c = number(null=True)


class KitchenOut(serializers.Serializer[Any]):
    """A site has one kitchen, with the site's id; version 0 until something is told of it."""

    id = serializers.UUIDField()
    version = serializers.IntegerField(min_value=0)
    site_id = serializers.UUIDField()
    formula_key = serializers.CharField(allow_null=True)
    hot_water_c = number(null=True)
    cool_water_c = number(null=True)
    powder_c = number(null=True)
    room_c = number(null=True)
    altitude_m = number(null=True)
    vessel = VesselOut(allow_null=True)
    scoop_g = number(null=True)
    recorded_at = InstantOut(allow_null=True)
    changed_at = InstantOut(allow_null=True)
