"""What to do before any food: warm or cool, rest, fluids; and what helps while a vet is on the way.

An answer of the open endpoint gives fluids by mouth only; under the skin is for trained hands and never below 5 g
(HRB p.9), so it is never given here. Nothing goes into a bird that does not swallow.
"""

import math

from api.plans.rules.plan import Decision, FirstStep
from api.plans.rules.red_flags import CROP_WALLS, SIGNS
from api.plans.rules.request import Condition, PlanRequest
from api.plans.rules.seen import hydration_degree
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError
from species.domain.profile import Profile
from species.domain.sourcing import Band
from species.domain.vocabulary import Skill

#: Share of mass in one dose: a gaping chick 2.5 to 5 %, by tube 1 to 2.5 % (HRB p.8). The low ends are given, and the
#: tube's for drops at the bill too: many small doses are safer than one.
GAPING_FRACTION = 0.025
DROPS_FRACTION = 0.01
#: No dose is larger than this (HRB p.8).
LARGEST_DOSE_FRACTION = 0.05
#: Doses 15 to 20 minutes apart (HRB p.8); two or three of them, from memory.
REPEAT_AFTER_MIN = 20
TIMES = 3
#: Above it a syringe of more than 1 mL is used, which shows tenths; below, hundredths can be read.
FINE_BELOW_ML = 0.5
SMALLEST_MARK_ML = 0.01
#: Warming takes a small bird 15 to 30 minutes, from memory.
WARM_MIN, COOL_MIN, REST_MIN = 30, 15, 20

_STOPS_FLUIDS = "It has passed a dropping and is brighter."
_NOTHING_BY_MOUTH_SIGNS = frozenset(
    {
        "food_from_nostrils",
        "head_tilt",
        "open_mouth_breathing",
        "regurgitation",
        "seizure",
        "sour_smell",
        "wet_breathing",
        "yolk_sac_outside",
    }
)
_NOTHING_BY_MOUTH_CROPS = frozenset({"distended", "full", "not_emptied"})


def oral_fluid_ml(*, mass_g: float, fraction: float) -> float:
    """Fluid of one dose by mouth, as a syringe shows it.

    Parameters
    ----------
    mass_g
        Actual mass.
    fraction
        Share of mass (a millilitre counts as a gram), above 0 and at most 0.05.

    Returns
    -------
    float
        Rounded down, so that the share is not passed: to 0.01 mL below 0.5 mL, to 0.1 mL above. The smallest mark
        is given where less was reckoned and the mark is no more than 5 % of mass.

    Raises
    ------
    DomainError
        If the share is outside its limits, or the bird is so small that one mark is more than 5 % of it.

    Notes
    -----
    HRB p.8: a gaping chick of 20 g gets 0.5 to 1.0 mL, by tube 0.2 to 0.5 mL to begin with.
    """
    if not 0 < fraction <= LARGEST_DOSE_FRACTION:
        raise DomainError(
            f"A dose of {fraction:g} of mass is outside 0 to {LARGEST_DOSE_FRACTION:g}.", remedy="Give several doses."
        )
    if not SMALLEST_MARK_ML <= mass_g * LARGEST_DOSE_FRACTION < math.inf:
        raise DomainError(
            f"{mass_g:g} g is no mass for which a syringe shows a dose.",
            field="/mass_g",
            code="too_small_to_measure",
            remedy="Wet the bill with a fine brush, and ask a vet.",
        )
    wanted = mass_g * fraction
    if wanted < FINE_BELOW_ML:
        return max(math.floor(wanted * 100 + 1e-9) / 100, SMALLEST_MARK_ML)
    return math.floor(wanted * 10 + 1e-9) / 10


def first_steps(
    profile: Profile,
    request: PlanRequest,
    *,
    decision: Decision,
    brooder_c: Band | None,
    ledger: Ledger,
) -> tuple[FirstStep, ...]:
    """Give the steps before any food, in the order to take them.

    Parameters
    ----------
    profile, request
        The bird. Fluids are measured by ``request.mass_g`` alone, never by an expected mass.
    decision
        Word of the gate.
    brooder_c
        Band of the bird's stage, if one is printed.
    ledger
        Notes the volume of a dose as ``/first_steps/{n}/volume_ml``.

    Returns
    -------
    tuple of FirstStep
        Empty where nothing comes before the feed.

    Notes
    -----
    Order: warm, then rehydrate until droppings are passed, then feed (HRB pp.5, 333). Fluids: unflavoured infant
    electrolyte, never sugar water of the kitchen (HRB p.8), warmed to 38-39 °C (EAF5 T5-36).
    """
    seen = request.condition
    steps: list[FirstStep] = []
    if decision is Decision.SEE_VET:
        steps.extend(_on_the_way(seen))
    if seen.body in {"cold", "cool"} or (decision is Decision.IDENTIFY_FIRST and seen.body == "unknown"):
        steps.append(_warm(brooder_c))
    if seen.body == "hot":
        steps.append(_COOL)
    if decision is Decision.REST_FIRST:
        steps.append(_REST)
    if _needs_fluids(seen, decision) and _may_swallow(seen):
        steps.append(_fluids(profile, request, f"/first_steps/{len(steps)}/volume_ml", ledger))
    if decision in _STEPS:
        steps.append(_STEPS[decision])
    return tuple(steps)


