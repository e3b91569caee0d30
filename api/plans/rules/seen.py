"""What is known of a bird when it is judged, and what follows from two of the words together."""

from collections.abc import Sequence
from typing import TypedDict

#: Where the profile has no longest wait: food still there after 3-4 h suggests stasis (ZWE); parrots 4-6 h (APN).
LONGEST_WAIT_H = 6.0
#: Loss of body water, as a share of mass, from which dehydration is called mild, moderate, severe.
#: From memory (common veterinary scale), the lower end of each step.
DEHYDRATION_STEPS = ((0.10, "severe"), (0.07, "moderate"), (0.05, "mild"))
OUT_OF_TEMPERATURE = frozenset({"cool", "cold", "hot"})
HOLDING_FOOD = frozenset({"partly_full", "full", "not_emptied"})


class Seen(TypedDict):
    """What the gate judges by: plain JSON values, the words of the request's ``condition``. All keys stand.

    Attributes
    ----------
    identified
        What it is, or at least what its young eat, is known: a listed profile, or an unlisted bird of a told guild.
    guild_has_practice
        There are printed amounts for its food guild (the profile has stages).
    species_certainty
        certain | probable | unknown.
    feeding_kind, developmental_mode, food_guild, has_crop
        As in the profile.
    age_h
        Age, hours after hatching: the middle of what is known; null where unknown.
    first_feed_low_h
        Hours after hatching before which the group is not fed; null where it need not wait.
    yolk_absorbed
        Milestone seen (true), looked for and absent (false), not told (null).
    feathered
        Stage is feathered, or the milestone was seen.
    grown
        Past the age at which its parents feed it.
    feeds_itself
        Milestone ``self_feeds_all`` seen, or weaned.
    mass_g, expected_g
        Measured mass and the expected one; null where unknown.
    origin, rearing, first_feed_in_care
        As in the request; ``first_feed_in_care`` null where not told. Pass false where the request says what the carer
        gives now: then it is in care already.
    body, hydration, dehydration_fraction, body_condition, alertness, swallowing, crop, crop_content, crop_wall, \
droppings, signs
        As in ``condition``; null or ``unknown`` where not told.
    hours_since_last_feed
        Null where not told.
    at_dawn
        It is before the first feed of the day.
    emptying_h
        Longest time the crop usually takes at this stage, or else the longest interval between feeds; null if neither.
    longest_wait_h
        As in the profile; null gives 6 h.
    no_gain
        Weighings show no gain (true) or gain (false); null where there are none.
    """

    identified: bool
    guild_has_practice: bool
    species_certainty: str
    feeding_kind: str
    developmental_mode: str
    food_guild: str | None
    has_crop: bool
    age_h: float | None
    first_feed_low_h: float | None
    yolk_absorbed: bool | None
    feathered: bool
    grown: bool
    feeds_itself: bool
    mass_g: float | None
    expected_g: float | None
    origin: str
    rearing: str
    first_feed_in_care: bool | None
    body: str
    hydration: str
    dehydration_fraction: float | None
    body_condition: str
    alertness: str | None
    swallowing: str
    crop: str
    crop_content: str | None
    crop_wall: str | None
    droppings: str | None
    signs: Sequence[str]
    hours_since_last_feed: float | None
    at_dawn: bool
    emptying_h: float | None
    longest_wait_h: float | None
    no_gain: bool | None


def hydration_degree(*, hydration: str, dehydration_fraction: float | None) -> str:
    """Degree of dehydration: the worse of what was told in words and as a share of mass.

    The steps (5, 7 and 10 % of mass) are from memory and on the cautious side.
    """
    degrees = ("unknown", "normal", "mild", "moderate", "severe")
    if dehydration_fraction is None:
        return hydration
    reckoned = next((word for least, word in DEHYDRATION_STEPS if dehydration_fraction >= least), "normal")
    return max(hydration, reckoned, key=degrees.index)


def degree(seen: Seen) -> str:
    return hydration_degree(hydration=seen["hydration"], dehydration_fraction=seen["dehydration_fraction"])


def longest_wait_h(seen: Seen) -> float:
    return seen["longest_wait_h"] or LONGEST_WAIT_H


def slow(seen: Seen) -> bool:
    """Whether food is in the crop longer than it usually stays there."""
    since, emptying = seen["hours_since_last_feed"], seen["emptying_h"]
    return since is not None and emptying is not None and since >= emptying


def self_feeding(seen: Seen) -> bool:
    """Whether it feeds itself: its kind does, or it was seen to; no naked nestling does, whatever was told of it."""
    of_its_kind = seen["feeding_kind"] == "self_feeding" or seen["developmental_mode"] == "precocial"
    can = seen["feathered"] or seen["developmental_mode"] != "altricial"
    return of_its_kind or (seen["feeds_itself"] and can)


def seed_of_its_own(seen: Seen) -> bool:
    """A feathered bird with seed in its crop has found it itself (HRB Table 27.1, p.446); at dawn it should be gone."""
    return (
        seen["feathered"]
        and seen["crop_content"] == "seed"
        and seen["crop"] in {"partly_full", "full"}
        and not seen["at_dawn"]
    )
