"""Rows 13 and 14 for birds without a profile: no amounts for an unknown diet, no slurry for a swallow."""

from itertools import product

import pytest

from api.birds.rules.words import Body, Hydration, Origin
from api.catalog.rules.unlisted import inferred_profile
from api.plans.rules.plan import Decision
from api.plans.rules.planning import feeding_plan
from api.plans.rules.request import Condition, PlanRequest
from tests.safety.birds import MORNING, TODAY, pack, profiles

SWIFT = next(profile for profile in profiles() if profile.key == "apus-apus")
ORDERS = {
    "Apodiformes": 40.0,
    "Charadriiformes": 150.0,
    "Cuculiformes": 110.0,
    "Passeriformes": 20.0,
    "Piciformes": 80.0,
    "Procellariiformes": 400.0,
    "Psittaciformes": 300.0,
}
MODES = ("altricial", "semi_altricial", "semi_precocial", "precocial")
STATES = (
    Condition(),
    Condition(body=Body.WARM, hydration=Hydration.NORMAL),
    Condition(body=Body.COLD, hydration=Hydration.MODERATE),
)


def plan(inferred, condition, **told):
    request = PlanRequest(on=TODAY, age_days=6.0, condition=condition, origin=Origin.WILD, **told)
    return feeding_plan(
        inferred,
        request,
        now=MORNING,
        formula=None,
        foods={food.key: food for food in pack().foods},
    )


@pytest.mark.parametrize(("order", "mode"), list(product(ORDERS, MODES)))
def test_row_13_no_guild_no_amounts(order, mode):
    unknown = inferred_profile(
        scientific_name="Avis ignota", order=order, adult_mass_g=ORDERS[order], developmental_mode=mode
    )
    for condition in STATES:
        found = plan(unknown, condition)
        assert found.decision is Decision.IDENTIFY_FIRST
        assert found.feed is found.formula is None
        assert found.timetable == ()
        codes = [step.code for step in found.first_steps]
        assert "identify" in codes
        assert ("warm" in codes) == (condition.body is not Body.WARM)
        assert ("fluids" in codes) == (condition.hydration is not Hydration.NORMAL)


def test_row_14_a_swallow_gets_insects_or_a_name_first_never_slurry():
    swallow = inferred_profile(
        scientific_name="Hirundo rustica",
        order="Passeriformes",
        adult_mass_g=19.0,
        developmental_mode="altricial",
        food_guild="aerial_insectivore",
        practice=SWIFT,
    )
    for condition in STATES[:2]:
        found = plan(swallow, condition, mass_g=8.0)
        assert found.decision in {Decision.FEED, Decision.IDENTIFY_FIRST}
        assert found.formula is None
        if found.feed is not None:
            assert found.feed.portion == "solid"
            assert {item.food for item in found.feed.items} <= set(SWIFT.stages[0].foods)
