"""Heat of what meets in a mixing vessel: where it comes to rest, and what the powder and vessel take up.

Heat contents count from the reference states of :mod:`species.biology.water` and
:mod:`species.biology.powder`; only sums over the same grams before and after are compared, so the
references cancel.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from species.biology import powder, water
from species.biology.bounds import FloatArray, positive, within
from species.domain.errors import DomainError

HYDRATION_LOW_J_PER_G = -20.0
HYDRATION_HIGH_J_PER_G = 40.0
"""Plausible heat of hydration is -5 to 20 J per g of powder (energetics-and-mixing.md section 3.2); beyond
twice that a calibration has gone wrong."""
_NEWTON_STEPS = 8
_CLOSE_K = 1e-6  # the next step would be its square


def rest_c(
    water_g: FloatArray,
    powder_g: FloatArray,
    capacity_j_per_k: FloatArray,
    content_j: FloatArray,
    composition: Mapping[str, float],
) -> FloatArray:
    """Temperature at which water, powder and vessel together hold a heat content, by Newton's method."""
    solids = powder.HeatCurve.of(composition)

    def held_j(temperature: FloatArray) -> FloatArray:
        return np.asarray(
            water_g * np.asarray(water.enthalpy_j_per_g(temperature))
            + powder_g * solids.enthalpy_j_per_g(temperature)
            + capacity_j_per_k * temperature
        )

    coldest = np.full_like(content_j, water.COLDEST_C)
    hottest = np.full_like(content_j, water.HOTTEST_C)
    slack = 1e-9 * held_j(hottest)
    if np.any(content_j < held_j(coldest) - slack) or np.any(content_j > held_j(hottest) + slack):
        raise DomainError(
            "The mix would come to rest outside 0 to 100 C.",
            field="extra_loss_j",
            code="out_of_domain",
            remedy="Check the temperatures, the heat of hydration and the loss.",
        )
    temperature = np.full_like(content_j, 50.0)
    for _ in range(_NEWTON_STEPS):
        slope = (
            water_g * np.asarray(water.heat_capacity_j_per_g_k(temperature))
            + powder_g * solids.capacity_j_per_g_k(temperature)
            + capacity_j_per_k
        )
        # The root lies between the ends (checked above); the iterates are kept where the equations hold.
        step = (held_j(temperature) - content_j) / slope
        temperature = np.clip(temperature - step, coldest, hottest)
        if np.all(np.abs(step) < _CLOSE_K):
            break
    return temperature


def demand_j(
    powder_g: ArrayLike,
    target_c: ArrayLike,
    powder_c: ArrayLike,
    composition: Mapping[str, float],
    vessel_heat_capacity_j_per_k: ArrayLike,
    vessel_c: ArrayLike | None,
    hydration_j_per_g: ArrayLike,
    extra_loss_j: ArrayLike,
) -> FloatArray:
    """Heat in J that everything but the water takes up on the way to the target."""
    solid = positive(powder_g, "powder_g")
    target = temperature_within(target_c, "target_c")
    start = temperature_within(powder_c, "powder_c")
    vessel = start if vessel_c is None else temperature_within(vessel_c, "vessel_c")
    capacity = within(vessel_heat_capacity_j_per_k, "vessel_heat_capacity_j_per_k", low=0.0)
    return np.asarray(
        solid * np.asarray(powder.heat_between_j_per_g(composition, start, target))
        - solid * hydration_within(hydration_j_per_g)
        + capacity * (target - vessel)
        + within(extra_loss_j, "extra_loss_j", low=0.0)
    )


def temperature_within(value: ArrayLike, field: str) -> FloatArray:
    return within(value, field, low=water.COLDEST_C, high=water.HOTTEST_C)


def hydration_within(hydration_j_per_g: ArrayLike) -> FloatArray:
    return within(hydration_j_per_g, "hydration_j_per_g", low=HYDRATION_LOW_J_PER_G, high=HYDRATION_HIGH_J_PER_G)
