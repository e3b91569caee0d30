"""What a mix may be asked for, and whether the water at hand can do it: refused with what would do, never bent."""

import math
from collections.abc import Sequence

import numpy as np

from api.kitchen.rules.limits import IN_A_KITCHEN, Limits, boiling_shown_c
from api.kitchen.rules.powders import DRY_MATTER_AGREES_WITHIN
from api.plans.rules.mix import MixRequest, Portion
from species.biology import heat, mixing, powder, water
from species.domain.errors import DomainError

#: Feeding temperature of slurry: 38-41 give, 41-42 wait, above 42 never (TUBE; HRB pp.447, 616; RIV08).
LOW_C = 38.0
HIGH_C = 41.0
NEVER_ABOVE_C = 42.0

MOST_PORTIONS = 200
MOST_BATCHES = 40
#: The cooling window is known up to here; more is made in two pots.
MOST_BATCH_ML = 5000.0


LIMITS = {
    **IN_A_KITCHEN,
    "target_c": Limits(
        35.0, HIGH_C, "Slurry is given at 38 to 41 C; some water birds take it at 35 to 38 C (HRB pp.190, 209)."
    ),
    "spare_fraction": Limits(0.0, 1.0, "A tenth more is usual; one doubles the mix."),
    "hydration_j_per_g": Limits(heat.HYDRATION_LOW_J_PER_G, heat.HYDRATION_HIGH_J_PER_G),
    "portion/volume_ml": Limits(0.01, 500.0),
    "portion/count": Limits(1, 200),
    "portion/dry_matter_fraction": Limits(
        0.05, 0.40, "A fraction by mass: 0.25 for 25 %. Thinner is no food, thicker does not flow."
    ),
}


def within_limits(name: str, value: float, pointer: str) -> None:
    """Refuse a value outside its limits.

    Raises
    ------
    DomainError
        With the pointer, the ends and what to do.
    """
    LIMITS[name].hold(value, pointer)


def check_request(request: MixRequest) -> None:
    """Refuse what cannot be mixed, or must not be given.

    Raises
    ------
    DomainError
        For the first fault found.
    """
    if not request.portions:
        raise DomainError("There is no portion to mix.", field="/portions", code="empty", remedy="Give at least one.")
    if len(request.portions) > MOST_PORTIONS:
        raise DomainError(
            f"{len(request.portions)} portions are too many for one round.",
            field="/portions",
            code="too_many_portions",
            remedy=f"Give at most {MOST_PORTIONS}; portions alike go together with `count`.",
        )
    # The powder first: without its dry matter no portion can be judged.
    within_limits("powder_dry_matter_fraction", request.powder_dry_matter_fraction, "/formula/dry_matter_fraction")
    _check_label(request)
    for index, portion in enumerate(request.portions):
        _check_portion(portion, f"/portions/{index}", request.powder_dry_matter_fraction)
    for name in ("target_c", "hot_water_c", "cool_water_c", "powder_c", "room_c", "altitude_m", "spare_fraction"):
        within_limits(name, getattr(request, name), f"/{name}")
    within_limits("hydration_j_per_g", request.hydration_j_per_g, "/hydration_j_per_g")
    if request.scoop_g is not None:
        within_limits("scoop_g", request.scoop_g, "/scoop_g")
    if request.vessel is not None:
        for name in ("heat_capacity_j_per_k", "temperature_c"):
            within_limits(f"vessel/{name}", getattr(request.vessel, name), f"/vessel/{name}")
    boils = boils_at_c(request.altitude_m)
    if request.hot_water_c > boils:
        raise DomainError(
            f"Water of {request.hot_water_c:g} C: at {request.altitude_m:g} m it boils at {boils:g} C.",
            field="/hot_water_c",
            code="above_boiling",
            remedy=f"Measure the water; give at most {boils:g}.",
        )


