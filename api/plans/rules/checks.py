"""What to look at before the feed: whatever was not told, for unknown is not fine (HRB pp.5, 333)."""

from api.birds.rules.words import Droppings
from api.plans.rules.plan import Check
from api.plans.rules.request import Condition, PlanRequest
from api.plans.rules.seen import hydration_degree
from species.domain.profile import Profile

BODY = Check(
    code="body",
    text="Feel its feet and breast: warm, not cool and not hot.",
    if_not="No food. Warm or cool it first and ask again.",
)
HYDRATION = Check(
    code="hydration",
    text="Skin smooth and quick to fall back, mouth moist, eyes round.",
    if_not="No food. Give fluids first and ask again.",
)
MILDLY_DRY = Check(
    code="hydration",
    text="It is a little dry: look again before each feed whether skin and mouth have become moist.",
    if_not="Fluids first, and no thicker food.",
)
CROP = Check(
    code="crop",
    text="Feel the crop: empty or nearly so, soft, its skin pale and whole.",
    if_not="No food on top. Ask again with how full it is and when it was last fed.",
)
SWALLOW = Check(
    code="swallow",
    text="Touch the bill with one drop: it gapes, pumps or swallows.",
    if_not="Nothing by mouth; ring a vet.",
)
ALERTNESS = Check(code="alertness", text="It holds its head up and reacts to you.", if_not="No food; ring a vet.")
DROPPINGS = Check(
    code="droppings",
    text="There has been a dropping since the last feed, without blood.",
    if_not="Blood: a vet now. None after two feeds: a vet today.",
)
MOUTH = Check(
    code="mouth",
    text="Look into the open bill: pink, moist, nothing white or cheesy in it.",
    if_not="Keep it apart from the others; a vet today.",
)


def checks(profile: Profile, request: PlanRequest) -> tuple[Check, ...]:
    """Give the checks for everything the carer did not tell, the gravest first.

    Parameters
    ----------
    profile
        Says whether there is a crop to feel; a bird without one gets no such check.
    request
        Its ``condition`` and whether it is the first feed in care.

    Returns
    -------
    tuple of Check
        Body, hydration, crop, alertness, swallowing, droppings, mouth: those that are unknown. A mild dehydration is
        looked at again, and so is whether a first dropping has come. The mouth is looked into at a first feed (plaques:
        HRB p.750).
    """
    seen = request.condition
    asked = (
        (seen.body == "unknown", BODY),
        (_degree(seen) == "unknown", HYDRATION),
        (_degree(seen) == "mild", MILDLY_DRY),
        (profile.has_crop.value and seen.crop in {"unknown", "no_crop"}, CROP),
        (seen.alertness is None, ALERTNESS),
        (seen.swallowing == "unknown", SWALLOW),
        (seen.droppings in {None, Droppings.NONE_YET}, DROPPINGS),
        (request.first_feed_in_care is True and "mouth_plaques" not in seen.signs, MOUTH),
    )
    return tuple(check for wanted, check in asked if wanted)


def _degree(seen: Condition) -> str:
    return hydration_degree(hydration=seen.hydration, dehydration_fraction=seen.dehydration_fraction)
