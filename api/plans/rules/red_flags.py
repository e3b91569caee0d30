"""What means a vet, and how soon: signs, crop, droppings, alertness, swallowing, hydration.

The sources say that a vet is needed; the hours are from memory and on the cautious side, so they are all within the
same day (design: practice, rule 17): 1 h where a bird can die of it at once, 4 h where each hour counts, 12 h for the
rest.
"""

from collections.abc import Mapping, Sequence

from species.domain.record import Record

AT_ONCE_H = 1.0
SOON_H = 4.0
SAME_DAY_H = 12.0


class RedFlag(Record, frozen=True, kw_only=True):
    """Something seen, why it matters, how soon a vet should know, and whether feeding stops until then.

    ``meanwhile`` is what to do on the way, where something helps and nothing is risked.
    """

    within_h: float
    why: str
    stops_feeding: bool = True
    meanwhile: str | None = None
    sources: tuple[str, ...] = ()


SIGNS: Mapping[str, RedFlag] = {
    "bleeding": RedFlag(
        within_h=AT_ONCE_H,
        why="It bleeds; a chick has very little blood to lose.",
        meanwhile="Press clean gauze on the place for five minutes without lifting it.",
        sources=("HRB p.2",),
    ),
    "seizure": RedFlag(
        within_h=AT_ONCE_H,
        why="It had a seizure.",
        meanwhile="Dark, quiet, padded; nothing by mouth.",
        sources=("COMMON practice",),
    ),
    "open_mouth_breathing": RedFlag(
        within_h=AT_ONCE_H,
        why="It breathes with an open bill.",
        meanwhile="Do not handle it more than you must; make sure that it is not too hot.",
        sources=("HRB p.2",),
    ),
    "wet_breathing": RedFlag(
        within_h=AT_ONCE_H,
        why="Its breathing is wet or clicks: food or fluid may have gone into the airway.",
        meanwhile="Nothing by mouth; keep it upright and warm.",
        sources=("HRB p.9", "HRB p.616"),
    ),
    "food_from_nostrils": RedFlag(
        within_h=AT_ONCE_H,
        why="Food came from its nostrils: it may have been breathed in.",
        meanwhile="Nothing by mouth; wipe the nostrils, keep it upright and warm.",
        sources=("HRB p.9", "HRB p.616"),
    ),
    "yolk_sac_outside": RedFlag(
        within_h=AT_ONCE_H,
        why="The yolk sac is outside the body.",
        meanwhile="Cover it with clean gauze damp with saline; never push it in, tie it or cut it.",
        sources=("COMMON practice",),
    ),
    "fly_eggs_or_maggots": RedFlag(
        within_h=AT_ONCE_H,
        why="There are fly eggs or maggots on it, and they hatch and eat within hours.",
        meanwhile="Pick off with tweezers what you can see; do not wash the bird.",
        sources=("COMMON practice",),
    ),
    "cat_or_dog_contact": RedFlag(
        within_h=SOON_H,
        why="A cat or a dog had it: a tooth mark too small to see kills within a day or two.",
        sources=("HRB p.2",),
    ),
    "wound": RedFlag(within_h=SOON_H, why="It has a wound.", sources=("HRB p.2",)),
    "fracture": RedFlag(
        within_h=SOON_H,
        why="A bone seems to be broken.",
        meanwhile="A small box with a soft, non-slip floor; do not splint it.",
        sources=("HRB p.2",),
    ),
    "head_tilt": RedFlag(within_h=SOON_H, why="It holds its head askew.", sources=("COMMON practice",)),
    "oiled": RedFlag(
        within_h=SOON_H,
        why="It is oiled or greasy.",
        meanwhile="Keep it warm; do not wash it before it is strong enough.",
        sources=("COMMON practice",),
    ),
    "air_under_skin": RedFlag(
        within_h=SOON_H, why="There is air under its skin: an air sac is torn.", sources=("COMMON practice",)
    ),
    "pale": RedFlag(
        within_h=SOON_H,
        why="Its skin or mouth is pale: blood loss, parasites, or shock.",
        sources=("HRB p.617",),
    ),
    "mouth_plaques": RedFlag(
        within_h=SAME_DAY_H,
        why="There are plaques in its mouth, which may be a disease that spreads to the others.",
        meanwhile="Keep it and its tools apart from the other birds.",
        sources=("HRB p.750",),
    ),
    "regurgitation": RedFlag(
        within_h=SAME_DAY_H, why="Food comes back up; it may be breathed in.", sources=("COMMON practice",)
    ),
    "sour_smell": RedFlag(
        within_h=SAME_DAY_H, why="It smells sour: the crop has turned.", sources=("COMMON practice",)
    ),
    "eye_injury": RedFlag(within_h=SAME_DAY_H, why="An eye is hurt.", sources=("COMMON practice",)),
    "splayed_legs": RedFlag(
        within_h=SAME_DAY_H,
        why="Its legs splay; they can be brought together in the first days and not later.",
        stops_feeding=False,
        meanwhile="A deep cup with a non-slip floor, its legs under it.",
        sources=("COMMON practice",),
    ),
}

