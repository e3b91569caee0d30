"""The numbers of one batch: grams a scale shows, and what those grams give when reckoned forward again.

The balances are the biology's; here they are held to a kitchen. Every rule takes and gives plain JSON values, so that
a number in an answer can be had again from the inputs that stand beside it.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta

from api.plans.rules.batches import needed_at_g
from api.plans.rules.mix_limits import HIGH_C
from species.biology import cooling, mixing, water

#: What is shown of a temperature and of a share: finer than any thermometer, so that readers can check the balance.
DIGITS_C = 2
DIGITS_FRACTION = 4

FINE_BATCH_G = 20.0
LARGE_BATCH_G = 1000.0


def scale_step_g(mass_g: float) -> float:
    """Step to which the amounts of a batch are rounded: 0.01 g below 20 g, 0.1 g below 1 kg, else 1 g.

    Notes
    -----
    A pocket scale shows 0.1 g up to a kilogram, and half a step is then at most 0.25 % of a batch of 20 g; in
    smaller batches it would move the dry matter by more than a label is good for, so they ask for a finer scale (and
    a caution says so). One step serves a whole batch, because everything is poured onto one scale. Common practice,
    no source.
    """
    if mass_g < FINE_BATCH_G:
        return 0.01
    return 0.1 if mass_g < LARGE_BATCH_G else 1.0


def batch_mass_g(
    volume_ml: float, dry_matter_fraction: float, composition: Mapping[str, float], target_c: float
) -> float:
    """Mass of a volume of mix at feeding temperature, in g.

    Notes
    -----
    Volumes of water and of dry solids add; air stirred in is not counted. energetics-and-mixing.md section 3.5, C32.
    """
    density = mixing.slurry_density_g_per_ml(dry_matter_fraction, composition, target_c)
    return round(volume_ml * float(density), 3)


def mixed_volume_ml(
    mass_g: float, dry_matter_fraction: float, composition: Mapping[str, float], target_c: float
) -> float:
    """Volume of a mass of mix at feeding temperature, in mL: the way back from :func:`batch_mass_g`."""
    return round(mass_g * float(mixing.slurry_volume_ml_per_g(dry_matter_fraction, composition, target_c)), 2)


def powder_g(mass_g: float, dry_matter_fraction: float, powder_dry_matter_fraction: float, step_g: float) -> float:
    """Powder as sold to weigh in, in g, rounded to the scale's step but never to nothing.

    Notes
    -----
    m_p = s B / d. energetics-and-mixing.md section 3.1, C20.
    """
    exact = float(mixing.mass_balance(mass_g, dry_matter_fraction, powder_dry_matter_fraction).powder_g)
    return max(to_step(exact, step_g), step_g)


def water_g(mass_g: float, dry_matter_fraction: float, powder_dry_matter_fraction: float, step_g: float) -> float:
    """Water to add, hot and cool together, in g, rounded to the scale's step; B - m_p."""
    exact = float(mixing.mass_balance(mass_g, dry_matter_fraction, powder_dry_matter_fraction).water_g)
    return to_step(exact, step_g)


def hot_water_g(
    powder_g: float,
    water_g: float,
    target_c: float,
    hot_water_c: float,
    cool_water_c: float,
    powder_c: float,
    composition: Mapping[str, float],
    vessel_heat_capacity_j_per_k: float,
    vessel_c: float,
    hydration_j_per_g: float,
    step_g: float,
) -> float:
    """Hot part of the water, in g, so that the mix lands on its target; rounded, and never so as to leave the band.

    Raises
    ------
    DomainError
        If the waters cannot do it.

    Notes
    -----
    Enthalpy balance of energetics-and-mixing.md section 3.1 (C20, C21) on the rounded powder and water. Where
    rounding up would end above 41 C, a step less of hot water is taken.
    """
    exact = float(
        mixing.hot_and_cool_water_g(
            water_g,
            powder_g,
            target_c,
            hot_water_c,
            cool_water_c,
            powder_c,
            composition,
            vessel_heat_capacity_j_per_k=vessel_heat_capacity_j_per_k,
            vessel_c=vessel_c,
            hydration_j_per_g=hydration_j_per_g,
        ).hot_g
    )

    def lands_c(hot_g: float) -> float:
        return final_c(
            hot_g,
            to_step(water_g - hot_g, step_g),
            powder_g,
            hot_water_c,
            cool_water_c,
            powder_c,
            composition,
            vessel_heat_capacity_j_per_k,
            vessel_c,
            hydration_j_per_g,
        )

    return _not_too_hot(min(to_step(exact, step_g), water_g), step_g, lands_c)


def cool_water_g(water_g: float, hot_water_g: float, step_g: float) -> float:
    """Cool part of the water, in g: what the hot part leaves, so that the two add up."""
    return to_step(water_g - hot_water_g, step_g)


def poured_ml(mass_g: float, temperature_c: float) -> float:
    """Volume of water in a measuring cup at its own temperature, in mL.

    Notes
    -----
    Hot water is lighter: 500 mL at 80 C is 485.9 g, at 20 C 499.1 g. energetics-and-mixing.md section 3.3.
    """
    return round(mass_g / float(water.density_g_per_ml(temperature_c)), 2)


def scoops(powder_g: float, scoop_g: float) -> float:
    """Level scoops of powder, to a hundredth, by the weight of one scoop of this bag."""
    return round(powder_g / scoop_g, 2)


def blend_c(hot_water_g: float, cool_water_g: float, hot_water_c: float, cool_water_c: float) -> float:
    """Temperature of all the water poured together, before any powder, in C; energetics-and-mixing.md C25."""
    return round(float(mixing.blend_temperature_c(hot_water_g, hot_water_c, cool_water_g, cool_water_c)), DIGITS_C)


