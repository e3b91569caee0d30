"""What must never come out, searched over ages, masses, powders and states of the bird (rows marked H)."""

from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from api.birds.rules.words import Alertness, Body, BodyCondition, Crop, Hydration, Origin, Swallowing
from api.kitchen.rules.powders import Powder
from api.plans.rules.plan import FEEDING
from api.plans.rules.request import Condition, PlanRequest
from species.domain.errors import DomainError
from species.domain.profile import Profile
from species.domain.vocabulary import Skill
from tests.safety import never
from tests.safety.birds import expected_mass_g, plan_for, profiles, request_for

#: Refusals that are right answers to a mass that cannot be: no plan is made from it.
REFUSED = frozenset({"implausible_weight", "too_small_to_measure"})

#: Every row whose `never` is searched; a predicate is silent where its row does not apply to what was asked.
ROWS = {
    7: lambda case, plan: never.large_first_feed(case, plan) if case.request.first_feed_in_care else None,
    8: never.full_portion_without_mass,
    9: never.younger_stage,
    10: lambda case, plan: never.refeeding(case, plan) if case.emaciated and case.request.mass_g else None,
    17: never.overfilled,
    18: never.crop_rule,
    19: never.burning,
    21: lambda case, plan: None if case.recovering else never.thin_plan(case, plan),
    22: lambda case, plan: None if case.recovering else never.seven_percent(case, plan),
    25: never.tube_first,
    26: never.needle,
}


@dataclass(frozen=True)
class Found:
    """A bird of the search."""

    profile: Profile
    request: PlanRequest

    @property
    def emaciated(self) -> bool:
        return self.request.condition.body_condition is BodyCondition.EMACIATED

    @property
    def recovering(self) -> bool:
        seen = self.request.condition
        return self.emaciated or seen.crop is Crop.RESIDUE or seen.hydration is Hydration.MILD


POWDERS = st.builds(
    Powder,
    dry_matter_fraction=st.floats(0.85, 0.97),
    energy_kj_per_g_dm=st.floats(10, 25),
    bulk_density_g_per_ml=st.none(),
)
#: States that mostly let a feed pass, for it is feeds that the search is after; the table holds the others.
CONDITIONS = st.builds(
    Condition,
    body=st.sampled_from([Body.WARM, Body.UNKNOWN]),
    hydration=st.sampled_from([Hydration.NORMAL, Hydration.NORMAL, Hydration.MILD, Hydration.UNKNOWN]),
    body_condition=st.sampled_from(BodyCondition),
    alertness=st.sampled_from([None, Alertness.BRIGHT, Alertness.QUIET]),
    swallowing=st.sampled_from([Swallowing.STRONG, Swallowing.UNKNOWN]),
    crop=st.sampled_from([Crop.EMPTY, Crop.RESIDUE, Crop.UNKNOWN, Crop.PARTLY_FULL]),
)


@st.composite
def requests(draw, profile: Profile) -> PlanRequest:
    age = draw(st.floats(0, 80) | st.floats(0, 6) | st.sampled_from([0.0, 4.0, 400.0]))
    factor = draw(st.none() | st.floats(0.3, 2.0) | st.just(1.0))
    return request_for(
        profile,
        age,
        mass_g=None if factor is None else factor * expected_mass_g(profile, age),
        powder=draw(st.none() | POWDERS),
        condition=draw(CONDITIONS),
        first_feed_in_care=draw(st.sampled_from([None, False, True])),
        origin=draw(st.sampled_from(Origin)),
        carer_skill=draw(st.sampled_from(Skill)),
    )


@pytest.mark.parametrize("profile", profiles(), ids=lambda profile: profile.key)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_never(profile: Profile, data: st.DataObject) -> None:
    case = Found(profile, data.draw(requests(profile)))
    try:
        plan = plan_for(case.profile, case.request)
    except DomainError as refusal:
        assume(refusal.code not in REFUSED)
        raise
    assert (plan.feed is not None) == (plan.decision in FEEDING)
    wrong = {row: said for row, check in ROWS.items() if (said := check(case, plan)) is not None}
    assert not wrong