CROP_WALLS: Mapping[str, RedFlag] = {
    "leaking": RedFlag(
        within_h=AT_ONCE_H,
        why="The crop leaks.",
        meanwhile="Nothing by mouth; cover the hole with clean damp gauze.",
        sources=("RIV08 crop burns",),
    ),
    "blistered": RedFlag(
        within_h=SOON_H, why="The skin over the crop is blistered: a burn.", sources=("RIV08 crop burns",)
    ),
    "red": RedFlag(
        within_h=SAME_DAY_H,
        why="The skin over the crop is red; a burn shows its depth only after 10 to 14 days.",
        sources=("RIV08 crop burns",),
    ),
}

CROP_CONTENTS: Mapping[str, RedFlag] = {
    "foreign_object": RedFlag(
        within_h=SOON_H, why="There is something in the crop that is not food.", sources=("HRB p.593",)
    ),
    "fluid": RedFlag(
        within_h=SAME_DAY_H,
        why="The crop is full of fluid that should have gone within two hours.",
        sources=("HRB p.593",),
    ),
    "air": RedFlag(within_h=SAME_DAY_H, why="The crop is full of air.", sources=("COMMON practice",)),
}

CROP_DISTENDED = RedFlag(
    within_h=SOON_H,
    why="The crop is stretched: overfilled or stopped, and it may come back and be breathed in.",
    sources=("HRB p.616", "RIV08 stasis"),
)
CROP_STOPPED = RedFlag(
    within_h=SOON_H,
    why="The crop has not emptied in the longest time it may take.",
    sources=("ZWE crop emptying", "ARI growth chart page"),
)
CROP_SLOW_AND_NO_GAIN = RedFlag(
    within_h=SOON_H,
    why="The crop stays full and the bird does not gain: it starves with a full crop.",
    sources=("R&G86 abstract", "HRB p.617"),
)
CROP_RESIDUE_AND_NO_GAIN = RedFlag(
    within_h=SAME_DAY_H,
    why="The crop does not empty quite and the bird does not gain: more food will not help it.",
    stops_feeding=False,
    sources=("HRB p.593", "HRB p.617"),
)
CROP_FULL_AT_DAWN = RedFlag(
    within_h=SAME_DAY_H,
    why="The crop had the whole night and is not empty.",
    stops_feeding=False,
    sources=("ARI growth chart page", "APN crop emptying"),
)

DROPPINGS: Mapping[str, RedFlag] = {
    "bloody": RedFlag(within_h=SOON_H, why="There is blood in its droppings.", sources=("COMMON practice",)),
    "none_since_feed": RedFlag(
        within_h=SAME_DAY_H,
        why="No dropping since the last feed; none after two feeds is a matter for a vet.",
        stops_feeding=False,
        sources=("HRB p.430",),
    ),
    "undigested": RedFlag(
        within_h=SAME_DAY_H,
        why="Food leaves it undigested.",
        stops_feeding=False,
        sources=("COMMON practice",),
    ),
    "green": RedFlag(
        within_h=SAME_DAY_H,
        why="Green droppings: an empty gut, or a sick liver.",
        stops_feeding=False,
        sources=("COMMON practice",),
    ),
    "chalky": RedFlag(
        within_h=SAME_DAY_H,
        why="Chalky droppings: it is dry, or its kidneys ail.",
        stops_feeding=False,
        sources=("COMMON practice",),
    ),
}