def final_c(
    hot_water_g: float,
    cool_water_g: float,
    powder_g: float,
    hot_water_c: float,
    cool_water_c: float,
    powder_c: float,
    composition: Mapping[str, float],
    vessel_heat_capacity_j_per_k: float,
    vessel_c: float,
    hydration_j_per_g: float,
) -> float:
    """Temperature at which the rounded grams come to rest, in C, before anything is lost to the air."""
    return round(
        float(
            mixing.final_temperature_c(
                hot_water_g,
                hot_water_c,
                cool_water_g,
                cool_water_c,
                powder_g,
                powder_c,
                composition,
                vessel_heat_capacity_j_per_k=vessel_heat_capacity_j_per_k,
                vessel_c=vessel_c,
                hydration_j_per_g=hydration_j_per_g,
            )
        ),
        DIGITS_C,
    )


def paste_water_g(powder_g: float, hot_water_g: float) -> float:
    """Hot water for a paste, in g: as much as there is powder, or all there is. Common practice, no source."""
    return min(powder_g, hot_water_g)


def mixed_dry_matter_fraction(powder_g: float, water_g: float, powder_dry_matter_fraction: float) -> float:
    """Dry matter that the rounded grams give; energetics-and-mixing.md C41."""
    return round(
        float(mixing.mixed_dry_matter_fraction(powder_g, water_g, powder_dry_matter_fraction)),
        DIGITS_FRACTION,
    )


def left_g(
    masses_g: Sequence[float],
    dry_matter_fractions: Sequence[float],
    at_dry_matter_fraction: float,
    step_g: float,
) -> float:
    """Mass that is left in the pot for the servings still to come, in g, rounded; see ``batches.needed_at_g``."""
    needed = needed_at_g(masses_g, dry_matter_fractions, at_dry_matter_fraction)
    return max(to_step(needed, step_g), step_g)


def thinning_water_g(left_g: float, dry_matter_fraction: float, thicker_fraction: float, step_g: float) -> float:
    """Water that thins what is left of a mix, in g, rounded but never to nothing; m (s_thick / s_thin - 1)."""
    return max(to_step(left_g * (thicker_fraction / dry_matter_fraction - 1.0), step_g), step_g)


def thinning_hot_water_g(
    water_g: float, water_c: float, hot_water_c: float, cool_water_c: float, step_g: float
) -> float:
    """Hot part of warm water to thin with, in g, rounded so that it does not exceed 41 C."""
    hot, cool = float(water.enthalpy_j_per_g(hot_water_c)), float(water.enthalpy_j_per_g(cool_water_c))
    exact = water_g * (float(water.enthalpy_j_per_g(water_c)) - cool) / (hot - cool)

    def lands_c(hot_g: float) -> float:
        return blend_c(hot_g, to_step(water_g - hot_g, step_g), hot_water_c, cool_water_c)

    return _not_too_hot(min(to_step(exact, step_g), water_g), step_g, lands_c)


def thinned_c(
    left_g: float,
    left_dry_matter_fraction: float,
    left_c: float,
    water_g: float,
    water_c: float,
    powder_dry_matter_fraction: float,
    composition: Mapping[str, float],
) -> float:
    """Temperature of a mix after warm water went into it, in C."""
    solid = left_g * left_dry_matter_fraction / powder_dry_matter_fraction
    return round(
        float(mixing.final_temperature_c(water_g, water_c, left_g - solid, left_c, solid, left_c, composition)),
        DIGITS_C,
    )


def thinned_dry_matter_fraction(left_g: float, left_dry_matter_fraction: float, water_g: float) -> float:
    """Dry matter of a mix after water went into it; m_thick s_thick = m_thin s_thin."""
    return round(left_g * left_dry_matter_fraction / (left_g + water_g), DIGITS_FRACTION)


def minutes_above_low_c(final_c: float, low_c: float, room_c: float, volume_ml: float) -> float | None:
    """Minutes in an uncovered beaker until the mix falls below its band; None in a room that warm.

    Notes
    -----
    Newton cooling, constant by volume. energetics-and-mixing.md section 3.6, C34.
    """
    if room_c >= low_c:
        return None
    if final_c <= low_c:
        return 0.0
    rate = cooling.cooling_rate_per_min(volume_ml)
    return round(float(cooling.minutes_above(final_c, low_c, room_c, rate)), 1)


def keep_at_most_min() -> int:
    """Minutes after which a mix is thrown away, warm or not: one hour (HRB p.446)."""
    return int(cooling.KEEP_AT_MOST_MIN)


def discard_by(prepared_at: str, keep_at_most_min: int) -> str:
    """Instant by which a mix is thrown away, with the offset it was prepared at (RFC 3339)."""
    return (datetime.fromisoformat(prepared_at) + timedelta(minutes=keep_at_most_min)).isoformat()


def to_step(value: float, step: float) -> float:
    """Round to a step of 1, 0.1 or 0.01, half upwards, without the tail of binary fractions."""
    per_unit = round(1.0 / step)
    return math.floor(value * per_unit + 0.5) / per_unit


def _not_too_hot(hot_g: float, step_g: float, lands_c: Callable[[float], float]) -> float:
    """Take hot water away, step by step, until the mix no longer lands above the band that may be given."""
    while hot_g > 0.0 and lands_c(hot_g) > HIGH_C:
        hot_g = max(to_step(hot_g - step_g, step_g), 0.0)
    return hot_g