def low_c(target_c: float) -> float:
    """Lower end of the band that is given: 38 C, or 35 C where a cooler mix was asked for (HRB pp.190, 209)."""
    return LOW_C if target_c >= LOW_C else LIMITS["target_c"].low


def boils_at_c(altitude_m: float) -> float:
    """Temperature at which water boils, to the tenth of a degree that a thermometer shows, in C.

    Notes
    -----
    Standard atmosphere and IAPWS-95; the weather moves it by 0.8 K. energetics-and-mixing.md section 3.4, C33.
    """
    return boiling_shown_c(altitude_m)


def check_waters(request: MixRequest, powder_g: Sequence[float], water_g: Sequence[float]) -> None:
    """Refuse waters that cannot bring every batch to its target, naming the input to change and to what.

    Parameters
    ----------
    request
        The kitchen.
    powder_g, water_g
        Grams of each batch.

    Raises
    ------
    DomainError
        ``field`` points at the input; the value in ``remedy`` does for all batches when the rest stays.
    """
    solid, amount = np.asarray(powder_g, dtype=float), np.asarray(water_g, dtype=float)
    vessel = request.vessel
    try:
        needed = np.asarray(
            mixing.single_water_c(
                amount,
                solid,
                request.target_c,
                request.powder_c,
                composition_of(request),
                vessel_heat_capacity_j_per_k=vessel.heat_capacity_j_per_k if vessel else 0.0,
                vessel_c=vessel.temperature_c if vessel else None,
                hydration_j_per_g=request.hydration_j_per_g,
            )
        )
    except mixing.WaterTemperatureError as error:
        too_cold = error.field == "hot_water_c"
        raise _vessel_to_change(request, solid, amount, too_cold=too_cold) from error
    hot_c, cool_c = _tenth_up(float(needed.max())), _tenth_down(float(needed.min()))
    if request.hot_water_c < float(needed.max()) - 1e-9:
        if hot_c > boils_at_c(request.altitude_m):
            raise _vessel_to_change(request, solid, amount, too_cold=True)
        raise DomainError(
            f"Hot water of {request.hot_water_c:g} C cannot bring the mix to {request.target_c:g} C.",
            field="/hot_water_c",
            code="water_not_hot_enough",
            remedy=f"It must be at least {hot_c:.1f}; or warm the vessel and the powder first.",
        )
    if request.cool_water_c > float(needed.min()) + 1e-9:
        raise DomainError(
            f"Cool water of {request.cool_water_c:g} C is too warm for a mix of {request.target_c:g} C.",
            field="/cool_water_c",
            code="water_not_cool_enough",
            remedy=f"It must be at most {cool_c:.1f}.",
        )
    if request.hot_water_c <= request.cool_water_c:
        raise DomainError(
            "The hot water is no hotter than the cool water.",
            field="/hot_water_c",
            code="waters_not_apart",
            remedy=f"It must be at least {_tenth_up(request.cool_water_c + 0.1):.1f}.",
        )


def check_thinning_waters(request: MixRequest) -> None:
    """Refuse waters between which the target does not lie: nothing else warms the water that thins a mix.

    Raises
    ------
    DomainError
        As in :func:`check_waters`.
    """
    if request.hot_water_c < request.target_c:
        raise DomainError(
            f"Hot water of {request.hot_water_c:g} C cannot thin a mix at {request.target_c:g} C.",
            field="/hot_water_c",
            code="water_not_hot_enough",
            remedy=f"It must be at least {_tenth_up(request.target_c):.1f}.",
        )
    if request.cool_water_c > request.target_c:
        raise DomainError(
            f"Cool water of {request.cool_water_c:g} C is too warm to thin a mix at {request.target_c:g} C.",
            field="/cool_water_c",
            code="water_not_cool_enough",
            remedy=f"It must be at most {_tenth_down(request.target_c):.1f}.",
        )


def composition_of(request: MixRequest) -> dict[str, float]:
    """Mass fractions of the powder as the biology takes them."""
    return {name: getattr(request.composition, name) for name in powder.COMPONENTS}