def _on_the_way(seen: Condition) -> list[FirstStep]:
    helps = [SIGNS[sign].meanwhile for sign in seen.signs]
    if seen.crop_wall is not None and seen.crop_wall in CROP_WALLS:
        helps.append(CROP_WALLS[seen.crop_wall].meanwhile)
    texts = [text for text in dict.fromkeys(helps) if text]
    if seen.alertness == "unresponsive" or seen.swallowing == "none":
        texts.append(f"{_box(seen)}; nothing by mouth, not even water.")
    else:
        texts.append(f"{_box(seen)}; no food until a vet has been asked.")
    return [
        FirstStep(code="call_vet", text="Ring an avian vet or a wildlife hospital now and say what you see."),
        *(FirstStep(code="until_the_vet", text=text) for text in texts),
    ]


def _box(seen: Condition) -> str:
    warmth = "" if seen.body == "hot" else "warm, "
    return f"Keep it in a closed box, {warmth}dark and quiet"


def _warm(brooder_c: Band | None) -> FirstStep:
    at = f" at {brooder_c.low:g} to {brooder_c.high:g} °C" if brooder_c is not None else ""
    return FirstStep(
        code="warm",
        text=f"Warm it slowly in a closed, padded box{at}, heat under one half only; no lamp close by, no hair "
        "dryer, no water.",
        stop_when="Feet and breast feel warm and stay warm.",
        look_again_after_min=WARM_MIN,
    )


_COOL = FirstStep(
    code="cool",
    text="Take it off the heat into shade and moving air; no ice, no cold bath, nothing by mouth while it pants.",
    stop_when="It no longer pants and holds its wings close.",
    look_again_after_min=COOL_MIN,
)
_REST = FirstStep(
    code="rest",
    text="Leave it alone in a warm, dark, quiet box; then look at it and ask again with what you found.",
    look_again_after_min=REST_MIN,
)
_STEPS = {
    Decision.IDENTIFY_FIRST: FirstStep(
        code="identify",
        text="Photograph it from above, from the side and into the open bill, and ask a wildlife hospital what it is. "
        "No food until then.",
    ),
    Decision.WAIT_FOR_YOLK: FirstStep(code="keep_warm", text="Warmth and rest only; it still has food of its own."),
    Decision.WAIT_FOR_CROP: FirstStep(
        code="wait_for_crop",
        text="Give nothing on top. Check that the bird and its brooder are warm enough: a cold chick's crop stops.",
    ),
    Decision.RETURN_TO_PARENTS: FirstStep(
        code="return_to_parents",
        text="Put it back where it was found, or on a branch near by out of reach of cats, and watch from far off for "
        "two hours. Take it in only if no parent comes, or it cannot stand.",
        look_again_after_min=120,
    ),
    Decision.SELF_FEEDING: FirstStep(
        code="offer_food",
        text="Put food and shallow water with pebbles before it under the warmth, and see that it eats.",
    ),
    Decision.WEIGH_FIRST: FirstStep(
        code="weigh",
        text="Weigh it before the feed, in a tared cup, and ask again with the mass.",
    ),
}


def _needs_fluids(seen: Condition, decision: Decision) -> bool:
    degree = hydration_degree(hydration=seen.hydration, dehydration_fraction=seen.dehydration_fraction)
    if degree in {"moderate", "severe"} or decision is Decision.FLUIDS_FIRST:
        return True
    starved_or_stranger = seen.body_condition == "emaciated" or decision is Decision.IDENTIFY_FIRST
    return starved_or_stranger and degree != "normal"


def _may_swallow(seen: Condition) -> bool:
    return not (
        seen.swallowing == "none"
        or seen.alertness == "unresponsive"
        or seen.crop in _NOTHING_BY_MOUTH_CROPS
        or seen.crop_wall in CROP_WALLS
        or _NOTHING_BY_MOUTH_SIGNS & set(seen.signs)
    )


def _fluids(profile: Profile, request: PlanRequest, field: str, ledger: Ledger) -> FirstStep:
    """One dose and how often: into the gape of a songbird that swallows well, else drops at the bill; a tube for
    trained hands."""
    seen = request.condition
    strong = seen.swallowing == "strong" and seen.alertness != "weak"
    if strong and profile.passerine:
        route, skill, fraction = "into_gape", Skill.UNTRAINED, GAPING_FRACTION
        how = "Let small drops fall into the open gape"
    elif strong and profile.has_crop.value and request.carer_skill is not Skill.UNTRAINED:
        route, skill, fraction = "crop_tube", Skill.TRAINED, DROPS_FRACTION
        how = "By tube into the crop, in trained hands only"
    else:
        route, skill, fraction = "beak_drops", Skill.UNTRAINED, DROPS_FRACTION
        how = "Single drops at the edge of the bill, a swallow after each; stop if the first is not swallowed"
    if seen.body in {"cold", "cool", "hot", "unknown"}:
        how = f"Only once it is {'cool' if seen.body == 'hot' else 'warm'}. {how}"
    volume = None
    if request.mass_g is not None:
        volume = ledger.derive(
            field, oral_fluid_ml, sources=("HRB p.8",), mass_g=float(request.mass_g), fraction=fraction
        )
    share = f"{volume:g} mL a dose" if volume is not None else f"{fraction * 10:.2g} mL for each 10 g it weighs"
    return FirstStep(
        code="fluids",
        text=f"{how}. Unflavoured infant electrolyte at 38 to 39 °C, {share}; no milk, no sugar water.",
        fluid="oral_electrolyte",
        volume_ml=volume,
        route=route,
        skill=skill,
        repeat_after_min=REPEAT_AFTER_MIN,
        times=TIMES,
        stop_when=_STOPS_FLUIDS,
        look_again_after_min=REPEAT_AFTER_MIN,
    )
