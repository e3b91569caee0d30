"""What the reader must know beside the numbers: the most pressing first, one or two sentences each."""

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from api.birds.rules.words import Aim, Alertness, BodyCondition, Certainty, Crop, Droppings, Origin, Rearing, Sign
from api.plans.rules.doubts import doubts
from api.plans.rules.plan import FEEDING, Age, Decision, Mass
from api.plans.rules.request import Condition, PlanRequest
from api.plans.rules.seen import hydration_degree
from api.web.rules.cautions import Caution, Severity
from species.domain.profile import Profile, ProfileCaution
from species.domain.sourcing import Evidence

#: Below this share of the expected mass a bird is called light even where healthy birds of its kind differ widely;
#: a bird 30 % down may die if it is fed before it is rehydrated (HRB p.487). From memory, the cautious side.
LIGHT_BELOW_FRACTION = 0.75

#: Said of every bird, and in a species' own words where its profile has a caution of that code.
REWORDED = frozenset(
    {
        "age_beyond_curve",
        "discard_leftovers",
        "hygiene",
        "imprinting",
        "measure_in_syringe",
        "no_kitchen_food",
        "stop_when_it_coughs",
    }
)
#: Profile caution on nest, parents and foster nest: nothing to a bird that hatched in a cage.
PARENTS_FIRST = "parents_first"
#: Fills of a crop, which a bird without one cannot have.
_FILLED = frozenset({Crop.RESIDUE, Crop.PARTLY_FULL, Crop.FULL, Crop.DISTENDED, Crop.NOT_EMPTIED})

_ORDER = (Severity.URGENT, Severity.ACT_TODAY, Severity.NOTE)

#: What every brooder is told, in the order of harm. PTFE: SHU12; ends and thermometer: HRB pp.196, 232; behaviour:
#: HRB pp.101, 322, 619; the rest is common practice without a source.
BROODER_ADVICE = (
    "No lamp or pan with a PTFE (non-stick) coating near the bird: its fumes kill.",
    "No bare bulb, candle or candling lamp as heat, and a hot-water bottle only under a thick cover: they burn.",
    "Warm one end only, about 5 °C more than the other, with the thermometer at the height of the bird.",
    "The bird is right and the number wrong: panting or drooped wings are too hot; huddling, pale or slow is too cold.",
)


def cautions(
    profile: Profile,
    request: PlanRequest,
    *,
    decision: Decision,
    age: Age,
    mass: Mass,
    feathered: bool,
    slurry: bool,
    provisional: bool = False,
    curve_to_day: float | None = None,
    recorded: Sequence[Caution] = (),
    given: Sequence[Caution] = (),
    portion: Sequence[Caution] = (),
) -> tuple[Caution, ...]:
    """Gather the cautions of a plan.

    Parameters
    ----------
    profile, request
        The bird.
    decision
        Word of the gate. What speaks of a feed is only said where there is one.
    age
        Which of the profile's cautions hold: those of any day the bird may be old.
    mass
        The mass beside what is expected.
    feathered
        The stage is feathered, or the milestone was seen.
    slurry
        The feed is slurry.
    provisional
        The plan stands on the low end of an expected mass.
    curve_to_day
        Last day the growth curve was fitted to; null without a curve.
    recorded
        What a stored bird's record asks to be said.
    given
        What :func:`api.plans.rules.given.given_cautions` found.
    portion
        What is to be said of the portion: where its size comes from, what else it may be.

    Returns
    -------
    tuple of Caution
        Urgent, then today's, then notes. Of the notes the vet and the law stand first; then its record, what the
        carer does now, this bird, its species, its portion, every bird. A code comes once.
    """
    feeding = decision in FEEDING
    own = {c.code: c for c in profile.cautions if c.holds_between(age.low_days, age.high_days)}
    found = [
        *_of_vet_and_law(request),
        *recorded,
        *given,
        *_of_the_bird(profile, request, mass, feathered=feathered, feeding=feeding),
        *_of_its_look(request.condition, feeding=feeding),
        *doubts(profile, request, age=age, mass=mass, feeding=feeding, slurry=slurry),
        *_of_the_plan(profile, request, feeding=feeding, provisional=provisional),
        *_of_the_curve(age, mass, curve_to_day),
        *_of_the_species(own, request),
        *_of_parents(own, request, feathered=feathered),
        *_of_company(own, request, feeding=feeding),
        *portion,
        *_of_every_feed(feeding=feeding, slurry=slurry),
        *_always(request),
    ]
    once = {caution.code: caution for caution in reversed(found)}
    kept = [_in_its_words(caution, own) for caution in found if once[caution.code] is caution]
    return tuple(sorted(kept, key=lambda caution: _ORDER.index(caution.severity)))


def is_light(*, mass_g: float | None, expected_g: float | None, low_g: float | None) -> bool:
    """Whether a bird weighs less than the 3rd centile of its age, or less than three quarters of what is expected."""
    if mass_g is None or expected_g is None:
        return False
    return mass_g < LIGHT_BELOW_FRACTION * expected_g or (low_g is not None and mass_g < low_g)


