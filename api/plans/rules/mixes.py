"""One fresh mix for everybody due now: portions into pots, pots into grams, grams into steps."""

from collections.abc import Callable
from typing import Any, TypeVar

import msgspec

from api.plans.rules import batches, mixing
from api.plans.rules.batches import Pot
from api.plans.rules.mix import GivingBand, Mix, MixBatch, MixOrder, MixRequest
from api.plans.rules.mix_cautions import cautions
from api.plans.rules.mix_limits import (
    HIGH_C,
    MOST_BATCHES,
    NEVER_ABOVE_C,
    boils_at_c,
    check_request,
    check_thinning_waters,
    check_waters,
    composition_of,
    low_c,
)
from api.plans.rules.mix_measures import BALANCE, Measures, measure
from api.plans.rules.mix_steps import steps
from api.plans.rules.mix_thinning import thinning_steps
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError

T = TypeVar("T")

HOUR = ("HRB p.446",)
COOLING = ("MIXNOTE section 3.6",)


def mix(request: MixRequest) -> Mix:
    """Work out one mix.

    Parameters
    ----------
    request
        The portions and the kitchen.

    Returns
    -------
    Mix
        Batches in feeding order with their steps; every number stands in ``basis`` with its rule.

    Raises
    ------
    DomainError
        If a value is outside its limits, or the waters cannot bring a batch to its target; ``field`` points at
        the input to change, ``remedy`` says to what.

    Notes
    -----
    docs/methods/mixing.md.
    """
    check_request(request)
    pots = batches.pots(request.portions, request.thin_in_steps)
    if len(pots) > MOST_BATCHES:
        raise DomainError(
            f"The portions make {len(pots)} different batches.",
            field="/portions",
            code="too_many_batches",
            remedy=f"Give at most {MOST_BATCHES} different pairs of dry matter and group at once.",
        )
    ledger = Ledger()
    measured = [measure(request, pot, ledger, f"/batches/{index}") for index, pot in enumerate(pots)]
    check_waters(request, [each.powder_g for each in measured], [each.water_g for each in measured])
    if any(len(pot.servings) > 1 for pot in pots):
        check_thinning_waters(request)
    made = tuple(
        _batch(request, pot, measures, ledger, f"/batches/{index}")
        for index, (pot, measures) in enumerate(zip(pots, measured, strict=True))
    )
    soonest = min(made, key=lambda batch: (batch.minutes_above_low_c or 0.0, batch.volume_ml))
    keep = ledger.derive("/keep_at_most_min", mixing.keep_at_most_min, sources=HOUR)
    return Mix(
        batches=made,
        temperature=GivingBand(
            target_c=request.target_c, low_c=low_c(request.target_c), high_c=HIGH_C, never_above_c=NEVER_ABOVE_C
        ),
        boils_at_c=ledger.derive("/boils_at_c", boils_at_c, altitude_m=request.altitude_m, sources=BALANCE[:1]),
        minutes_above_low_c=_window(ledger, "", request, soonest.final_c, soonest.volume_ml),
        keep_at_most_min=keep,
        discard_by=None
        if request.prepared_at is None
        else ledger.derive(
            "/discard_by",
            mixing.discard_by,
            sources=HOUR,
            prepared_at=request.prepared_at.isoformat(),
            keep_at_most_min=keep,
        ),
        assumed=request.assumed,
        cautions=cautions(request, made),
        basis=ledger.entries(),
    )


def _batch(request: MixRequest, pot: Pot, measures: Measures, ledger: Ledger, at: str) -> MixBatch:
    """Heat of a pot, what its rounded grams give, and its steps."""

    def note(field: str, rule: Callable[..., T], **inputs: Any) -> T:
        return ledger.derive(f"{at}/{field}", rule, sources=BALANCE, **inputs)

    composition, vessel = composition_of(request), request.vessel
    step, powder, water = measures.scale_step_g, measures.powder_g, measures.water_g
    water_temperatures = {"hot_water_c": request.hot_water_c, "cool_water_c": request.cool_water_c}
    kitchen = {
        **water_temperatures,
        "powder_c": request.powder_c,
        "composition": composition,
        "vessel_heat_capacity_j_per_k": vessel.heat_capacity_j_per_k if vessel else 0.0,
        "vessel_c": vessel.temperature_c if vessel else request.target_c,
        "hydration_j_per_g": request.hydration_j_per_g,
    }
    hot = note(
        "hot_water_g",
        mixing.hot_water_g,
        powder_g=powder,
        water_g=water,
        target_c=request.target_c,
        step_g=step,
        **kitchen,
    )
    cool = note("cool_water_g", mixing.cool_water_g, water_g=water, hot_water_g=hot, step_g=step)
    paste_water = paste_c = None
    if request.order is MixOrder.PASTE_FIRST and hot > 0.0:
        paste_water = note("paste_water_g", mixing.paste_water_g, powder_g=powder, hot_water_g=hot)
        paste = {"hot_water_g": paste_water, "cool_water_g": 0.0, "powder_g": powder}
        paste_c = note("paste_c", mixing.final_c, **paste, **kitchen)
    poured = {"hot_water_g": hot, "cool_water_g": cool}
    final = note("final_c", mixing.final_c, powder_g=powder, **poured, **kitchen)
    dry = note(
        "mixed_dry_matter_fraction",
        mixing.mixed_dry_matter_fraction,
        powder_g=powder,
        water_g=water,
        powder_dry_matter_fraction=request.powder_dry_matter_fraction,
    )
    scoops = None
    if request.scoop_g is not None:
        scoops = note("scoops", mixing.scoops, powder_g=powder, scoop_g=request.scoop_g)
    batch = MixBatch(
        dry_matter_fraction=pot.servings[0].dry_matter_fraction,
        group=pot.group,
        labels=tuple(portion.label for serving in pot.servings for portion in serving.portions),
        portions_ml=measures.portions_ml,
        volume_ml=measures.volume_ml,
        mixed_volume_ml=note(
            "mixed_volume_ml",
            mixing.mixed_volume_ml,
            mass_g=mixing.to_step(powder + water, step),
            dry_matter_fraction=dry,
            composition=composition,
            target_c=request.target_c,
        ),
        mass_g=measures.mass_g,
        powder_g=powder,
        water_g=water,
        hot_water_g=hot,
        hot_water_ml=note("hot_water_ml", mixing.poured_ml, mass_g=hot, temperature_c=request.hot_water_c),
        cool_water_g=cool,
        cool_water_ml=note("cool_water_ml", mixing.poured_ml, mass_g=cool, temperature_c=request.cool_water_c),
        scale_step_g=step,
        scoops=scoops,
        paste_water_g=paste_water,
        paste_c=paste_c,
        blend_c=note("blend_c", mixing.blend_c, **poured, **water_temperatures),
        blend_in_pot_c=note("blend_in_pot_c", mixing.final_c, powder_g=0.0, **poured, **kitchen),
        final_c=final,
        mixed_dry_matter_fraction=dry,
        minutes_above_low_c=_window(ledger, at, request, final, measures.volume_ml),
        thinning=thinning_steps(request, pot, measures, ledger, at),
        steps=(),
    )
    return msgspec.structs.replace(batch, steps=steps(request, pot, batch))


def _window(ledger: Ledger, at: str, request: MixRequest, final_c: float, volume_ml: float) -> float | None:
    return ledger.derive(
        f"{at}/minutes_above_low_c",
        mixing.minutes_above_low_c,
        sources=COOLING,
        final_c=final_c,
        low_c=low_c(request.target_c),
        room_c=request.room_c,
        volume_ml=volume_ml,
    )
