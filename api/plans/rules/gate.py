"""May this bird be fed at all, and if not, what comes first. The specification is docs/safety/hazards.md.

One word answers, by a fixed precedence: the first that applies wins. Unknown is not fine, and it is not ill either:
what was not told is looked at first (:mod:`api.plans.rules.checks`), and the word is then given as for a well bird.
"""

from collections.abc import Sequence
from typing import Unpack

from api.plans.rules import red_flags
from api.plans.rules.plan import Decision, Vet
from api.plans.rules.red_flags import RedFlag
from api.plans.rules.seen import (
    HOLDING_FOOD,
    LONGEST_WAIT_H,
    OUT_OF_TEMPERATURE,
    Seen,
    degree,
    longest_wait_h,
    seed_of_its_own,
    self_feeding,
    slow,
)
from species.domain.record import Record

#: Rest in the dark before a new arrival is handled (HRB pp.333, 395: 15 to 20 min).
REST_H = 20 / 60
#: After warming, cooling or fluids, look again. Common practice, no source.
LOOK_AGAIN_WARM_H = 0.5
LOOK_AGAIN_COOL_H = 0.25
LOOK_AGAIN_FLUIDS_H = 1.0
LOOK_AGAIN_PARENTS_H = 2.0
#: Clear fluid leaves a crop within 1 to 2 h (HRB p.593).
FLUID_LEAVES_CROP_H = 2.0
#: Guilds fed only on a nearly empty crop (doves HRB p.446; raptors HRB pp.320, 333); parrots hold food by day (DON18).
NEARLY_EMPTY_FIRST = frozenset({"crop_milk", "carnivore"})
#: Below this share of the expected mass an emaciated bird may die if it is fed before it is rehydrated
#: (feeding-practice notes, wildlife-rehabilitation article; HRB p.487).
EMACIATED_SHARE = 0.70
#: A vet should know of a bird below these shares of the expected mass, even where its breast was not felt. Feathered:
#: HRB p.487 (30 % down). Unfeathered birds of one age differ more: half, from memory, the cautious side.
LIGHT_SHARE_FEATHERED, LIGHT_SHARE_UNFEATHERED = 0.70, 0.50


class GateAnswer(Record, frozen=True, kw_only=True):
    """What to do next, whether a vet is needed, when to look again, and why."""

    decision: Decision
    vet: Vet
    look_again_after_h: float | None
    reasons: tuple[str, ...]
    sources: tuple[str, ...] = ()


class _Turn(Record, frozen=True, kw_only=True):
    """A decision that applies, with its reason and the time after which to look again."""

    decision: Decision
    reason: str
    look_again_after_h: float | None = None
    sources: tuple[str, ...] = ()


def decide(**inputs: Unpack[Seen]) -> GateAnswer:
    """Say what comes first for a bird.

    Parameters
    ----------
    **inputs
        See :class:`Seen`.

    Returns
    -------
    GateAnswer
        The first that applies of ``see_vet``, ``identify_first``, ``warm_first`` or ``cool_first``, ``rest_first``,
        ``fluids_first``, ``wait_for_yolk``, ``wait_for_crop``, ``return_to_parents``, ``self_feeding``,
        ``weigh_first``, ``top_up``, ``feed``. ``vet.needed`` may stand beside any of them.

    Raises
    ------
    KeyError
        If a sign is not a word of the published list.

    Notes
    -----
    Warm, then rehydrate, then feed: HRB pp.5, 333. Crop: APN, ARI, ZWE, HRB pp.446-449, 593. Fluids before food in
    emaciation: HRB pp.352, 487. Red flags: :mod:`api.plans.rules.red_flags`.
    """
    flags = red_flags_seen(inputs)
    stopping = [flag for flag in flags if flag.stops_feeding]
    if stopping:
        return GateAnswer(
            decision=Decision.SEE_VET,
            vet=_vet(flags),
            look_again_after_h=None,
            reasons=tuple(dict.fromkeys(flag.why for flag in stopping)),
            sources=tuple(dict.fromkeys(ref for flag in stopping for ref in flag.sources)),
        )
    turn = _first_turn(inputs)
    return GateAnswer(
        decision=turn.decision,
        vet=_vet(flags),
        look_again_after_h=turn.look_again_after_h,
        reasons=(turn.reason,),
        sources=turn.sources,
    )


