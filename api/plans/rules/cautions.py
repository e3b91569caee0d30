"""What the reader must know beside the numbers: the most pressing first, one or two sentences each."""

from collections.abc import Iterator, Sequence

from api.plans.rules.plan import FEEDING, Caution, Decision, Mass, Severity
from api.plans.rules.request import Aim, BodyCondition, Certainty, Condition, Crop, Origin, PlanRequest, Rearing
from api.plans.rules.seen import hydration_degree
from species.domain.profile import Profile
from species.domain.sourcing import Evidence

#: Below this share of the expected mass a bird is called light even where healthy birds of its kind differ widely;
#: a bird 30 % down may die if it is fed before it is rehydrated (HRB p.487). From memory, the cautious side.
LIGHT_BELOW_FRACTION = 0.75

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
    mass: Mass,
    feathered: bool,
    slurry: bool,
    provisional: bool = False,
    need_met: bool | None = None,
    given: Sequence[Caution] = (),
) -> tuple[Caution, ...]:
    """Gather the cautions of a plan.

    Parameters
    ----------
    profile, request
        The bird.
    decision
        Word of the gate. What speaks of a feed is only said where there is one.
    mass
        The mass beside what is expected.
    feathered
        The stage is feathered, or the milestone was seen.
    slurry
        The feed is slurry.
    provisional
        The plan stands on the low end of an expected mass.
    need_met
        False where the bands did not allow the energy it needs; null where that is not judged.
    given
        What :func:`api.plans.rules.given.given_cautions` found.

    Returns
    -------
    tuple of Caution
        Urgent, then today's, then notes; inside each: what the carer does now, this bird, its species, every bird.
        A code comes once.
    """
    feeding = decision in FEEDING
    found = [
        *given,
        *_of_the_bird(request, mass, feathered=feathered, feeding=feeding),
        *_of_the_plan(profile, request, feeding=feeding, provisional=provisional, need_met=need_met),
        *_of_the_law(request),
        *(_note(c.code, c.text, *c.sources) for c in profile.cautions),
        *_of_imprinting(profile, request),
        *_of_every_feed(feeding=feeding, slurry=slurry),
        *_always(request),
    ]
    once = {caution.code: caution for caution in reversed(found)}
    kept = [caution for caution in found if once[caution.code] is caution]
    return tuple(sorted(kept, key=lambda caution: _ORDER.index(caution.severity)))


def is_light(*, mass_g: float | None, expected_g: float | None, low_g: float | None) -> bool:
    """Whether a bird weighs less than the 3rd centile of its age, or less than three quarters of what is expected."""
    if mass_g is None or expected_g is None:
        return False
    return mass_g < LIGHT_BELOW_FRACTION * expected_g or (low_g is not None and mass_g < low_g)


def _of_the_bird(request: PlanRequest, mass: Mass, *, feathered: bool, feeding: bool) -> Iterator[Caution]:
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
    if seen.crop is Crop.RESIDUE and feeding:
        yield _today(
            "crop_slow",
            "The crop still holds a little: no larger feed until it has been empty twice. Check warmth, and how thick "
            "and how warm the food is.",
            "HRB p.593",
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


def _of_the_plan(
    profile: Profile, request: PlanRequest, *, feeding: bool, provisional: bool, need_met: bool | None
) -> Iterator[Caution]:
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
    if need_met is False:
        yield _today(
            "need_not_met",
            "Inside the printed bands it does not get all the energy it is reckoned to need. Weigh it tomorrow; no "
            "gain is a matter for a vet, not for a larger feed.",
            "HRB p.616",
        )


def _of_the_law(request: PlanRequest) -> Iterator[Caution]:
    if request.origin is Origin.CAPTIVE:
        return
    yield _note(
        "law_and_licence",
        "Most wild birds may be held only with a permit, or only until they are fit for release: ask the local "
        "authority or a licensed rehabilitator today.",
        "CFR21 21.12",
        "GL2024 GL07 and GL08",
    )


def _of_imprinting(profile: Profile, request: PlanRequest) -> Iterator[Caution]:
    to_be_free = request.aim is Aim.RELEASE or (request.aim is Aim.UNDECIDED and request.origin is Origin.WILD)
    told = any("imprint" in caution.code or "alone" in caution.code for caution in profile.cautions)
    if to_be_free and not told:
        yield _note(
            "imprinting",
            "A bird that is to be free is not reared alone: company of its own kind, hands hidden, no talking.",
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
        "Wash your hands before and after; own tools for each clutch, cleaned, disinfected, rinsed. Birds carry "
        "psittacosis and salmonella: mask for dust, a physician if you fall ill.",
        "HRB p.2",
        "NAS17 measures",
    )
    if request.origin is not Origin.CAPTIVE:
        yield _note("no_kitchen_food", "No milk, no bread, no water poured into the bill.", "COMMON practice")
    yield _note(
        "ask_a_vet",
        "These figures do not replace a licensed avian vet. Where bird and plan disagree, believe the bird and ask.",
    )


def _degree(seen: Condition) -> str:
    return hydration_degree(hydration=seen.hydration, dehydration_fraction=seen.dehydration_fraction)


def _urgent(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.URGENT, act_within_h=1.0, text=text, sources=sources)


def _today(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.ACT_TODAY, act_within_h=8.0, text=text, sources=sources)


def _note(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text, sources=sources)