UNRESPONSIVE = RedFlag(
    within_h=AT_ONCE_H,
    why="It does not respond.",
    meanwhile="Warmth, dark and quiet; nothing by mouth.",
    sources=("HRB p.9",),
)
NOT_SWALLOWING = RedFlag(
    within_h=AT_ONCE_H,
    why="It does not swallow; whatever is put in its mouth goes into the airway.",
    meanwhile="Warmth, dark and quiet; nothing by mouth.",
    sources=("HRB p.9",),
)
WEAK = RedFlag(
    within_h=SOON_H,
    why="It is weak or swallows weakly: food is easily breathed in.",
    sources=("HRB p.9", "HRB p.617"),
)
WEAK_BUT_COLD_OR_DRY = RedFlag(
    within_h=SOON_H,
    why="It is weak or swallows weakly; if warmth and fluids do not mend that within the hour, it is something else.",
    stops_feeding=False,
    sources=("HRB p.9", "HRB p.617"),
)
SEVERELY_DRY = RedFlag(
    within_h=SOON_H,
    why="It is severely dry; fluid by mouth alone will not save it.",
    sources=("EAF5 T5-36", "HRB p.9"),
)
EMACIATED = RedFlag(
    within_h=SAME_DAY_H,
    why="It is emaciated; food given too soon or too much can kill it.",
    stops_feeding=False,
    sources=("HRB p.352", "HRB p.487"),
)
VERY_LIGHT = RedFlag(
    within_h=SAME_DAY_H,
    why="It weighs far less than it should at its age: it starves, it ails, or the age is wrong.",
    stops_feeding=False,
    sources=("HRB p.487",),
)
EMACIATED_AND_LIGHT = RedFlag(
    within_h=SOON_H,
    why="It is emaciated and weighs less than 70 % of what it should; such a bird may die if fed too soon.",
    sources=("HRB p.352", "HRB p.487"),
)
EMACIATED_SELF_FEEDER = RedFlag(
    within_h=SOON_H,
    why="It is emaciated although it could feed itself.",
    sources=("HRB p.352", "HRB p.487"),
)
STAYS_HOT = RedFlag(
    within_h=AT_ONCE_H,
    why="It is hot and pants; if cooling does not end it within a quarter of an hour it is not the heat.",
    stops_feeding=False,
    sources=("HRB p.101",),
)


def flags_of(
    *,
    signs: Sequence[str],
    crop_wall: str | None,
    crop_content: str | None,
    droppings: str | None,
    alertness: str | None,
    swallowing: str,
) -> tuple[RedFlag, ...]:
    """Everything among what was told that a vet should know of, soonest first.

    Parameters
    ----------
    signs
        Words of ``condition.signs``.
    crop_wall, crop_content
        Null where unknown or where the bird has no crop.
    droppings, alertness
        Null where not told.
    swallowing
        Word of ``condition.swallowing``.

    Returns
    -------
    tuple of RedFlag
        Empty where nothing of this was seen. Crop fill, hydration and body condition need the time and the mass as
        well and are judged by the gate.

    Raises
    ------
    KeyError
        If a sign is not a word of the published list.
    """
    found = [SIGNS[sign] for sign in signs]
    found += [
        table[word]
        for table, word in ((CROP_WALLS, crop_wall), (CROP_CONTENTS, crop_content), (DROPPINGS, droppings))
        if word is not None and word in table
    ]
    if alertness == "unresponsive":
        found.append(UNRESPONSIVE)
    if swallowing == "none":
        found.append(NOT_SWALLOWING)
    return tuple(sorted(found, key=lambda flag: flag.within_h))