def decision(**inputs: Unpack[Seen]) -> Decision:
    """Give the word of :func:`decide`."""
    return decide(**inputs).decision


def look_again_after_h(**inputs: Unpack[Seen]) -> float | None:
    """Hours after which :func:`decide` wants the bird looked at again; null where nothing is waited for."""
    return decide(**inputs).look_again_after_h


def vet(**inputs: Unpack[Seen]) -> Vet:
    """Whether a vet is needed, within how many hours, and why: all red flags of :func:`decide`."""
    return decide(**inputs).vet


def _vet(flags: Sequence[RedFlag]) -> Vet:
    if not flags:
        return Vet(needed=False)
    reasons = tuple(dict.fromkeys(flag.why for flag in flags))
    return Vet(needed=True, within_h=min(flag.within_h for flag in flags), reasons=reasons)


def _first_turn(seen: Seen) -> _Turn:
    turns = (
        _identify(seen),
        _warm_or_cool(seen),
        _rest(seen),
        _fluids(seen),
        _yolk(seen),
        _crop(seen),
        _parents(seen),
        _own_feeding(seen),
        _weigh(seen),
        _share(seen),
    )
    return next(
        (turn for turn in turns if turn), _Turn(decision=Decision.FEED, reason="Nothing speaks against a feed.")
    )


def red_flags_seen(seen: Seen) -> list[RedFlag]:
    """Every red flag, soonest first: those of one word, and those that need the time, the mass or a second word."""
    since, crop = seen["hours_since_last_feed"], seen["has_crop"]
    panting = seen["body"] == "hot" and "open_mouth_breathing" in seen["signs"]
    fluid_just_given = since is not None and since < FLUID_LEAVES_CROP_H and seen["crop_content"] == "fluid"
    a_feed_later = since is not None and since >= (seen["emptying_h"] or LONGEST_WAIT_H)
    flags = list(
        red_flags.flags_of(
            signs=[sign for sign in seen["signs"] if not (panting and sign == "open_mouth_breathing")],
            crop_wall=seen["crop_wall"],
            crop_content=None if fluid_just_given else _crop_content(seen),
            droppings=seen["droppings"] if seen["droppings"] != "none_since_feed" or a_feed_later else None,
            alertness=seen["alertness"],
            swallowing=seen["swallowing"],
        )
    )
    if panting:
        flags.append(red_flags.STAYS_HOT)
    if crop:
        flags.extend(_crop_flags(seen))
    if degree(seen) == "severe":
        flags.append(red_flags.SEVERELY_DRY)
    if seen["body_condition"] == "emaciated":
        flags.append(_emaciated(seen))
    elif _very_light(seen):
        flags.append(red_flags.VERY_LIGHT)
    if "weak" in (seen["alertness"], seen["swallowing"]):
        helped_first = seen["body"] in OUT_OF_TEMPERATURE or degree(seen) == "moderate"
        flags.append(red_flags.WEAK_BUT_COLD_OR_DRY if helped_first else red_flags.WEAK)
    return sorted(flags, key=lambda flag: flag.within_h)


def _crop_content(seen: Seen) -> str | None:
    """What a vet may have to know of; a thing swallowed is one in a bird without a crop too, and so is a burnt skin."""
    content = seen["crop_content"]
    return content if seen["has_crop"] or content == "foreign_object" else None


def _very_light(seen: Seen) -> bool:
    mass, expected = seen["mass_g"], seen["expected_g"]
    share = LIGHT_SHARE_FEATHERED if seen["feathered"] else LIGHT_SHARE_UNFEATHERED
    return mass is not None and expected is not None and mass < share * expected


