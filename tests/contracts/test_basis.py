"""``basis`` tells the truth: the named rule, called with the inputs shown, gives the value in the plan.

Two hundred plans drawn by a fixed seed over every built-in profile, with ages, masses and conditions from the
wholly usual to the barely possible.
"""

import json
import random
from datetime import UTC, date, datetime
from functools import cache
from importlib import import_module
from typing import Any

import msgspec
import pytest

from api.catalog.rules.known import Known
from api.plans.rules.planning import feeding_plan
from api.plans.rules.request import PlanRequest
from api.plans.serializers.plan_shape import FeedingPlanOut
from species import builtin
from species.domain.errors import DomainError
from species.domain.pack import Pack
from species.packs.check import check_pack

PLANS = 200
SEED = 20261125
NOW = datetime(2027, 5, 2, 9, 0, tzinfo=UTC)
ZONES = ("Etc/UTC", "Europe/Lisbon", "Australia/Lord_Howe", "America/St_Johns")
#: Days on which a clock changes somewhere in the zones above, and one on which none does.
DAYS = (date(2027, 3, 28), date(2027, 4, 4), date(2027, 5, 2), date(2027, 10, 31), date(2027, 11, 7))
BODIES = ("warm", "warm", "warm", "warm", "cool", "unknown", "cold")
CROPS = ("empty", "empty", "empty", "residue", "unknown", "no_crop", "full")


@cache
def pack() -> Pack:
    checked = check_pack(builtin.folder())
    assert checked.pack is not None
    return checked.pack


def told(draw: random.Random, number: int) -> tuple[str, dict[str, Any]]:
    profile = pack().profiles[number % len(pack().profiles)]
    adult_g = profile.masses.adult_g.value
    known: dict[str, Any] = {
        "on": draw.choice(DAYS),
        "time_zone": draw.choice(ZONES),
        "age_days": round(draw.uniform(0.2, 45), 1),
        "condition": {
            "body": draw.choice(BODIES),
            "hydration": draw.choice(("normal", "normal", "normal", "mild", "unknown")),
            "crop": draw.choice(CROPS),
            "body_condition": draw.choice(("good", "good", "thin", "emaciated", "unknown")),
            "alertness": "bright",
            "swallowing": "strong",
        },
        "origin": draw.choice(("wild", "captive")),
        "first_feed_in_care": draw.choice((True, False, None)),
    }
    if draw.random() < 0.85:
        known["mass_g"] = round(draw.uniform(0.08, 0.9) * adult_g, 1)
    if draw.random() < 0.5:
        known["feeding_day"] = {
            "first": draw.choice(("06:00:00", "07:30:00")),
            "last": draw.choice(("20:00:00", "00:30:00")),
        }
    if draw.random() < 0.3:
        known["given"] = {"dry_matter_fraction": round(draw.uniform(0.05, 0.4), 2), "volume_ml": 4.0}
    if draw.random() < 0.3:
        known["start_from"] = draw.choice(("11:10:00", "18:45:00"))
    return profile.key, known


def plan_of(key: str, known: dict[str, Any]) -> dict[str, Any] | None:
    """The plan as it leaves the service; none where such a bird is refused."""
    profile = next(profile for profile in pack().profiles if profile.key == key)
    formula = next((one for one in pack().formulas if one.key == profile.default_formula), None)
    foods = {food.key: food for food in pack().foods}
    try:
        plan = feeding_plan(
            Known(profile=profile), msgspec.convert(known, PlanRequest), now=NOW, formula=formula, foods=foods
        )
    except DomainError:
        return None
    shown = FeedingPlanOut({**msgspec.structs.asdict(plan), "computed_by": {"revision": 1, "build": "test"}}).data
    return json.loads(json.dumps(shown))


@cache
def plans() -> list[tuple[str, dict[str, Any]]]:
    draw, found, number = random.Random(SEED), [], 0
    while len(found) < PLANS:
        key, known = told(draw, number)
        number += 1
        plan = plan_of(key, known)
        if plan is not None:
            found.append((f"{key}, {json.dumps(known, default=str)}", plan))
    assert number < 2 * PLANS, "Most of what is drawn should be a bird that can be."
    return found


def at(plan: dict[str, Any], pointer: str) -> Any:
    found: Any = plan
    for step in pointer.removeprefix("/").split("/"):
        found = found[int(step)] if isinstance(found, list) else found[step]
    return found


def rule_named(name: str) -> Any:
    module, _, function = name.rpartition(".")
    return getattr(import_module(f"api.{module}" if module.startswith("plans.") else module), function)


def test_rule_named_in_each_basis_gives_the_value_in_the_plan():
    checked = 0
    for bird, plan in plans():
        for entry in plan["basis"]:
            again = json.loads(msgspec.json.encode(rule_named(entry["rule"])(**entry["inputs"])))
            where = f"{entry['field']} of {bird}"
            assert again == entry["value"], f"{entry['rule']} gives another value for {where}"
            assert at(plan, entry["field"]) == entry["value"], f"the plan says otherwise at {where}"
            checked += 1
    assert checked > 5 * PLANS


@pytest.mark.parametrize(
    "pointer",
    [
        "/feed/volume_ml",
        "/feed/mass_g",
        "/feed/feeds_per_day",
        "/formula/dry_matter_fraction",
        "/energy/need_kj_per_day",
        "/energy/planned_kj_per_day",
        "/mass/expected_g",
        "/stage/key",
        "/timetable",
        "/expected_gain/next_day_g",
        "/weaning/phase",
    ],
)
def test_numbers_that_feed_a_bird_have_a_reason_wherever_they_stand(pointer):
    shown = 0
    for bird, plan in plans():
        try:
            value = at(plan, pointer)
        except TypeError:  # within a null
            continue
        if value in (None, []):
            continue
        shown += 1
        assert pointer in {entry["field"] for entry in plan["basis"]}, bird
    assert shown


def test_every_profile_and_most_decisions_were_drawn():
    assert {plan["species"]["key"] for _, plan in plans()} == {profile.key for profile in pack().profiles}
    assert len({plan["decision"] for _, plan in plans()}) >= 6


def test_inputs_are_plain_json_and_name_no_unknown_field():
    for _, plan in plans():
        for entry in plan["basis"]:
            assert json.loads(json.dumps(entry["inputs"])) == entry["inputs"]
            assert not entry["rule"].startswith("api.")
