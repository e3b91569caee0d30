"""``basis`` of an assessment tells the truth: the named rule, called with the inputs shown, gives the value shown."""

import json
import random
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from typing import Any

import msgspec
import pytest

from api.birds.rules.words import Context
from api.catalog.rules.known import Known
from api.growth.rules.asked import GrowthAsked, Weighing
from api.growth.rules.assessment import assess
from api.growth.serializers.assessments import AssessmentOut
from species import builtin
from species.biology import growth_forms
from species.biology.weighing_errors import IndependentNoise
from species.domain.profile import Profile
from species.packs.check import check_pack

HATCHED = datetime(2027, 4, 20, 6, 0, tzinfo=UTC)


def profiles() -> list[Profile]:
    checked = check_pack(builtin.folder())
    assert checked.pack is not None
    return [profile for profile in checked.pack.profiles if profile.growth_curve is not None]


def asked(profile: Profile, draw: random.Random) -> GrowthAsked:
    curve = profile.growth_curve
    first = curve.valid_from_day + 1
    parameters = (curve.asymptote_g.value, curve.rate_per_day.value, curve.inflection_days.value)
    weighings = []
    for n in range(draw.randint(1, 12)):
        mass_g = float(growth_forms.mass_g(curve.form, first + n, *parameters)) * draw.uniform(0.85, 1.1)
        slip = draw.choice((1, 1, 1, 1, 1, 1, 10))
        weighings.append(
            Weighing(
                at=HATCHED + timedelta(days=first + n),
                mass_g=round(mass_g * slip, 1),
                context=draw.choice(list(Context)),
                index=n,
            )
        )
    return GrowthAsked(weighings=tuple(weighings), time_zone="Etc/UTC", hatched_on=date(2027, 4, 20))


def shown(assessment: Any) -> dict[str, Any]:
    whole = {**msgspec.structs.asdict(assessment), "computed_by": {"revision": 1, "build": "test"}}
    return json.loads(json.dumps(AssessmentOut(whole).data))


def at(answer: dict[str, Any], pointer: str) -> Any:
    found: Any = answer
    for step in pointer.removeprefix("/").split("/"):
        found = found[int(step)] if isinstance(found, list) else found[step]
    return found


def rule_named(name: str) -> Any:
    module, _, function = name.rpartition(".")
    return getattr(import_module(f"api.{module}"), function)


@pytest.mark.parametrize("profile", profiles(), ids=lambda profile: profile.key)
def test_rule_named_gives_the_value_shown(profile):
    draw = random.Random(20261125)
    for residual in ({}, {"residual": IndependentNoise}):
        for _ in range(4):
            answer = shown(assess(Known(profile=profile), asked(profile, draw), **residual))
            fields = {entry["field"] for entry in answer["basis"]}
            assert {f"/curve/{name}" for name in answer["curve"]} - fields == {"/curve/form", "/curve/settled"}
            assert {"/status", "/forecast"} <= fields
            for entry in answer["basis"]:
                again = json.loads(msgspec.json.encode(rule_named(entry["rule"])(**entry["inputs"])))
                assert again == entry["value"], entry["rule"]
                assert at(answer, entry["field"]) == entry["value"], entry["field"]


def test_the_last_weighing_believed_has_its_reasons():
    profile = next(profile for profile in profiles() if profile.key == "columba-livia")
    told = asked(profile, random.Random(5))
    answer = shown(assess(Known(profile=profile), told))
    last = max(n for n, point in enumerate(answer["points"]) if point["state"] == "accepted")
    fields = {
        entry["field"].split("/")[-1] for entry in answer["basis"] if entry["field"].startswith(f"/points/{last}/")
    }
    assert fields == {"expected_g", "low_g", "high_g", "centile", "z", "conditional_expected_g", "conditional_z"}
