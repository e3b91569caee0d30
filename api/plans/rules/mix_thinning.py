"""Thinning what is left of a batch, step by step, for the birds of the same group that take it thinner."""

from collections.abc import Callable
from typing import Any, TypeVar

from api.plans.rules import batches, mixing
from api.plans.rules.batches import Pot
from api.plans.rules.mix import MixRequest, Thinning
from api.plans.rules.mix_limits import composition_of, low_c
from api.plans.rules.mix_measures import BALANCE, Measures
from api.web.rules.ledger import Ledger

T = TypeVar("T")


def thinning_steps(request: MixRequest, pot: Pot, measures: Measures, ledger: Ledger, at: str) -> tuple[Thinning, ...]:
    """Warm water for each serving after the first, such that dry matter is kept.

    Parameters
    ----------
    request, pot, ledger, at
        As in :func:`api.plans.rules.mix_measures.measure`.
    measures
        Exact masses of the pot's servings.

    Notes
    -----
    The water is blended to the target. What is left cools while the first birds eat: ``final_c`` is reckoned from the
    target, ``low_final_c`` from 38 C. Hotter water would make up for it, but would also be re-warming.
    """
    shares = [serving.dry_matter_fraction for serving in pot.servings]
    return tuple(
        _step(request, pot.servings[number], number, shares, measures, ledger, f"{at}/thinning/{number - 1}")
        for number in range(1, len(pot.servings))
    )


def _step(
    request: MixRequest,
    serving: batches.Serving,
    number: int,
    shares: list[float],
    measures: Measures,
    ledger: Ledger,
    at: str,
) -> Thinning:
    def note(field: str, rule: Callable[..., T], **inputs: Any) -> T:
        return ledger.derive(f"{at}/{field}", rule, sources=BALANCE, **inputs)

    step_g, waters = (
        measures.scale_step_g,
        {
            "hot_water_c": request.hot_water_c,
            "cool_water_c": request.cool_water_c,
        },
    )
    thickness = {"dry_matter_fraction": shares[number], "thicker_fraction": shares[number - 1]}
    left = note(
        "left_g",
        mixing.left_g,
        masses_g=list(measures.serving_masses_g[number:]),
        dry_matter_fractions=shares[number:],
        at_dry_matter_fraction=shares[number - 1],
        step_g=step_g,
    )
    water = note("water_g", mixing.thinning_water_g, left_g=left, step_g=step_g, **thickness)
    # A few grams: split finer than they can be weighed, since a cup of it is blended (mix_steps).
    split = {"step_g": min(step_g, mixing.scale_step_g(water))}
    hot = note("hot_water_g", mixing.thinning_hot_water_g, water_g=water, water_c=request.target_c, **split, **waters)
    cool = note("cool_water_g", mixing.cool_water_g, water_g=water, hot_water_g=hot, **split)
    water_c = note("water_c", mixing.blend_c, hot_water_g=hot, cool_water_g=cool, **waters)
    parts = {"left_g": left, "left_dry_matter_fraction": shares[number - 1], "water_g": water}
    heat = {
        **parts,
        "water_c": water_c,
        "powder_dry_matter_fraction": request.powder_dry_matter_fraction,
        "composition": composition_of(request),
    }
    return Thinning(
        dry_matter_fraction=shares[number],
        labels=tuple(portion.label for portion in serving.portions),
        volume_ml=measures.serving_volumes_ml[number],
        left_g=left,
        water_g=water,
        water_g_per_10_g_left=note(
            "water_g_per_10_g_left", mixing.thinning_water_g, left_g=10.0, step_g=0.01, **thickness
        ),
        hot_water_g=hot,
        hot_water_ml=note("hot_water_ml", mixing.poured_ml, mass_g=hot, temperature_c=request.hot_water_c),
        cool_water_g=cool,
        cool_water_ml=note("cool_water_ml", mixing.poured_ml, mass_g=cool, temperature_c=request.cool_water_c),
        water_c=water_c,
        final_c=note("final_c", mixing.thinned_c, left_c=request.target_c, **heat),
        low_final_c=note("low_final_c", mixing.thinned_c, left_c=low_c(request.target_c), **heat),
        mixed_dry_matter_fraction=note("mixed_dry_matter_fraction", mixing.thinned_dry_matter_fraction, **parts),
    )
