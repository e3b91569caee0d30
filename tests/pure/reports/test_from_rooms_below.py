"""What a report takes from plans and assessments: nothing is lost or turned on the way, for every profile there is."""

import math
import re
from datetime import datetime, timedelta

import msgspec
import pytest

from api.birds.rules.words import Body
from api.growth.rules.assessment import assess
from api.plans.rules.plan import FEEDING, Decision
from api.reports.rules.from_growth import weights_drawn
from api.reports.rules.from_plan import plan_seen
from api.reports.rules.seen import BirdSeen
from species.domain.vocabulary import Portion
from tests.pure.growth import birds as growing
from tests.pure.reports.morning import bird, number
from tests.safety.birds import fed_by_hand, plan_for, profiles, request_for, stage_ages, well


def fields_of(plan) -> dict:
    return {name: getattr(plan, name) for name in plan.__struct_fields__}


PLANS = [(profile, age_days) for profile in profiles() if fed_by_hand(profile) for age_days in stage_ages(profile)]


@pytest.mark.parametrize(("profile", "age_days"), PLANS, ids=lambda value: getattr(value, "key", value))
def test_every_plan_makes_a_bird_of_a_report(profile, age_days):
    plan = plan_for(profile, request_for(profile, age_days))
    seen: BirdSeen = msgspec.structs.replace(bird(), **plan_seen(fields_of(plan)))
    assert seen.decision is plan.decision
    assert [at.isoformat() for at in seen.timetable] == list(plan.timetable)
    assert bool(seen.portion) is (plan.decision in FEEDING)
    if plan.feed is None:
        return
    amounts = [float(text) for text in re.findall(r"([\d.]+) (?:mL|g)\b", seen.portion)]
    told = {
        Portion.SLURRY: [plan.feed.volume_ml],
        Portion.SOLID: [plan.feed.mass_g],
        Portion.MIXED: [plan.feed.volume_ml, plan.feed.mass_g],
    }[plan.feed.portion]
    assert amounts == [amount for amount in told if amount is not None]


def test_a_cold_bird_has_no_portion_and_says_who_has_to_see_it():
    profile = next(one for one in profiles() if one.key == "nymphicus-hollandicus")
    plan = plan_for(profile, request_for(profile, 9.0, condition=well(profile, body=Body.COLD)))
    seen = plan_seen(fields_of(plan))
    assert (seen["decision"], seen["portion"], seen["timetable"]) == (Decision.WARM_FIRST, "", ())


def test_a_portion_without_a_weight_says_so():
    profile = next(one for one in profiles() if one.key == "nymphicus-hollandicus")
    seen = plan_seen(fields_of(plan_for(profile, request_for(profile, 9.0, mass_g=None))))
    assert seen["portion"].endswith("mL (not weighed)")


def assessed(*weights):
    weighings = tuple(
        growing.Weighing(at=growing.HATCHED + timedelta(days=day), mass_g=mass_g, index=n)
        for n, (day, mass_g) in enumerate(weights)
    )
    asked = growing.GrowthAsked(weighings=weighings, time_zone="Etc/UTC", hatched_at=growing.HATCHED)
    return assess(growing.COCKATIEL, asked)


def test_the_figures_of_a_chart_are_those_of_its_last_believed_weighing():
    assessment = assessed((6.0, 16.0), (7.0, 19.5), (8.0, 23.0), (9.0, 270.0))
    drawn = weights_drawn(number(1), assessment)
    assert [mass_g for _, mass_g in drawn.weighings] == [16.0, 19.5, 23.0]
    # growth.md: logistic, A = 89.126 g, k = 0.2207 /d, inflection at 13.332 d, here at 8 d.
    assert drawn.expected_g == pytest.approx(89.126 / (1 + math.exp(-0.2207 * (8.0 - 13.332))), rel=0.01)
    assert drawn.low_g < drawn.expected_g < drawn.high_g


def test_nothing_believed_is_no_chart():
    assessment = assessed((8.0, 23.0), (9.0, 26.0))
    doubted = tuple(msgspec.structs.replace(point, state="questioned") for point in assessment.points)
    assert weights_drawn(number(1), msgspec.structs.replace(assessment, points=doubted)) is None


def test_times_of_a_plan_keep_their_offset():
    profile = next(one for one in profiles() if one.key == "nymphicus-hollandicus")
    plan = plan_for(profile, request_for(profile, 9.0, time_zone="Europe/Lisbon"))
    first = plan_seen(fields_of(plan))["timetable"][0]
    assert first.utcoffset() == datetime.fromisoformat(plan.timetable[0]).utcoffset() == timedelta(hours=1)