def _of_the_bird(
    profile: Profile, request: PlanRequest, mass: Mass, *, feathered: bool, feeding: bool
) -> Iterator[Caution]:
    seen = request.condition
    if seen.body_condition is BodyCondition.EMACIATED and feeding:
        yield _urgent(
            "refeed_slowly",
            "Emaciated: 1 to 3 % of its mass a feed, more often, crop at most a third full, more only over 24 to 72 "
            "hours and with a vet.",
            "HRB p.352",
        )
    if is_light(mass_g=request.mass_g, expected_g=mass.expected_g, low_g=mass.low_g):
        yield _of_low_mass(feathered=feathered)
    if seen.body_condition is BodyCondition.THIN:
        yield _today("thin", "It is thin: look for the cause today, weigh it every morning.", "HRB p.599")
    if _degree(seen) == "mild":
        yield _today("dehydrated", "It is a little dry: no thicker food until mouth and skin are moist.", "HRB p.333")
    if not profile.has_crop.value and seen.crop in _FILLED:
        yield _today(
            "no_crop",
            "Whether this species has a crop is not known here: where you feel food at its neck, wait until it is gone."
            if profile.evidence is Evidence.INFERRED
            else "It has no crop: what is felt at its neck is something else. Check the species, and show it to a vet.",
        )
    elif seen.crop is Crop.RESIDUE and feeding:
        yield _today(
            "crop_slow",
            "The crop still holds a little: no larger feed until it has been empty twice. Check warmth, and how thick "
            "and how warm the food is.",
            "HRB p.593",
        )


def _of_its_look(seen: Condition, *, feeding: bool) -> Iterator[Caution]:
    if Sign.SPLAYED_LEGS in seen.signs:
        yield _today(
            "limb_deformity",
            "Its legs splay: a deep cup with a non-slip floor, the legs under it, and a vet today. Only in the first "
            "days can they be brought together." + (" Its feeds go on." if feeding else ""),
            "COMMON practice",
        )
    if seen.alertness is Alertness.QUIET and feeding:
        yield _today(
            "quiet",
            "Quieter than it should be: no larger feed, and only while it begs or swallows well. Check its warmth and "
            "its crop; if it is no brighter by the next feed, ring a vet.",
            "HRB p.617",
        )
    if seen.droppings is Droppings.NONE_SINCE_FEED and feeding:
        yield _today(
            "no_droppings",
            "No dropping since the last feed: no larger feed. Check its warmth, and whether mouth and skin are moist; "
            "none after two feeds: a vet today.",
            "HRB p.430",
        )
    if seen.droppings is Droppings.WATERY:
        yield _today(
            "abnormal_droppings",
            "Watery droppings dry a chick out. Thin food, fruit or fright can do it; if the next two are no firmer, or "
            "it is quiet, a vet today.",
            "COMMON practice",
        )


def _of_low_mass(*, feathered: bool) -> Caution:
    if feathered:
        return _today(
            "light_for_milestones",
            "Light for what it shows: thin, not younger, so food and warmth stay those of its feathers. Feel its "
            "breast, see whether it is dry, and ask a vet if it does not gain by tomorrow.",
            "HRB p.487",
        )
    return _today(
        "low_for_age",
        "It is light for its age. Check age and species, warmth and crop; weigh again tomorrow before the first feed.",
        "HRB p.599",
    )


def _of_the_plan(profile: Profile, request: PlanRequest, *, feeding: bool, provisional: bool) -> Iterator[Caution]:
    if provisional:
        yield _today(
            "provisional",
            "Without a weight this is a small feed to bridge an hour, for the lightest bird of its age. Weigh it now.",
            "APN volumes",
        )
    if request.species_certainty is Certainty.PROBABLE:
        yield _today("species_doubtful", "The species is not certain; have it confirmed and ask again.", "HRB p.513")
    if request.species_certainty is Certainty.UNKNOWN:
        yield _today(
            "species_doubtful", "What it is, is a guess: no food before somebody who knows has seen a photograph."
        )
    if profile.evidence is Evidence.INFERRED:
        yield _today(
            "inferred_profile",
            "Nobody has written down how this species is reared: ages and masses are reckoned from adult mass and "
            "relatives, and the bands are wide. Trust the scale and the crop more, and ask a vet who knows its kin.",
        )
    if request.rearing is not Rearing.HAND and feeding:
        yield _note(
            "top_up_only",
            "Others feed it: give only what is missing, and weigh it every morning to see how much that is.",
        )


def _of_the_curve(age: Age, mass: Mass, curve_to_day: float | None) -> Iterator[Caution]:
    """Past the last weighing the expected mass is a plateau, and no alarm rests on it (growth.md section 4)."""
    if curve_to_day is not None and mass.expected_g is not None and age.days > curve_to_day:
        yield _note(
            "age_beyond_curve",
            f"Its growth curve ends on day {curve_to_day:g}; masses expected later are its plateau. Many kinds "
            "lose mass before they fly: feel the breast and look at the wings.",
            "MAR97 abstract",
            "OURFIT species_growth_table.csv columns peak_g and last_g",
        )