def _crop_flags(seen: Seen) -> list[RedFlag]:
    crop, since = seen["crop"], seen["hours_since_last_feed"]
    if crop == "distended":
        return [red_flags.CROP_DISTENDED]
    if crop == "residue" and seen["no_gain"]:
        return [red_flags.CROP_RESIDUE_AND_NO_GAIN]
    if crop not in HOLDING_FOOD or seed_of_its_own(seen):
        return []
    flags = []
    if since is not None and since >= longest_wait_h(seen):
        flags.append(red_flags.CROP_STOPPED)
    if seen["no_gain"] and _stays(seen):
        flags.append(red_flags.CROP_SLOW_AND_NO_GAIN)
    if seen["at_dawn"] and crop != "partly_full":
        flags.append(red_flags.CROP_FULL_AT_DAWN)
    return flags


def _stays(seen: Seen) -> bool:
    """Whether food stays in the crop: late, told so, or full without anything to say that it was just filled."""
    full_for_no_reason = seen["crop"] == "full" and (seen["hours_since_last_feed"] is None or seen["at_dawn"])
    return seen["crop"] == "not_emptied" or slow(seen) or full_for_no_reason


def _emaciated(seen: Seen) -> RedFlag:
    mass, expected = seen["mass_g"], seen["expected_g"]
    if mass is not None and expected is not None and mass < EMACIATED_SHARE * expected:
        return red_flags.EMACIATED_AND_LIGHT
    return red_flags.EMACIATED_SELF_FEEDER if self_feeding(seen) else red_flags.EMACIATED


def _identify(seen: Seen) -> _Turn | None:
    if seen["identified"] and seen["guild_has_practice"] and seen["species_certainty"] != "unknown":
        return None
    return _Turn(
        decision=Decision.IDENTIFY_FIRST,
        reason="What its young eat is not known; the wrong food does more harm than an hour without.",
        sources=("HRB p.513",),
    )


def _warm_or_cool(seen: Seen) -> _Turn | None:
    if seen["body"] == "hot":
        return _Turn(
            decision=Decision.COOL_FIRST,
            reason="It is too hot.",
            look_again_after_h=LOOK_AGAIN_COOL_H,
            sources=("HRB p.101",),
        )
    if seen["body"] in OUT_OF_TEMPERATURE:
        return _Turn(
            decision=Decision.WARM_FIRST,
            reason=f"It is {seen['body']}; the gut of a chilled chick does not move, even if it begs.",
            look_again_after_h=LOOK_AGAIN_WARM_H,
            sources=("HRB p.5", "HRB p.333"),
        )
    return None


def _rest(seen: Seen) -> _Turn | None:
    """A wild bird just come in, at which nobody has looked yet."""
    untouched = (
        {seen["body"], seen["hydration"], seen["body_condition"], seen["swallowing"]} == {"unknown"}
        and seen["crop"] in {"unknown", "no_crop"}
        and all(seen[word] is None for word in ("dehydration_fraction", "alertness", "droppings"))
        and not seen["signs"]
    )
    if not (untouched and seen["origin"] == "wild" and seen["first_feed_in_care"]):
        return None
    return _Turn(
        decision=Decision.REST_FIRST,
        reason="It has just come in and nobody has looked at it yet: warm, dark and quiet first, then look.",
        look_again_after_h=REST_H,
        sources=("HRB p.333", "HRB p.395"),
    )


def _fluids(seen: Seen) -> _Turn | None:
    dryness = degree(seen)
    if dryness == "moderate":
        reason = "It is dry; food would take water that it has not got."
    elif seen["body_condition"] == "emaciated" and dryness != "normal":
        reason = "It is emaciated; such a bird gets fluids before any food."
    else:
        return None
    return _Turn(
        decision=Decision.FLUIDS_FIRST,
        reason=reason,
        look_again_after_h=LOOK_AGAIN_FLUIDS_H,
        sources=("HRB p.5", "HRB p.333", "HRB p.352"),
    )


