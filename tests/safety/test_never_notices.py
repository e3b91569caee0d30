"""Each `never` notices a plan gone wrong; a predicate that is always silent would guard nothing."""

from collections.abc import Callable
from dataclasses import dataclass

import msgspec
import pytest

from api.birds.rules.words import Origin
from api.plans.rules.plan import Decision, FeedingPlan, FirstStep, Vet
from api.plans.rules.request import PlanRequest
from api.web.rules.cautions import Caution, Severity
from species.domain.profile import Profile
from tests.safety import never
from tests.safety.birds import plan_for, profiles, request_for

PROFILES = {profile.key: profile for profile in profiles()}
PARROT, OWL = PROFILES["nymphicus-hollandicus"], PROFILES["tyto-alba"]


@dataclass(frozen=True)
class Asked:
    profile: Profile
    request: PlanRequest


def change(**values: object) -> Callable[[FeedingPlan], FeedingPlan]:
    return lambda plan: msgspec.structs.replace(plan, **values)


def part(name: str, **values: object) -> Callable[[FeedingPlan], FeedingPlan]:
    return lambda plan: msgspec.structs.replace(plan, **{name: msgspec.structs.replace(getattr(plan, name), **values)})


def cautioned(text: str) -> Callable[[FeedingPlan], FeedingPlan]:
    return change(cautions=(Caution(code="any", severity=Severity.NOTE, text=text),))


NEEDLE = FirstStep(code="fluids", text="Give it.", fluid="lactated_ringers", volume_ml=1.0, route="subcutaneous")


@pytest.mark.parametrize(
    ("check", "told", "spoil"),
    [
        (never.food, {}, change()),
        (never.by_mouth, {}, change(first_steps=(NEEDLE,), feed=None, formula=None, timetable=())),
        (never.no_vet, {}, change(vet=Vet(needed=False))),
        (never.no_vet, {}, change(vet=Vet(needed=True, within_h=48.0, reasons=("late",)))),
        (never.endless_wait, {}, change(decision=Decision.WAIT_FOR_CROP, look_again_at=None)),
        (never.unlooked_first_feed, {}, change(checks=())),
        (never.large_first_feed, {}, part("feed", volume_ml=9.0)),
        (never.full_portion_without_mass, {"mass_g": None}, part("feed", provisional=False)),
        (never.full_portion_without_mass, {"mass_g": None}, part("feed", volume_ml=20.0)),
        (never.younger_stage, {}, part("stage", key="hatchling")),
        (never.younger_stage, {}, part("formula", dry_matter_fraction=0.20)),
        (never.younger_stage, {}, part("brooder", target_c=37.0)),
        (never.refeeding, {}, part("feed", volume_ml=4.0)),
        (never.slurry, {}, change()),
        (never.overfilled, {}, part("feed", volume_ml=10.5)),
        (never.overfilled, {}, part("feed", high_ml=10.5)),
        (never.burning, {}, part("temperature", target_c=41.5)),
        (never.burning, {}, part("temperature", target_c=37.0)),
        (never.burning, {}, part("temperature", never_above_c=43.0)),
        (never.thin_plan, {}, part("formula", dry_matter_fraction=0.19)),
        (never.seven_percent, {}, part("formula", dry_matter_fraction=0.07)),
        (never.tube_first, {}, part("feed", methods=("tube", "spoon"))),
        (never.needle, {}, change(first_steps=(NEEDLE,))),
        (never.rewarmed, {}, change(cautions=())),
        (never.rewarmed, {}, cautioned("Re-warm what is left.")),
        (never.drug, {}, cautioned("Give 20 mg twice a day.")),
        (never.silent_heat_source, {}, part("brooder", advice=())),
        (never.lawless, {"origin": Origin.WILD}, change(cautions=())),
    ],
)
def test_a_spoilt_plan_is_noticed(check, told, spoil):
    request = request_for(PARROT, 12.0, **({"mass_g": 100.0} | told))
    plan = plan_for(PARROT, request)
    assert check(Asked(PARROT, request), spoil(plan)) is not None


def test_a_crop_rule_is_noticed_where_there_is_no_crop():
    request = request_for(OWL, 12.0)
    plan = plan_for(OWL, request)
    assert never.crop_rule(Asked(OWL, request), plan) is None
    assert never.crop_rule(Asked(OWL, request), part("feed", stop_when="crop_rounded")(plan)) is not None
    assert never.crop_rule(Asked(OWL, request), change(decision=Decision.WAIT_FOR_CROP)(plan)) is not None
