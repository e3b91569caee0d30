"""A batch as sentences for wet hands at 02:00: one thing to do in each, with its number, in order."""

from collections.abc import Sequence
from datetime import datetime

from api.plans.rules import mixing
from api.plans.rules.batches import Pot
from api.plans.rules.mix import MixBatch, MixRequest, Portion, Thinning
from api.plans.rules.mix_limits import HIGH_C, NEVER_ABOVE_C, low_c

STAND_MIN = 2
#: Warm water to thin with is blended by the cup: a few grams of it cannot be.
CUP_G = 100.0
#: A pot that would cool within this time stands in warm water meanwhile. Common practice, no source.
SHORT_WINDOW_MIN = 10.0
#: More names than this in one sentence are not read at night.
MOST_NAMES = 12


def steps(request: MixRequest, pot: Pot, batch: MixBatch) -> tuple[str, ...]:
    """Write the steps of a batch.

    Parameters
    ----------
    request
        The kitchen.
    pot
        Whose portions come out of it, in order.
    batch
        Its numbers.

    Returns
    -------
    tuple of str
        Imperative sentences, in the order of work.
    """
    done = [*_get_ready(request, batch), *_bring_together(request, batch)]
    done += [
        _stand(batch),
        "Stir again, down to the bottom.",
        f"Draw up and measure in the syringe: {_c(batch.final_c)} is expected.",
        f"Give at {low_c(request.target_c):g} to {HIGH_C:g} °C. Wait while it is {HIGH_C:g} to {NEVER_ABOVE_C:g} °C. "
        f"Above {NEVER_ABOVE_C:g} °C never.",
        _feed(pot.servings[0].portions),
    ]
    for number, thinning in enumerate(batch.thinning):
        done += _thin(thinning, pot.servings[number + 1].portions, request.target_c)
    return (*done, _throw_away(request))


def _get_ready(request: MixRequest, batch: MixBatch) -> list[str]:
    ready = []
    if batch.group is not None:
        ready.append(f"Take the pot, spoon and syringes of group {batch.group}, and no others.")
    if request.vessel is None:
        ready.append("Rinse the pot with hot water, so that it takes no heat from the mix.")
    scoops = "" if batch.scoops is None else f" (about {batch.scoops:g} level scoops)"
    if batch.thinning:
        hot_g = mixing.thinning_hot_water_g(CUP_G, request.target_c, request.hot_water_c, request.cool_water_c, 1.0)
        ready.append(
            f"Blend a cup of water to thin with later: {_g(hot_g)} hot and {_g(CUP_G - hot_g)} cool, "
            f"{_c(request.target_c)}. Keep it warm."
        )
    ready.append(f"Weigh {_g(batch.powder_g)} of powder{scoops}.")
    return ready


def _bring_together(request: MixRequest, batch: MixBatch) -> list[str]:
    step = batch.scale_step_g
    hot = _water(batch.hot_water_g, batch.hot_water_ml, request.hot_water_c, step, "hot ")
    cool = _water(batch.cool_water_g, batch.cool_water_ml, request.cool_water_c, step, "cool ")
    if batch.paste_water_g is not None and batch.paste_c is not None:
        rest_g = mixing.to_step(batch.hot_water_g - batch.paste_water_g, step)
        rest = [f"the other {_g(rest_g)} of hot water"] * (rest_g > 0.0) + [cool] * (batch.cool_water_g > 0.0)
        return [
            f"Take {hot}. Pour {_g(batch.paste_water_g)} of it onto the powder."
            if rest_g > 0.0
            else f"Pour {hot} onto the powder.",
            f"Stir to a smooth paste. It is about {_c(batch.paste_c)}: mind your skin.",
            "Crush every lump: a lump stays scalding inside.",
            f"Stir in {' and '.join(rest)}." if rest else "Stir until it runs.",
        ]
    if batch.hot_water_g > 0.0 and batch.cool_water_g > 0.0:
        pour = [f"Pour together {hot} and {cool}."]
    else:
        pour = [f"Pour {hot if batch.hot_water_g > 0.0 else cool}."]
    return [
        *pour,
        f"Measure the water: it should read {_c(batch.blend_in_pot_c)}. If it is more than 1 °C off, pour afresh.",
        "Only now add the powder. Stir until no lump is left.",
    ]


def _stand(batch: MixBatch) -> str:
    if batch.minutes_above_low_c is None or batch.minutes_above_low_c >= SHORT_WINDOW_MIN:
        return f"Cover it and let it stand {STAND_MIN} minutes."
    return f"Cover it, set it in water of {HIGH_C:g} °C at most, and let it stand {STAND_MIN} minutes."


def _feed(portions: Sequence[Portion]) -> str:
    if len(portions) > MOST_NAMES:
        return f"Feed the {len(portions)} portions in the order of the list, each with a clean syringe."
    names = ", ".join(
        f"{portion.label} {f'{portion.count} x ' if portion.count > 1 else ''}{portion.volume_ml:g} mL"
        for portion in portions
    )
    return f"Feed {names}. Never dip a used syringe into the pot."


def _thin(thinning: Thinning, portions: Sequence[Portion], target_c: float) -> list[str]:
    return [
        f"Weigh what is left: {_g(thinning.left_g)} is expected.",
        f"Stir in {_g(thinning.water_g)} of the warm water. If more or less is left: "
        f"{thinning.water_g_per_10_g_left:g} g for every 10 g.",
        f"Measure in the syringe again: {_c(thinning.final_c)} is expected, {_c(thinning.low_final_c)} if it has "
        f"cooled. Below {low_c(target_c):g} °C mix afresh.",
        _feed(portions),
    ]


def _throw_away(request: MixRequest) -> str:
    minutes = mixing.keep_at_most_min()
    when = f"after {minutes} minutes"
    if request.prepared_at is not None:
        until = datetime.fromisoformat(mixing.discard_by(request.prepared_at.isoformat(), minutes))
        when = f"by {until:%H:%M}"
    return f"Throw away what is left {when}. Never warm it again, never keep it cold for later."


def _water(mass_g: float, volume_ml: float, at_c: float, step_g: float, word: str) -> str:
    shown_ml = round(volume_ml, 2 if step_g < 0.1 else 1 if step_g < 1.0 else 0)
    return f"{_g(mass_g)} ({shown_ml:g} mL) of {word}water at {_c(at_c)}"


def _g(mass_g: float) -> str:
    return f"{mass_g:g} g"


def _c(temperature_c: float) -> str:
    return f"{round(temperature_c, 1):g} °C"
