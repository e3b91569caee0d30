"""docs/safety/hazards.md, row by row, on every built-in profile a row concerns: the specification of the plan.

Each row holds the requests it speaks of, the decisions it allows, and what must never come out. A `never`
gives back what is wrong, or nothing.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import msgspec
import pytest

from api.alerts.rules.outcomes import Death, outcome_looks
from api.birds.rules.words import (
    Alertness,
    Body,
    BodyCondition,
    Crop,
    CropWall,
    Hydration,
    Origin,
    OutcomeKind,
    Sign,
    Swallowing,
)
from api.plans.rules.plan import Decision, FeedingPlan
from api.plans.rules.request import Condition, Given
from species.domain.errors import DomainError
from species.domain.profile import Profile
from species.domain.sourcing import Evidence
from species.domain.vocabulary import DevelopmentalMode, FeedingKind, FoodGuild
from tests.safety import never
from tests.safety.birds import altered, fed_by_hand, plan_for, profiles, request_for
from tests.safety.cases import (
    Case,
    aged,
    clock_change,
    diet_unknown,
    doubtful_hawker,
    each,
    found_fledgling,
    full_at_dawn,
    hatching_unseen,
    hours_old,
    light_and_feathered,
    nothing_told,
    seen,
    slipped_decimal,
    stalled,
    stays_full,
    too_thin,
    unseen_fledgling,
    weaned_unweighed,
    weaning_loss,
)

D = Decision
#: What a bird that is well may get at any age, by its kind and by what was told.
WELL = frozenset({D.FEED, D.WEIGH_FIRST, D.SELF_FEEDING, D.WAIT_FOR_YOLK, D.TOP_UP})
HAZARDS = Path(__file__).parents[2] / "docs" / "safety" / "hazards.md"


@dataclass(frozen=True)
class Row:
    """One hazard: its birds, what may be decided, and what must never come out."""

    number: int
    what: str
    given: Callable[[Profile], Iterator[Case]]
    allowed: frozenset[Decision]
    never: Callable[[Case, FeedingPlan], str | None]
    concerns: Callable[[Profile], bool] = lambda profile: True
    refused: str | None = None


def silence(code: str, severity: str | None = None) -> Callable[[Case, FeedingPlan], str | None]:
    """What is wrong with a plan that lacks a caution."""

    def check(case: Case, plan: FeedingPlan) -> str | None:
        found = [c for c in plan.cautions if c.code == code]
        if not found:
            return f"silent about {code}"
        if severity is not None and found[0].severity != severity:
            return f"{code} is only {found[0].severity}"
        return None

    return check


def no_vet_today(case: Case, plan: FeedingPlan) -> str | None:
    within_h = plan.vet.within_h
    return None if plan.vet.needed and within_h is not None and within_h <= 24 else "no vet today"


def warmer_brooder(case: Case, plan: FeedingPlan) -> str | None:
    warm = plan_for(case.profile, request_for(case.profile, case.request.age_days))
    if plan.brooder and warm.brooder and plan.brooder.target_c is not None:
        assert warm.brooder.target_c is not None
        if plan.brooder.target_c > warm.brooder.target_c:
            return "a warmer brooder"
    return "told to warm it" if any(step.code == "warm" for step in plan.first_steps) else None


def more_on_a_residue(case: Case, plan: FeedingPlan) -> str | None:
    empty = plan_for(case.profile, request_for(case.profile, case.request.age_days))
    if plan.feed and empty.feed and plan.feed.volume_ml is not None and empty.feed.volume_ml is not None:
        return "a larger volume" if plan.feed.volume_ml > empty.feed.volume_ml else None
    return None


def feed_dropped(case: Case, plan: FeedingPlan) -> str | None:
    return "a feed dropped" if plan.weaning.drop_feed is not None else None


def not_a_step_back(case: Case, plan: FeedingPlan) -> str | None:
    return feed_dropped(case, plan) or (None if plan.weaning.phase == "step_back" else f"{plan.weaning.phase}")


def intervals_broken(case: Case, plan: FeedingPlan) -> str | None:
    if plan.feed is None:
        return None
    gaps = [
        (datetime.fromisoformat(later) - datetime.fromisoformat(earlier)).total_seconds() / 60
        for earlier, later in pairwise(plan.timetable)
    ]
    # The longest wait is a rule of the day; the shortest holds at night too.
    by_day = gaps[: len(gaps) - plan.feed.night_feeds]
    short = [gap for gap in gaps if gap < plan.feed.interval_low_min - 1]
    long = [gap for gap in by_day if gap > plan.feed.max_wait_min + 1]
    return f"gaps {gaps} outside {plan.feed.interval_low_min}-{plan.feed.max_wait_min}" if short or long else None


def no_crop(profile: Profile) -> bool:
    return not profile.has_crop.value


def has_crop(profile: Profile) -> bool:
    return profile.has_crop.value


def order(name: str) -> Callable[[Profile], bool]:
    return lambda profile: profile.order == name


def has_slurry(profile: Profile) -> bool:
    return profile.feeding_kind in {FeedingKind.SLURRY, FeedingKind.MIXED}


ROWS = (
    Row(1, "cold", seen(body=Body.COLD), frozenset({D.WARM_FIRST, D.SEE_VET}), never.food),
    Row(
        1,
        "cold and everything else wrong",
        each(
            seen(body=Body.COLD, hydration=Hydration.SEVERE, swallowing=Swallowing.NONE),
            seen(body=Body.COLD, body_condition=BodyCondition.EMACIATED, alertness=Alertness.WEAK),
            seen(body=Body.COLD, crop=Crop.DISTENDED),
            aged(condition=Condition(body=Body.COLD), mass_g=None, first_feed_in_care=True),
        ),
        frozenset({D.WARM_FIRST, D.SEE_VET}),
        never.food,
    ),
    Row(
        2,
        "hot, panting",
        each(seen(body=Body.HOT), seen(body=Body.HOT, signs=(Sign.OPEN_MOUTH_BREATHING,))),
        frozenset({D.COOL_FIRST, D.SEE_VET}),
        lambda case, plan: never.food(case, plan) or warmer_brooder(case, plan),
    ),
    Row(
        3,
        "dry",
        each(
            seen(hydration=Hydration.MODERATE),
            seen(hydration=Hydration.SEVERE),
            seen(hydration=Hydration.UNKNOWN, dehydration_fraction=0.08),
            seen(hydration=Hydration.UNKNOWN, dehydration_fraction=0.12),
        ),
        frozenset({D.FLUIDS_FIRST, D.SEE_VET}),
        never.food,
    ),
    Row(
        3,
        "dry and not swallowing",
        seen(hydration=Hydration.MODERATE, swallowing=Swallowing.NONE),
        frozenset({D.SEE_VET}),
        never.by_mouth,
    ),
    Row(
        4,
        "not awake or not swallowing",
        each(
            seen(alertness=Alertness.UNRESPONSIVE),
            seen(swallowing=Swallowing.NONE),
            aged(condition=Condition(swallowing=Swallowing.NONE)),
        ),
        frozenset({D.SEE_VET}),
        never.by_mouth,
    ),
    Row(
        5,
        "red flag",
        each(*(seen(signs=(sign,)) for sign in Sign if sign is not Sign.SPLAYED_LEGS)),
        frozenset({D.SEE_VET}),
        never.no_vet,
    ),
    Row(5, "legs splay", seen(signs=(Sign.SPLAYED_LEGS,)), WELL, no_vet_today),
    Row(
        5,
        "crop wall",
        each(*(seen(crop_wall=wall) for wall in CropWall if wall is not CropWall.NORMAL)),
        frozenset({D.SEE_VET}),
        never.no_vet,
    ),
    Row(
        6,
        "crop full at dawn",
        each(full_at_dawn, seen(crop=Crop.NOT_EMPTIED)),
        frozenset({D.WAIT_FOR_CROP, D.SEE_VET}),
        lambda case, plan: never.food(case, plan) or never.endless_wait(case, plan),
        has_crop,
    ),
    Row(
        7,
        "first feed, nothing told",
        nothing_told,
        WELL | {D.REST_FIRST, D.RETURN_TO_PARENTS, D.FLUIDS_FIRST},
        lambda case, plan: never.unlooked_first_feed(case, plan) or never.large_first_feed(case, plan),
    ),
    Row(8, "no mass", aged(mass_g=None), WELL - {D.FEED, D.TOP_UP}, never.full_portion_without_mass),
    Row(
        9,
        "light and feathered",
        light_and_feathered,
        frozenset({D.SEE_VET, D.FEED, D.SELF_FEEDING}),
        lambda case, plan: never.younger_stage(case, plan) or silence("light_for_milestones")(case, plan),
        fed_by_hand,
    ),
    Row(
        10,
        "emaciated",
        each(
            seen(body_condition=BodyCondition.EMACIATED),
            seen(body_condition=BodyCondition.EMACIATED, hydration=Hydration.UNKNOWN),
            seen(body_condition=BodyCondition.EMACIATED, hydration=Hydration.MILD),
        ),
        frozenset({D.FLUIDS_FIRST, D.SEE_VET, D.FEED}),
        never.refeeding,
    ),
    Row(
        11,
        "parrot of two hours",
        hours_old(2),
        frozenset({D.WAIT_FOR_YOLK}),
        never.food,
        order("Psittaciformes"),
    ),
    Row(
        12,
        "songbird of five hours",
        hours_old(5),
        frozenset({D.FEED}),
        lambda case, plan: None,
        order("Passeriformes"),
    ),
    Row(13, "diet unknown", diet_unknown, frozenset({D.IDENTIFY_FIRST}), never.food),
    Row(
        14,
        "insect-eater of the air, species in doubt",
        doubtful_hawker,
        frozenset({D.FEED, D.IDENTIFY_FIRST}),
        never.slurry,
        lambda profile: profile.food_guild is FoodGuild.AERIAL_INSECTIVORE,
    ),
    Row(
        15,
        "precocial",
        aged(),
        frozenset({D.SELF_FEEDING}),
        never.food,
        lambda profile: profile.developmental_mode is DevelopmentalMode.PRECOCIAL,
    ),
    Row(
        16,
        "fledgling on the ground",
        found_fledgling,
        frozenset({D.RETURN_TO_PARENTS}),
        never.food,
        lambda p: fed_by_hand(p) and p.food_guild is not FoodGuild.AERIAL_INSECTIVORE,
    ),
    Row(
        16,
        "fledgling nobody has looked at",
        unseen_fledgling,
        WELL | {D.REST_FIRST, D.RETURN_TO_PARENTS},
        silence("parents_first"),
        fed_by_hand,
    ),
    Row(17, "well", aged(), WELL, never.overfilled, has_slurry),
    Row(17, "grown", aged(400.0), WELL, never.overfilled, has_slurry),
    Row(18, "no crop", aged(), WELL, never.crop_rule, no_crop),
    Row(
        18,
        "no crop, crop told",
        each(seen(crop=Crop.FULL), seen(crop=Crop.NOT_EMPTIED)),
        WELL,
        never.crop_rule,
        no_crop,
    ),
    Row(19, "well", aged(), WELL, never.burning),
    Row(20, "given hot", aged(given=Given(temperature_c=42.5)), WELL, silence("too_hot", "urgent"), has_slurry),
    Row(20, "given cool", aged(given=Given(temperature_c=36.5)), WELL, silence("too_cool"), has_slurry),
    Row(
        21,
        "given thin",
        too_thin,
        WELL,
        silence("too_dilute", "urgent"),
        lambda p: has_slurry(p) and p.food_guild is not FoodGuild.NECTARIVORE,
    ),
    Row(21, "well", aged(), WELL, never.thin_plan, has_slurry),
    Row(
        22,
        "first days",
        each(aged(0.5), aged(1.0), aged(3.0), hatching_unseen),
        WELL,
        never.seven_percent,
        has_slurry,
    ),
    Row(
        23,
        "slow crop",
        seen(crop=Crop.RESIDUE),
        WELL | {D.WAIT_FOR_CROP, D.SEE_VET},
        more_on_a_residue,
        has_crop,
    ),
    Row(
        23,
        "no gain, slow crop",
        stalled(crop=Crop.RESIDUE),
        WELL | {D.WAIT_FOR_CROP, D.SEE_VET},
        lambda case, plan: more_on_a_residue(case, plan) or no_vet_today(case, plan),
        has_crop,
    ),
    Row(
        23,
        "no gain, crop not felt",
        stalled(crop=Crop.UNKNOWN),
        WELL | {D.SEE_VET},
        more_on_a_residue,
        has_crop,
    ),
    Row(24, "no gain, not emptied", stalled(crop=Crop.NOT_EMPTIED), frozenset({D.SEE_VET}), never.food, has_crop),
    Row(24, "no gain, full", stalled(crop=Crop.FULL), frozenset({D.SEE_VET}), never.food, has_crop),
    Row(24, "crop stays full", stays_full, frozenset({D.SEE_VET}), never.food, has_crop),
    Row(25, "well", each(aged(), aged(carer_skill="trained")), WELL, never.tube_first),
    Row(
        26,
        "dry",
        each(seen(hydration=Hydration.SEVERE), seen(hydration=Hydration.MODERATE)),
        frozenset({D.FLUIDS_FIRST, D.SEE_VET}),
        never.needle,
    ),
    Row(27, "well", aged(), WELL, never.rewarmed),
    Row(
        28,
        "ill in every way",
        each(*(seen(signs=(sign,)) for sign in Sign), seen(hydration=Hydration.MODERATE), aged()),
        frozenset(D),
        never.drug,
    ),
    Row(29, "weaning loss", weaning_loss, frozenset(D), not_a_step_back, fed_by_hand),
    Row(29, "weaned and not weighed", weaned_unweighed, frozenset(D), feed_dropped, fed_by_hand),
    Row(30, "slipped decimal", slipped_decimal, frozenset(), never.food, refused="implausible_weight"),
    Row(31, "clock change", clock_change, WELL, intervals_broken),
    Row(
        32,
        "inferred",
        lambda p: iter(Case(altered(p, evidence=Evidence.INFERRED), c.request) for c in aged()(p)),
        WELL,
        silence("inferred_profile"),
    ),
    Row(34, "well", aged(), WELL, never.silent_heat_source),
    Row(
        35,
        "wild",
        each(aged(origin=Origin.WILD), aged(origin=Origin.UNKNOWN)),
        WELL | {D.RETURN_TO_PARENTS},
        never.lawless,
    ),
)

CASES = [
    pytest.param(row, profile, id=f"row-{row.number:02d}-{row.what.replace(' ', '_')}-{profile.key}")
    for row in ROWS
    for profile in profiles()
    if row.concerns(profile)
]


@pytest.mark.parametrize(("row", "profile"), CASES)
def test_hazard(row: Row, profile: Profile) -> None:
    for case in row.given(profile):
        told = msgspec.json.encode(case.request).decode()
        if row.refused:
            with pytest.raises(DomainError) as refusal:
                plan_for(case.profile, case.request, now=case.now)
            assert refusal.value.code == row.refused
            continue
        plan = plan_for(case.profile, case.request, now=case.now)
        assert plan.decision in row.allowed, f"{plan.decision} because {plan.vet.reasons} for {told}"
        assert (wrong := row.never(case, plan)) is None, f"{wrong} for {told}"


@pytest.mark.parametrize(("apart_h", "told"), [(48, True), (49, False)], ids=["row-33-together", "row-33-apart"])
def test_deaths_that_lie_together(apart_h: int, told: bool) -> None:
    """No plan's matter: what is recorded of a site. Over HTTP in tests/api/alerts/test_record_alerts.py."""
    first = datetime.fromisoformat("2027-05-02T06:00:00+01:00")
    deaths = [
        Death(bird=name, at=at, kind=OutcomeKind.DIED, admitted_at=first - timedelta(days=9))
        for name, at in (("one", first), ("two", first + timedelta(hours=apart_h)))
    ]
    found = [finding for look in outcome_looks(deaths) for finding in look.findings]
    assert [(finding.code, finding.severity) for finding in found] == [("cluster_of_deaths", "urgent")] * told


def test_every_row_is_tested_or_said_to_come_later() -> None:
    rows = re.findall(r"^\| (\d+) \|.*\| ([^|]+) \|$", HAZARDS.read_text("utf-8"), re.MULTILINE)
    assert [int(number) for number, _ in rows] == list(range(1, 36))
    tested = {row.number for row in ROWS} | {33}
    for number, test in rows:
        later = "later issue" in HAZARDS.read_text("utf-8").splitlines()[_line(int(number))]
        assert (int(number) in tested and f"row-{int(number):02d}" in test) or later


def _line(number: int) -> int:
    lines = HAZARDS.read_text("utf-8").splitlines()
    return next(i for i, line in enumerate(lines) if line.startswith(f"| {number} |"))


def test_every_row_meets_a_profile() -> None:
    """A row without a bird would pass unseen."""
    met = {case.values[0].number for case in CASES}  # type: ignore[union-attr]
    assert met == {row.number for row in ROWS}
