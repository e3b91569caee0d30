"""The birds that the rows of the hazard table speak of."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from api.birds.rules.words import Certainty, Crop, Origin
from api.plans.rules.request import Condition, FeedingDay, Given, LastFeed, Lately, MilestoneSeen, PlanRequest
from species.domain.profile import Profile
from species.domain.sourcing import Evidence
from species.domain.vocabulary import MilestoneKey
from tests.safety.birds import DAWN, MORNING, altered, expected_mass_g, request_for, stage_ages, well


@dataclass(frozen=True)
class Case:
    """One bird of a row: who, what is asked, when."""

    profile: Profile
    request: PlanRequest
    now: datetime = MORNING


def seen(**condition: object) -> Callable[[Profile], Iterator[Case]]:
    """The same finding on a bird of each stage."""

    def cases(profile: Profile) -> Iterator[Case]:
        for age in stage_ages(profile):
            yield Case(profile, request_for(profile, age, condition=well(profile, **condition)))

    return cases


def each(*givens: Callable[[Profile], Iterator[Case]]) -> Callable[[Profile], Iterator[Case]]:
    def cases(profile: Profile) -> Iterator[Case]:
        for given in givens:
            yield from given(profile)

    return cases


def aged(age: float | None = None, **told: object) -> Callable[[Profile], Iterator[Case]]:
    """Well birds of one age, or of each stage."""

    def cases(profile: Profile) -> Iterator[Case]:
        for days in (age,) if age is not None else stage_ages(profile):
            yield Case(profile, request_for(profile, days, **told))

    return cases


def full_at_dawn(profile: Profile) -> Iterator[Case]:
    for age in stage_ages(profile):
        for crop in (Crop.FULL, Crop.NOT_EMPTIED):
            fed = LastFeed(at=DAWN - timedelta(hours=8))
            asked = request_for(profile, age, condition=well(profile, crop=crop, last_feed=fed))
            yield Case(profile, asked, DAWN)


def stays_full(profile: Profile) -> Iterator[Case]:
    fed = LastFeed(at=MORNING - timedelta(hours=24))
    yield from seen(crop=Crop.NOT_EMPTIED, last_feed=fed)(profile)
    yield from seen(crop=Crop.FULL, last_feed=fed)(profile)


def nothing_told(profile: Profile) -> Iterator[Case]:
    for age in stage_ages(profile):
        for origin in Origin:
            yield Case(
                profile,
                request_for(profile, age, condition=Condition(), first_feed_in_care=True, origin=origin),
            )


def feathered_ages(profile: Profile) -> Iterator[float]:
    for stage in profile.stages:
        if stage.feathered:
            low, high = stage.ages.from_day, stage.ages.to_day
            yield low + 0.5 if high is None else (low + high) / 2


def light_and_feathered(profile: Profile) -> Iterator[Case]:
    for age in feathered_ages(profile):
        feathers = (MilestoneSeen(key=MilestoneKey.BODY_FEATHERED, seen=True),)
        mass = 0.7 * expected_mass_g(profile, age)
        yield Case(profile, request_for(profile, age, mass_g=mass, milestones=feathers))


def hours_old(hours: float) -> Callable[[Profile], Iterator[Case]]:
    def cases(profile: Profile) -> Iterator[Case]:
        mass = profile.masses.hatch_g.value if profile.masses.hatch_g else expected_mass_g(profile, 0.0)
        hatched = MORNING - timedelta(hours=hours)
        yield Case(profile, request_for(profile, None, hatched_at=hatched, mass_g=mass))

    return cases


def hatching_unseen(profile: Profile) -> Iterator[Case]:
    yield Case(profile, request_for(profile, None, mass_g=expected_mass_g(profile, 3.0)))


def diet_unknown(profile: Profile) -> Iterator[Case]:
    stranger = altered(profile, stages=(), evidence=Evidence.INFERRED, methods=(), default_formula=None)
    mass = expected_mass_g(profile, 5.0)
    yield Case(stranger, request_for(profile, 5.0, mass_g=mass, species_certainty=Certainty.UNKNOWN))


def doubtful_hawker(profile: Profile) -> Iterator[Case]:
    stranger = altered(profile, evidence=Evidence.INFERRED)
    for certainty in Certainty:
        for age in stage_ages(profile):
            mass = expected_mass_g(profile, age)
            yield Case(stranger, request_for(profile, age, mass_g=mass, species_certainty=certainty))


def found_fledgling(profile: Profile) -> Iterator[Case]:
    for age in feathered_ages(profile):
        for first in (True, None):
            yield Case(profile, request_for(profile, age, origin=Origin.WILD, first_feed_in_care=first))


def unseen_fledgling(profile: Profile) -> Iterator[Case]:
    for age in feathered_ages(profile):
        for first in (True, None):
            unseen = request_for(profile, age, origin=Origin.WILD, first_feed_in_care=first, condition=Condition())
            yield Case(profile, unseen)


def too_thin(profile: Profile) -> Iterator[Case]:
    for age in (6.0, 12.0):
        yield Case(profile, request_for(profile, age, given=Given(dry_matter_fraction=0.10)))


def stalled(**condition: object) -> Callable[[Profile], Iterator[Case]]:
    """A bird of each stage whose weights stand still."""

    def cases(profile: Profile) -> Iterator[Case]:
        for age in stage_ages(profile):
            still = Lately(no_gain=True)
            yield Case(profile, request_for(profile, age, condition=well(profile, **condition), lately=still))

    return cases


def weaning_loss(profile: Profile) -> Iterator[Case]:
    """A bird that picks at food, or is fed to be weaned, and has lost too much of its peak, as told or as recorded."""
    limit = profile.weaning.loss_limit_fraction
    for age in stage_ages(profile):
        mass = expected_mass_g(profile, age)
        for key in (MilestoneKey.PICKS_AT_FOOD, MilestoneKey.SELF_FEEDS_SOME, MilestoneKey.SELF_FEEDS_ALL):
            eats = (MilestoneSeen(key=key, seen=True),)
            yield Case(profile, request_for(profile, age, milestones=eats, lately=Lately(weaning_loss=True)))
            if limit is not None:
                peak = mass / (1 - limit.value - 0.01)
                yield Case(profile, request_for(profile, age, milestones=eats, peak_mass_g=peak))
        yield Case(profile, request_for(profile, age, lately=Lately(being_weaned=True, weaning_loss=True)))


def weaned_unweighed(profile: Profile) -> Iterator[Case]:
    eats = (MilestoneSeen(key=MilestoneKey.SELF_FEEDS_SOME, seen=True),)
    for age in stage_ages(profile):
        yield Case(profile, request_for(profile, age, mass_g=None, milestones=eats))


def slipped_decimal(profile: Profile) -> Iterator[Case]:
    for age in stage_ages(profile):
        for factor in (0.1, 10.0):
            mass = factor * expected_mass_g(profile, age)
            yield Case(profile, request_for(profile, age, mass_g=mass))


def clock_change(profile: Profile) -> Iterator[Case]:
    nights = FeedingDay(first=time(20, 0), last=time(6, 0))
    changes = {
        "Europe/Lisbon": (date(2027, 3, 27), date(2027, 10, 30)),
        "America/New_York": (date(2027, 3, 13), date(2027, 11, 6)),
        "Australia/Lord_Howe": (date(2027, 4, 3), date(2027, 10, 2)),
    }
    for zone, evenings in changes.items():
        for evening in evenings:
            for age in stage_ages(profile):
                asked = request_for(profile, age, on=evening, time_zone=zone, feeding_day=nights)
                yield Case(profile, asked, MORNING.replace(month=evening.month, day=evening.day))
