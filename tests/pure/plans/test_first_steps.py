"""Steps before any food."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.birds.rules.words import Alertness, Body, BodyCondition, Crop, Hydration, Sign, Swallowing
from api.plans.rules.first_steps import first_steps, oral_fluid_ml
from api.plans.rules.plan import Decision
from api.plans.rules.request import Condition, PlanRequest
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError
from species.domain.sourcing import Band, Reach
from species.domain.vocabulary import Skill
from tests.safety.birds import TODAY, pack

PROFILES = {profile.key: profile for profile in pack().profiles}
SPARROW, COCKATIEL, OWL = (PROFILES[k] for k in ("passer-domesticus", "nymphicus-hollandicus", "tyto-alba"))
DRY = Condition(body=Body.WARM, hydration=Hydration.MODERATE, swallowing=Swallowing.STRONG)


def steps(profile, condition, decision, *, mass_g=20.0, skill=Skill.UNTRAINED, brooder_c=None, ledger=None):
    request = PlanRequest(on=TODAY, age_days=5.0, mass_g=mass_g, condition=condition, carer_skill=skill)
    return first_steps(profile, request, decision=decision, brooder_c=brooder_c, ledger=ledger or Ledger())


def codes(*args, **kwargs):
    return [step.code for step in steps(*args, **kwargs)]


@pytest.mark.parametrize(
    ("mass_g", "fraction", "low_ml", "high_ml"),
    [
        pytest.param(20, 0.025, 0.5, 1.0, id="C36_gaping_20_g-HRB_p8"),
        pytest.param(20, 0.05, 0.5, 1.0, id="C36_gaping_20_g_top-HRB_p8"),
        pytest.param(20, 0.01, 0.2, 0.5, id="C36_gavage_20_g-HRB_p8"),
        pytest.param(20, 0.025, 0.2, 0.5, id="C36_gavage_20_g_top-HRB_p8"),
    ],
)
def test_a_dose_lies_in_the_printed_band(mass_g, fraction, low_ml, high_ml):
    assert low_ml <= oral_fluid_ml(mass_g=mass_g, fraction=fraction) <= high_ml


@given(st.floats(0.2, 5000), st.floats(0.005, 0.05))
def test_a_dose_never_passes_its_share_and_is_a_mark_of_a_syringe(mass_g, fraction):
    dose = oral_fluid_ml(mass_g=mass_g, fraction=fraction)
    assert dose <= max(mass_g * fraction, 0.01) + 1e-9
    assert dose <= 0.05 * mass_g + 1e-9
    mark = 0.01 if dose < 0.5 else 0.1
    assert dose / mark == pytest.approx(round(dose / mark))


@pytest.mark.parametrize(
    ("mass_g", "fraction"),
    [(0.1, 0.05), (0.0, 0.02), (float("nan"), 0.02), (float("inf"), 0.02), (20, 0.06), (20, 0.0)],
)
def test_a_dose_outside_its_limits_is_refused(mass_g, fraction):
    with pytest.raises(DomainError):
        oral_fluid_ml(mass_g=mass_g, fraction=fraction)


def test_a_dry_songbird_gets_small_doses_into_the_gape():
    """HRB p.8: drops every 15 to 20 minutes, 2.5 to 5 % of mass; two or three doses are from memory."""
    ledger = Ledger()
    (fluids,) = steps(SPARROW, DRY, Decision.FLUIDS_FIRST, ledger=ledger)
    assert (fluids.code, fluids.route, fluids.skill, fluids.fluid) == (
        "fluids",
        "into_gape",
        "untrained",
        "oral_electrolyte",
    )
    assert 0.5 <= fluids.volume_ml <= 1.0
    assert 15 <= fluids.repeat_after_min <= 20
    assert fluids.times in (2, 3)
    assert "dropping" in fluids.stop_when
    (entry,) = ledger.entries()
    assert (entry.field, entry.value) == ("/first_steps/0/volume_ml", fluids.volume_ml)
    assert oral_fluid_ml(**entry.inputs) == entry.value


def test_route_goes_by_group_and_skill():
    """HRB p.8: by tube 1 to 2.5 % of mass to begin with."""
    drops = steps(COCKATIEL, DRY, Decision.FLUIDS_FIRST)[0]
    tube = steps(COCKATIEL, DRY, Decision.FLUIDS_FIRST, skill=Skill.TRAINED)[0]
    assert drops.route == "beak_drops"
    assert (tube.route, tube.skill) == ("crop_tube", "trained")
    assert 0.2 <= tube.volume_ml <= 0.5
    assert steps(OWL, DRY, Decision.FLUIDS_FIRST, skill=Skill.VET)[0].route == "beak_drops"


@pytest.mark.parametrize("swallowing", [Swallowing.WEAK, Swallowing.UNKNOWN])
def test_a_bird_that_may_not_swallow_well_gets_single_drops(swallowing):
    condition = Condition(body=Body.WARM, hydration=Hydration.MODERATE, swallowing=swallowing)
    (fluids,) = steps(SPARROW, condition, Decision.FLUIDS_FIRST, skill=Skill.VET)
    assert fluids.route == "beak_drops"
    assert "first" in fluids.text


@pytest.mark.parametrize(
    "seen",
    [
        pytest.param({"swallowing": Swallowing.NONE}, id="does_not_swallow-HRB_p9"),
        pytest.param({"alertness": Alertness.UNRESPONSIVE}, id="unresponsive-HRB_p9"),
        pytest.param({"signs": (Sign.FOOD_FROM_NOSTRILS,)}, id="food_from_nostrils"),
        pytest.param({"signs": (Sign.SEIZURE,)}, id="seizure"),
        pytest.param({"crop": Crop.DISTENDED}, id="distended"),
        pytest.param({"crop": Crop.NOT_EMPTIED}, id="crop_full"),
    ],
)
def test_nothing_by_mouth(seen):
    condition = Condition(body=Body.COLD, hydration=Hydration.SEVERE, **seen)
    found = steps(COCKATIEL, condition, Decision.SEE_VET)
    assert found[0].code == "call_vet"
    assert "warm" in [step.code for step in found]
    assert all(step.volume_ml is None and step.fluid is None and step.route is None for step in found)


def test_while_a_vet_is_on_the_way():
    hurt = Condition(body=Body.WARM, hydration=Hydration.NORMAL, signs=(Sign.BLEEDING,))
    found = steps(COCKATIEL, hurt, Decision.SEE_VET)
    assert [step.code for step in found] == ["call_vet", "until_the_vet", "until_the_vet"]
    assert "gauze" in found[1].text
    assert "no food" in found[2].text


def test_splayed_legs_are_no_reason_to_starve():
    splayed = Condition(body=Body.WARM, hydration=Hydration.NORMAL, signs=(Sign.SPLAYED_LEGS,))
    assert steps(COCKATIEL, splayed, Decision.FEED) == ()
    bleeding_too = msgspec.structs.replace(splayed, signs=(Sign.SPLAYED_LEGS, Sign.BLEEDING))
    texts = " ".join(step.text for step in steps(COCKATIEL, bleeding_too, Decision.SEE_VET))
    assert "deep cup" in texts
    assert "no food" in texts


def test_warmth_comes_before_fluids_and_fluids_wait_for_it():
    """HRB pp.5, 333."""
    cold_and_dry = Condition(body=Body.COLD, hydration=Hydration.MODERATE, swallowing=Swallowing.STRONG)
    warm, fluids = steps(SPARROW, cold_and_dry, Decision.WARM_FIRST)
    assert (warm.code, fluids.code) == ("warm", "fluids")
    assert fluids.text.startswith("Only once it is warm")
    assert 15 <= warm.look_again_after_min <= 30


def test_warmth_is_the_stages_where_one_is_printed():
    band = Band(low=33.0, high=35.0, reach=Reach.GROUP, sources=("HRB p.675",))
    (warm,) = steps(SPARROW, Condition(body=Body.COLD, hydration=Hydration.NORMAL), Decision.WARM_FIRST, brooder_c=band)
    assert "33 to 35 °C" in warm.text


def test_a_hot_bird_is_never_told_to_warm():
    assert codes(SPARROW, Condition(body=Body.HOT, hydration=Hydration.NORMAL), Decision.COOL_FIRST) == ["cool"]


def test_without_a_mass_no_volume_is_told():
    (fluids,) = steps(SPARROW, DRY, Decision.FLUIDS_FIRST, mass_g=None)
    assert fluids.volume_ml is None
    assert "for each 10 g" in fluids.text


def test_an_unknown_bird_gets_warmth_and_fluids():
    assert codes(SPARROW, Condition(), Decision.IDENTIFY_FIRST) == ["warm", "fluids", "identify"]


def test_an_emaciated_bird_gets_fluids_until_it_is_known_not_to_be_dry():
    starved = Condition(body=Body.WARM, body_condition=BodyCondition.EMACIATED)
    assert codes(SPARROW, starved, Decision.FLUIDS_FIRST) == ["fluids"]
    wet = Condition(body=Body.WARM, body_condition=BodyCondition.EMACIATED, hydration=Hydration.NORMAL)
    assert codes(SPARROW, wet, Decision.FEED) == []


@pytest.mark.parametrize(
    ("decision", "code"),
    [
        (Decision.REST_FIRST, "rest"),
        (Decision.WAIT_FOR_YOLK, "keep_warm"),
        (Decision.WAIT_FOR_CROP, "wait_for_crop"),
        (Decision.RETURN_TO_PARENTS, "return_to_parents"),
        (Decision.SELF_FEEDING, "offer_food"),
        (Decision.WEIGH_FIRST, "weigh"),
    ],
)
def test_every_other_decision_says_what_to_do(decision, code):
    assert codes(SPARROW, Condition(body=Body.WARM, hydration=Hydration.NORMAL), decision) == [code]