def _check_label(request: MixRequest) -> None:
    try:
        wet = powder.fractions(composition_of(request))["water"]
    except DomainError as error:
        raise DomainError(
            error.detail, field=f"/formula/{error.field}", code=error.code, remedy=error.remedy
        ) from error
    dry = request.powder_dry_matter_fraction
    if abs(1.0 - wet - dry) > DRY_MATTER_AGREES_WITHIN + 1e-9:
        raise DomainError(
            f"{dry:.3g} dry matter and {wet:.3g} water do not add up to 1.",
            field="/formula/composition/water",
            code="dry_matter_disagrees",
            remedy=f"Give water {1.0 - dry:.3g}, or leave dry_matter_fraction out.",
        )


def _check_portion(portion: Portion, pointer: str, powder_dry_matter_fraction: float) -> None:
    for name in ("volume_ml", "count", "dry_matter_fraction"):
        within_limits(f"portion/{name}", getattr(portion, name), f"{pointer}/{name}")
    if portion.dry_matter_fraction >= powder_dry_matter_fraction:
        raise DomainError(
            "A mix cannot be drier than its powder.",
            field=f"{pointer}/dry_matter_fraction",
            code="drier_than_powder",
            remedy=f"It must be below {powder_dry_matter_fraction:g}.",
        )


def _vessel_to_change(request: MixRequest, powder_g: np.ndarray, water_g: np.ndarray, *, too_cold: bool) -> DomainError:
    """The vessel outweighs the mix: the temperature it must have for the water at hand to do.

    Within the limits of powder and heat of hydration only a vessel can ask for water beyond 0 C or boiling.
    """
    vessel = request.vessel
    if vessel is None:  # pragma: no cover - the limits leave no other cause; said rather than hidden
        return DomainError("No liquid water brings this mix to its target.", field="/powder_c", code="infeasible")
    target_c, vessel_c = request.target_c, vessel.temperature_c
    to_powder_j = powder_g * (
        float(powder.heat_between_j_per_g(composition_of(request), request.powder_c, target_c))
        - request.hydration_j_per_g
    )

    def spare_j(water_c: float) -> np.ndarray:
        """Heat that all the water at that temperature leaves for the vessel."""
        gained = float(water.enthalpy_j_per_g(water_c)) - float(water.enthalpy_j_per_g(target_c))
        return np.asarray(water_g * gained - to_powder_j)

    spared = spare_j(request.hot_water_c if too_cold else request.cool_water_c)
    would_do = target_c - spared / vessel.heat_capacity_j_per_k
    shown = _tenth_up(float(would_do.max())) if too_cold else _tenth_down(float(would_do.min()))
    word = "cold" if too_cold else "hot"
    detail = f"The vessel is too {word}: not even {'boiling' if too_cold else 'ice'} water makes up for it."
    if 0.0 <= shown <= 100.0:
        verb, bound = ("Warm", "at least") if too_cold else ("Cool", "at most")
        return DomainError(
            detail,
            field="/vessel/temperature_c",
            code=f"vessel_too_{word}",
            remedy=f"{verb} it to {bound} {shown:.1f}, or use a lighter one.",
        )
    # Not even a vessel warmed through would do with this water: a lighter vessel is what helps first.
    extreme = spare_j(min(boils_at_c(request.altitude_m), 100.0) if too_cold else water.COLDEST_C)
    lighter = float((extreme / (target_c - vessel_c)).min())
    return DomainError(
        detail,
        field="/vessel/heat_capacity_j_per_k",
        code="vessel_too_heavy",
        remedy=f"It must be at most {math.floor(lighter):d}.",
    )


def _tenth_up(value_c: float) -> float:
    return math.ceil(value_c * 10.0) / 10.0


def _tenth_down(value_c: float) -> float:
    return math.floor(value_c * 10.0) / 10.0
