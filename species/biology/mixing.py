"""Mixing one batch: grams of powder and water, and how hot the water must be for the mix to land on its
target.

Mass first, then heat. The heat balance takes the enthalpy of water (IAPWS-95) and of the powder (Choi &
Okos), the vessel, the heat of hydration and any further loss. It holds in whatever order the parts meet;
the order matters for the food (starch gels, vitamins suffer), so the temperature of the blended waters and
of a paste can be asked for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology import powder, water
from species.biology.bounds import FloatOrArray, positive, scalar_or_array, within
from species.biology.heat import demand_j, hydration_within, rest_c, temperature_within
from species.domain.errors import DomainError

_NO_POWDER: Mapping[str, float] = {name: float(name == "water") for name in powder.COMPONENTS}
_SLACK_G = 1e-9


class WaterTemperatureError(DomainError):
    """The waters at hand cannot bring the mix to its target.

    Parameters
    ----------
    detail, field, remedy
        As in :class:`DomainError`; ``field`` is ``hot_water_c`` or ``cool_water_c``.
    needed
        Temperature in C of that water which would just do (for every mix, if several were asked for); None
        if no liquid water is hot or cold enough.
    """

    def __init__(self, detail: str, *, field: str, code: str, remedy: str, needed: float | None) -> None:
        super().__init__(detail, field=field, code=code, remedy=remedy)
        self.needed = needed


@dataclass(frozen=True, slots=True)
class Batch:
    """Grams of powder as sold and of water in a batch."""

    powder_g: FloatOrArray
    water_g: FloatOrArray


@dataclass(frozen=True, slots=True)
class Waters:
    """Grams of hot and of cool water for a batch."""

    hot_g: FloatOrArray
    cool_g: FloatOrArray


def mass_balance(batch_g: ArrayLike, dry_matter_fraction: ArrayLike, powder_dry_matter_fraction: ArrayLike) -> Batch:
    """Powder and water for a batch of a given dry matter.

    Parameters
    ----------
    batch_g
        Mass of the whole mix, B.
    dry_matter_fraction
        Dry matter of the mix by mass, s.
    powder_dry_matter_fraction
        Dry matter of the powder as sold, d. "25 % of powder" with d = 0.92 is only 23 % dry matter.

    Returns
    -------
    Batch
        Grams, broadcast shape of the arguments.

    Raises
    ------
    DomainError
        If a fraction is not above 0 and at most 1, or the mix is to be drier than its powder.

    Notes
    -----
    m_p = s B / d; m_w = B - m_p. energetics-and-mixing.md section 3.1, check C20.
    """
    batch = positive(batch_g, "batch_g")
    mix = positive(dry_matter_fraction, "dry_matter_fraction", high=1.0)
    sold = positive(powder_dry_matter_fraction, "powder_dry_matter_fraction", high=1.0)
    if np.any(mix > sold):
        raise DomainError(
            "The mix is to hold more dry matter than its powder.",
            field="dry_matter_fraction",
            code="drier_than_powder",
            remedy=f"It can be at most {float(np.min(sold)):g}.",
        )
    powder_g = np.asarray(mix * batch / sold)
    return Batch(powder_g=scalar_or_array(powder_g), water_g=scalar_or_array(batch - powder_g))


def mixed_dry_matter_fraction(
    powder_g: ArrayLike, water_g: ArrayLike, powder_dry_matter_fraction: ArrayLike
) -> FloatOrArray:
    """Dry matter of a mix of weighed parts: the way back from :func:`mass_balance` after rounding.

    Notes
    -----
    s = d m_p / (m_p + m_w). energetics-and-mixing.md section 3.1, check C41.
    """
    solid = positive(powder_g, "powder_g")
    sold = positive(powder_dry_matter_fraction, "powder_dry_matter_fraction", high=1.0)
    return scalar_or_array(sold * solid / (solid + within(water_g, "water_g", low=0.0)))


def slurry_volume_ml_per_g(
    dry_matter_fraction: ArrayLike, composition: Mapping[str, float], temperature_c: ArrayLike
) -> FloatOrArray:
    """Volume of a gram of mix without trapped air, in mL/g.

    Notes
    -----
    V = (1 - s) / rho_w + s v, v the volume of dry solids. energetics-and-mixing.md section 3.5, check C32.
    """
    mix = within(dry_matter_fraction, "dry_matter_fraction", low=0.0, high=1.0)
    solids = np.asarray(powder.dry_solids_volume_ml_per_g(composition, temperature_c))
    return scalar_or_array((1.0 - mix) / np.asarray(water.density_g_per_ml(temperature_c)) + mix * solids)


def slurry_density_g_per_ml(
    dry_matter_fraction: ArrayLike, composition: Mapping[str, float], temperature_c: ArrayLike
) -> FloatOrArray:
    """Density of a mix without trapped air, in g/mL; the inverse of :func:`slurry_volume_ml_per_g`."""
    return scalar_or_array(1.0 / np.asarray(slurry_volume_ml_per_g(dry_matter_fraction, composition, temperature_c)))


def single_water_c(
    water_g: ArrayLike,
    powder_g: ArrayLike,
    target_c: ArrayLike,
    powder_c: ArrayLike,
    composition: Mapping[str, float],
    *,
    vessel_heat_capacity_j_per_k: ArrayLike = 0.0,
    vessel_c: ArrayLike | None = None,
    hydration_j_per_g: ArrayLike = 0.0,
    extra_loss_j: ArrayLike = 0.0,
) -> FloatOrArray:
    """Temperature that all of the water must have for the mix to land on its target, in C.

    Parameters
    ----------
    water_g, powder_g, target_c, powder_c, composition, vessel_heat_capacity_j_per_k, vessel_c,
    hydration_j_per_g, extra_loss_j
        As in :func:`hot_and_cool_water_g`.

    Raises
    ------
    WaterTemperatureError
        If liquid water of 0 to 100 C cannot do it.

    Notes
    -----
    h(T_w) = h(T*) + [m_p (H_p(T*) - H_p(T_p)) - m_p q_h + C_v (T* - T_v) + Q] / m_w. energetics-and-mixing.md
    section 3.1, single-water variant, on enthalpy; check C27.
    """
    amount = positive(water_g, "water_g")
    demand = demand_j(
        powder_g,
        target_c,
        powder_c,
        composition,
        vessel_heat_capacity_j_per_k,
        vessel_c,
        hydration_j_per_g,
        extra_loss_j,
    )
    enthalpy = np.asarray(water.enthalpy_j_per_g(within(target_c, "target_c"))) + demand / amount
    for field, code, beyond in (
        ("hot_water_c", "water_not_hot_enough", enthalpy > water.enthalpy_j_per_g(water.HOTTEST_C)),
        ("cool_water_c", "water_not_cool_enough", enthalpy < water.enthalpy_j_per_g(water.COLDEST_C)),
    ):
        if np.any(beyond):
            raise _no_water_does(field, code)
    return scalar_or_array(
        rest_c(np.ones_like(enthalpy), np.zeros_like(enthalpy), np.zeros_like(enthalpy), enthalpy, _NO_POWDER)
    )


def hot_and_cool_water_g(
    water_g: ArrayLike,
    powder_g: ArrayLike,
    target_c: ArrayLike,
    hot_water_c: ArrayLike,
    cool_water_c: ArrayLike,
    powder_c: ArrayLike,
    composition: Mapping[str, float],
    *,
    vessel_heat_capacity_j_per_k: ArrayLike = 0.0,
    vessel_c: ArrayLike | None = None,
    hydration_j_per_g: ArrayLike = 0.0,
    extra_loss_j: ArrayLike = 0.0,
) -> Waters:
    """Split the water of a batch into hot and cool so that the mix lands on its target.

    Parameters
    ----------
    water_g, powder_g
        Masses of the batch, from :func:`mass_balance`.
    target_c
        Temperature the mix is to have, T*.
    hot_water_c, cool_water_c
        Temperatures of the waters at hand, T_h and T_c.
    powder_c
        Temperature of the powder, T_p.
    composition
        Mass fractions of the powder as sold, see :mod:`species.biology.powder`.
    vessel_heat_capacity_j_per_k, vessel_c
        Heat capacity of the wetted vessel, C_v, and its temperature, T_v (the powder's where not given). A
        glass jug of 200 g is about 168 J/K; nothing for a vessel that was warmed first.
    hydration_j_per_g
        Heat q_h that the powder sets free on wetting, J per g of powder: a constant of the product, 0 unless
        calibrated, plausibly -5 to 20.
    extra_loss_j
        Further heat lost while mixing, Q.

    Returns
    -------
    Waters
        Grams, adding up to ``water_g``.

    Raises
    ------
    WaterTemperatureError
        If the hot water is not hot enough or the cool water not cool enough; ``field`` says which and
        ``needed`` the temperature that would do.
    DomainError
        If a temperature lies outside 0 to 100 C, a mass is not positive, or the hot water is no hotter than
        the cool.

    Notes
    -----
    m_hot = [m_w (h(T*) - h(T_c)) + m_p (H_p(T*) - H_p(T_p)) - m_p q_h + C_v (T* - T_v) + Q] / (h(T_h) -
    h(T_c)). energetics-and-mixing.md section 3.1, checks C20, C21.
    """
    amount = positive(water_g, "water_g")
    hot = temperature_within(hot_water_c, "hot_water_c")
    cool = temperature_within(cool_water_c, "cool_water_c")
    if np.any(hot <= cool):
        raise DomainError(
            "The hot water is no hotter than the cool water.",
            field="hot_water_c",
            code="waters_not_apart",
            remedy="Give the temperatures of two different waters.",
        )
    demand = demand_j(
        powder_g,
        target_c,
        powder_c,
        composition,
        vessel_heat_capacity_j_per_k,
        vessel_c,
        hydration_j_per_g,
        extra_loss_j,
    )
    at_hot = np.asarray(water.enthalpy_j_per_g(hot))
    at_cool = np.asarray(water.enthalpy_j_per_g(cool))
    at_target = np.asarray(water.enthalpy_j_per_g(temperature_within(target_c, "target_c")))
    hot_g = np.asarray((amount * (at_target - at_cool) + demand) / (at_hot - at_cool))
    amount = np.broadcast_to(amount, hot_g.shape)
    if np.any(hot_g > amount + _SLACK_G) or np.any(hot_g < -_SLACK_G):
        too_cool = bool(np.any(hot_g > amount + _SLACK_G))
        needed = np.asarray(
            single_water_c(
                water_g,
                powder_g,
                target_c,
                powder_c,
                composition,
                vessel_heat_capacity_j_per_k=vessel_heat_capacity_j_per_k,
                vessel_c=vessel_c,
                hydration_j_per_g=hydration_j_per_g,
                extra_loss_j=extra_loss_j,
            )
        )
        raise _not_hot_enough(float(needed.max())) if too_cool else _not_cool_enough(float(needed.min()))
    hot_g = np.clip(hot_g, 0.0, amount)  # only rounding within the slack is left to remove
    return Waters(hot_g=scalar_or_array(hot_g), cool_g=scalar_or_array(amount - hot_g))


def blend_temperature_c(hot_g: ArrayLike, hot_c: ArrayLike, cool_g: ArrayLike, cool_c: ArrayLike) -> FloatOrArray:
    """Temperature of hot and cool water poured together, before any powder, in C.

    Notes
    -----
    h(T) = (m_h h(T_h) + m_c h(T_c)) / (m_h + m_c). energetics-and-mixing.md check C25.
    """
    cool = temperature_within(cool_c, "cool_c")
    return final_temperature_c(hot_g, hot_c, cool_g, cool, 0.0, cool, _NO_POWDER)


def final_temperature_c(
    hot_g: ArrayLike,
    hot_c: ArrayLike,
    cool_g: ArrayLike,
    cool_c: ArrayLike,
    powder_g: ArrayLike,
    powder_c: ArrayLike,
    composition: Mapping[str, float],
    *,
    vessel_heat_capacity_j_per_k: ArrayLike = 0.0,
    vessel_c: ArrayLike | None = None,
    hydration_j_per_g: ArrayLike = 0.0,
    extra_loss_j: ArrayLike = 0.0,
) -> FloatOrArray:
    """Temperature at which weighed parts come to rest together, in C: the way back from rounded grams.

    With ``cool_g`` zero it is the temperature of a paste made with the hot water alone.

    Parameters
    ----------
    hot_g, cool_g, powder_g
        Masses, zero or more; some water there must be.
    hot_c, cool_c, powder_c
        Their temperatures.
    composition, vessel_heat_capacity_j_per_k, vessel_c, hydration_j_per_g, extra_loss_j
        As in :func:`hot_and_cool_water_g`.

    Raises
    ------
    DomainError
        If there is no water, or the mix would come to rest outside 0 to 100 C.

    Notes
    -----
    Root in T of (m_h + m_c) h(T) + m_p H_p(T) + C_v T = m_h h(T_h) + m_c h(T_c) + m_p H_p(T_p) + C_v T_v +
    m_p q_h - Q by Newton's method: the left side rises almost in a straight line. energetics-and-mixing.md
    section 3.1.
    """
    hot = within(hot_g, "hot_g", low=0.0)
    cool = within(cool_g, "cool_g", low=0.0)
    solid = within(powder_g, "powder_g", low=0.0)
    if np.any(hot + cool <= 0.0):
        raise DomainError("There is no water in the mix.", field="hot_g", code="no_water")
    capacity = within(vessel_heat_capacity_j_per_k, "vessel_heat_capacity_j_per_k", low=0.0)
    start = temperature_within(powder_c, "powder_c")
    vessel = start if vessel_c is None else temperature_within(vessel_c, "vessel_c")
    content = np.asarray(
        hot * np.asarray(water.enthalpy_j_per_g(temperature_within(hot_c, "hot_c")))
        + cool * np.asarray(water.enthalpy_j_per_g(temperature_within(cool_c, "cool_c")))
        + solid * np.asarray(powder.enthalpy_j_per_g(composition, start))
        + capacity * vessel
        + solid * hydration_within(hydration_j_per_g)
        - within(extra_loss_j, "extra_loss_j", low=0.0)
    )

    return scalar_or_array(rest_c(hot + cool, solid, capacity, content, composition))


def _not_hot_enough(needed_c: float) -> WaterTemperatureError:
    shown = math.ceil(needed_c * 10.0) / 10.0
    return WaterTemperatureError(
        "The hot water is not hot enough.",
        field="hot_water_c",
        code="water_not_hot_enough",
        remedy=f"Use hot water of at least {shown:.1f} C, or warm the powder and the vessel first.",
        needed=needed_c,
    )


def _not_cool_enough(needed_c: float) -> WaterTemperatureError:
    shown = math.floor(needed_c * 10.0) / 10.0
    return WaterTemperatureError(
        "The cool water is not cool enough.",
        field="cool_water_c",
        code="water_not_cool_enough",
        remedy=f"Use cool water of at most {shown:.1f} C.",
        needed=needed_c,
    )


def _no_water_does(field: str, code: str) -> WaterTemperatureError:
    hot = field == "hot_water_c"
    return WaterTemperatureError(
        f"No liquid water is {'hot' if hot else 'cool'} enough to bring this mix to its target.",
        field=field,
        code=code,
        remedy=f"{'Warm' if hot else 'Cool'} the powder and the vessel first.",
        needed=None,
    )