def _yolk(seen: Seen) -> _Turn | None:
    age, low = seen["age_h"], seen["first_feed_low_h"]
    if self_feeding(seen) or age is None or low is None or age >= low or seen["yolk_absorbed"]:
        return None
    return _Turn(
        decision=Decision.WAIT_FOR_YOLK,
        reason=f"It still lives on its yolk; the first feed is due {low:g} hours after hatching.",
        look_again_after_h=low - age,
    )


def _crop(seen: Seen) -> _Turn | None:
    crop = seen["crop"]
    if not seen["has_crop"] or crop not in HOLDING_FOOD or seed_of_its_own(seen):
        return None
    if seen["feeding_kind"] == "self_feeding" and crop != "not_emptied" and not seen["at_dawn"]:
        return None  # who eats all day fills its own crop; nobody puts anything on top
    empty_first = seen["at_dawn"] or slow(seen) or seen["food_guild"] in NEARLY_EMPTY_FIRST
    if crop == "partly_full" and not empty_first:
        return None
    since, emptying = seen["hours_since_last_feed"], seen["emptying_h"]
    wait = 1.0
    if crop != "not_emptied" and since is not None and emptying is not None and since < emptying:
        wait = max(emptying - since, LOOK_AGAIN_WARM_H)
    if since is not None:
        wait = min(wait, longest_wait_h(seen) - since)
    return _Turn(
        decision=Decision.WAIT_FOR_CROP,
        reason="There is still food in its crop; more on top sours or comes back.",
        look_again_after_h=wait,
        sources=("APN crop emptying", "HRB p.446", "HRB p.449"),
    )


def _parents(seen: Seen) -> _Turn | None:
    """A healthy fledgling that nobody has fed yet; a swift on the ground is no such bird, it needs help."""
    fresh = seen["first_feed_in_care"] is not False and seen["hours_since_last_feed"] is None
    mass, expected = seen["mass_g"], seen["expected_g"]
    sound = (
        seen["alertness"] == "bright"
        and seen["body"] == "warm"
        and seen["body_condition"] in {"good", "unknown"}
        and not seen["signs"]
        and not (mass is not None and expected is not None and mass < EMACIATED_SHARE * expected)
    )
    young = seen["feathered"] and not seen["grown"]
    wild_fledgling = seen["origin"] == "wild" and young and seen["food_guild"] != "aerial_insectivore"
    if not (fresh and sound and wild_fledgling and seen["rearing"] == "hand"):
        return None
    return _Turn(
        decision=Decision.RETURN_TO_PARENTS,
        reason="A bright, warm, feathered young bird on the ground is mostly no orphan; its parents feed it there.",
        look_again_after_h=LOOK_AGAIN_PARENTS_H,
        sources=("HRB p.274", "HRB p.486"),
    )


def _own_feeding(seen: Seen) -> _Turn | None:
    if not (self_feeding(seen) or seed_of_its_own(seen)):
        return None
    return _Turn(
        decision=Decision.SELF_FEEDING,
        reason="It feeds itself; food and water stand before it and nothing is put into its bill.",
        sources=("HRB p.9", "HRB p.446"),
    )


def _weigh(seen: Seen) -> _Turn | None:
    if seen["mass_g"] is not None:
        return None
    return _Turn(
        decision=Decision.WEIGH_FIRST,
        reason="No weight, no full portion: the largest feed is a share of what the bird weighs now.",
        sources=("APN volumes", "ZWE volumes"),
    )


def _share(seen: Seen) -> _Turn | None:
    if seen["rearing"] == "hand":
        return None
    return _Turn(
        decision=Decision.TOP_UP,
        reason="Other birds feed it; it gets only what its crop and its weight show to be missing.",
        sources=("COMMON practice",),
    )
