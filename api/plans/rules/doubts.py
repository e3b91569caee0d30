"""Where what was told of a bird does not fit together: its age, its mass, what it shows, its strain."""

from collections.abc import Iterator

from api.plans.rules.plan import Age, Mass
from api.plans.rules.request import MilestoneSeen, PlanRequest
from api.web.rules.cautions import Caution, Severity
from species.domain.profile import Profile
from species.domain.vocabulary import MilestoneKey

#: A bird this much above the expected mass, and above the 97th centile, is asked about. From memory: the counterpart
#: of the three quarters below which it is called light.
HEAVY_FROM_FRACTION = 4 / 3
#: A step of development this much before its first day, or missing this long after its last, casts doubt on the age.
#: From memory; birds of one brood are a day or two apart.
EARLY_FRACTION, LATE_FRACTION = 0.75, 4 / 3
#: Where no weaning age is printed, a bird is on its own by twice its latest fledging age. Inferred.
FLEDGING_AGES_TO_INDEPENDENCE = 2.0
_SELF_FEEDING = frozenset({MilestoneKey.SELF_FEEDS_SOME, MilestoneKey.SELF_FEEDS_ALL})


def doubts(
    profile: Profile, request: PlanRequest, *, age: Age, mass: Mass, feeding: bool, slurry: bool
) -> Iterator[Caution]:
    """Say what does not fit together.

    Parameters
    ----------
    profile, request
        The bird.
    age, mass
        As the plan takes them.
    feeding, slurry
        Whether it is to be fed, and whether slurry.

    Yields
    ------
    Caution
        ``age_doubtful``, ``late_weaning``, ``strain_not_known``; nothing where all is well.
    """
    reason = _age_doubt(profile, request, age, mass)
    if reason is not None:
        yield _today(
            "age_doubtful",
            f"{reason} Check the age and the species and ask again; until then keep to the warmer brooder and the "
            "more frequent feeds.",
        )
    independent = independent_from_day(profile)
    if feeding and independent is not None and age.low_days > independent:
        text = (
            f"Its kind feeds itself by day {independent:g}: either the age is wrong, or something keeps it back. Offer "
            "what it is to eat, weigh it every morning, and ask a vet."
        )
        yield _today("late_weaning", text) if slurry else _note("late_weaning", text)
    if request.strain and request.adult_mass_g is None:
        yield _note(
            "strain_not_known",
            "Nothing is printed here for the strain you told: the masses are the species'. Strains can be far heavier; "
            "give the mass of its parents as adult_mass_g.",
        )


def independent_from_day(profile: Profile) -> float | None:
    """Day by which birds of the kind are on their own; null where neither weaning nor fledging is known."""
    weaning, fledging = profile.weaning.age_days, profile.fledging_days
    if weaning is not None:
        return max(weaning.high, fledging.high) if fledging is not None else weaning.high
    return fledging.high * FLEDGING_AGES_TO_INDEPENDENCE if fledging is not None else None


def _age_doubt(profile: Profile, request: PlanRequest, age: Age, mass: Mass) -> str | None:
    for milestone in request.milestones:
        if (reason := _out_of_time(profile, milestone, age)) is not None:
            return reason
    told, expected, high = request.mass_g, mass.expected_g, mass.high_g
    if told is None or expected is None or high is None or told <= max(high, HEAVY_FROM_FRACTION * expected):
        return None
    return (
        f"{told:g} g is heavy for day {age.days:g} ({high:g} g is much already): it may be older, or another species."
    )


def _out_of_time(profile: Profile, milestone: MilestoneSeen, age: Age) -> str | None:
    first, last = _days_of(profile, milestone.key)
    step = milestone.key.value
    if milestone.seen and first is not None and age.high_days < EARLY_FRACTION * first:
        return (
            f"{step} was seen, which its kind shows from about day {first:g}; it is told to be {age.days:g} days old."
        )
    if not milestone.seen and last is not None and age.low_days > LATE_FRACTION * last:
        return f"{step} is missing, which its kind shows by day {last:g}; it is told to be {age.days:g} days old."
    return None


def _days_of(profile: Profile, key: MilestoneKey) -> tuple[float | None, float | None]:
    """First and last day of a step: as printed, else from what begins with it."""
    for milestone in profile.milestones:
        if milestone.key is key:
            return milestone.seen_days.low, milestone.seen_days.high
    if key in _SELF_FEEDING and profile.weaning.age_days is not None:
        return profile.weaning.age_days.low, None
    opened = (stage.ages.from_day for stage in profile.stages if key in stage.opens_with)
    return next(opened, None), None


def _today(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.ACT_TODAY, act_within_h=8.0, text=text, sources=sources)


def _note(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text, sources=sources)