def _of_the_species(own: Mapping[str, ProfileCaution], request: PlanRequest) -> Iterator[Caution]:
    for caution in own.values():
        from_a_cage = caution.code == PARENTS_FIRST and request.origin is Origin.CAPTIVE
        if caution.code not in REWORDED and not from_a_cage:
            yield _note(caution.code, caution.text, *caution.sources)


def _of_parents(own: Mapping[str, ProfileCaution], request: PlanRequest, *, feathered: bool) -> Iterator[Caution]:
    """A fledgling at which nobody has looked yet is not taken in without a word of its parents (hazard 16)."""
    from_outside = request.origin is not Origin.CAPTIVE and request.first_feed_in_care is not False
    if from_outside and feathered and PARENTS_FIRST not in own:
        yield _note(
            PARENTS_FIRST,
            "A feathered young bird that is bright and unhurt is mostly no orphan: look for its parents before you "
            "keep it from them.",
            "HRB p.274",
            "HRB p.486",
        )


def _in_its_words(caution: Caution, own: Mapping[str, ProfileCaution]) -> Caution:
    """The same caution as the species' profile says it, where it does."""
    if caution.code not in REWORDED or caution.code not in own:
        return caution
    said = own[caution.code]
    return msgspec.structs.replace(caution, text=said.text, sources=said.sources)


def _of_vet_and_law(request: PlanRequest) -> Iterator[Caution]:
    yield _note(
        "ask_a_vet",
        "These figures do not replace a licensed avian vet. Where bird and plan disagree, believe the bird and ask.",
    )
    if request.origin is not Origin.CAPTIVE:
        to_be_kept = request.aim in {Aim.COMPANION, Aim.BREEDING}
        yield _note(
            "law_and_licence",
            "Most wild birds may be held only with a permit, or only until they are fit for release: ask the local "
            "authority or a licensed rehabilitator today."
            + (" A wild bird is not reared to be kept or bred from." if to_be_kept else ""),
            "CFR21 21.12",
            "GL2024 GL07 and GL08",
        )


def _of_company(own: Mapping[str, ProfileCaution], request: PlanRequest, *, feeding: bool) -> Iterator[Caution]:
    to_be_free = request.aim is Aim.RELEASE or (request.aim is not Aim.BREEDING and request.origin is Origin.WILD)
    among_its_kind = to_be_free or request.aim is Aim.BREEDING
    if among_its_kind and request.brood_size == 1:
        yield _today(
            "reared_alone",
            "It is alone: a bird that is to be free or to breed grows up with its own kind. Ask a rescue or a breeder "
            "today whom it can join.",
            "HRB p.340",
        )
    if request.brood_size is not None and request.brood_size > 1 and feeding:
        yield _note(
            "one_of_a_brood",
            f"These amounts are for one bird, not for all {request.brood_size}. Mark each, weigh each, feed the "
            "weakest first, and ask for a plan of its own for one that lags behind.",
            "COMMON practice",
        )
    if among_its_kind and "never_alone" not in own:
        yield _note(
            "imprinting",
            "A bird that is to be free or to breed is not reared alone: company of its own kind, hands hidden, no "
            "talking.",
            "HRB p.340",
            "HRB p.451",
        )


def _of_every_feed(*, feeding: bool, slurry: bool) -> Iterator[Caution]:
    if not feeding:
        return
    yield _note(
        "stop_when_it_coughs",
        "Food only while it gapes, pumps or swallows. It coughs, sneezes or turns away: stop.",
        "HRB p.9",
        "HRB p.616",
    )
    if slurry:
        yield _note(
            "measure_in_syringe",
            "Stir, then measure the temperature in the syringe, on every fill; no microwave.",
            "RIV08 crop burns",
            "VT crop burn",
        )
    yield _note(
        "discard_leftovers",
        "Throw away what is left after the feed; nothing is kept warm for the next bird or the next feed.",
        "HRB p.446",
        "PRH holding",
    )


def _always(request: PlanRequest) -> Iterator[Caution]:
    yield _note(
        "hygiene",
        "Wash your hands before and after; clean, disinfect and rinse each clutch's own tools. Birds carry "
        "psittacosis and salmonella: if you fall ill, tell a physician of them.",
        "HRB p.2",
        "NAS17 measures",
    )
    if request.origin is not Origin.CAPTIVE and request.first_feed_in_care is not False:
        yield _note("no_kitchen_food", "No milk, no bread, no water poured into the bill.", "COMMON practice")


def _degree(seen: Condition) -> str:
    return hydration_degree(hydration=seen.hydration, dehydration_fraction=seen.dehydration_fraction)


def _urgent(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.URGENT, act_within_h=1.0, text=text, sources=sources)


def _today(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.ACT_TODAY, act_within_h=8.0, text=text, sources=sources)


def _note(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text, sources=sources)
