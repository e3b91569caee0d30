"""What the reader must know beside the numbers."""

import msgspec
import pytest

from api.birds.rules.words import (
    Aim,
    Alertness,
    BodyCondition,
    Certainty,
    Crop,
    Droppings,
    Hydration,
    Origin,
    Rearing,
    Sign,
)
from api.plans.rules.cautions import BROODER_ADVICE, cautions, is_light
from api.plans.rules.plan import Age, Decision, Mass
from api.plans.rules.request import Condition, PlanRequest
from api.web.rules.cautions import Caution, Severity
from species.domain.profile import ProfileCaution
from species.domain.sourcing import Evidence, Reach
from tests.safety.birds import TODAY, pack

PROFILES = {profile.key: profile for profile in pack().profiles}
COCKATIEL = PROFILES["nymphicus-hollandicus"]
AGE_DAYS = 9.0


def saying(*told: ProfileCaution):
    """A profile with these cautions and no others."""
    return msgspec.structs.replace(COCKATIEL, cautions=told)


def said(code: str, **days: float) -> ProfileCaution:
    return ProfileCaution(code=code, text="In its own words.", reach=Reach.SPECIES, sources=("HRB p.1",), **days)


def gathered(profile=COCKATIEL, decision=Decision.FEED, mass_g=50.0, plan=None, **told):
    age = Age(days=AGE_DAYS, basis="given", low_days=AGE_DAYS, high_days=AGE_DAYS)
    request = PlanRequest(on=TODAY, age_days=AGE_DAYS, mass_g=mass_g, **({"origin": Origin.CAPTIVE} | told))
    mass = Mass(value_g=mass_g, basis="measured", expected_g=50.0, low_g=40.0, high_g=60.0, centile=None)
    options = {"feathered": False, "slurry": True} | (plan or {})
    return cautions(profile, request, decision=decision, age=age, mass=mass, **options)


def codes(*args, **kwargs):
    return [caution.code for caution in gathered(*args, **kwargs)]


def test_the_usual_ones_stand_under_every_feed():
    found = codes()
    assert {"ask_a_vet", "hygiene", "discard_leftovers", "measure_in_syringe", "stop_when_it_coughs"} <= set(found)
    assert len(found) == len(set(found))


def test_no_feed_no_talk_of_feeding():
    found = set(codes(decision=Decision.WARM_FIRST))
    assert not {"discard_leftovers", "measure_in_syringe", "stop_when_it_coughs"} & found
    assert {"ask_a_vet", "hygiene"} <= found


def test_solid_food_has_no_syringe():
    assert "measure_in_syringe" not in codes(plan={"slurry": False})


@pytest.mark.parametrize(("origin", "times"), [(Origin.WILD, 1), (Origin.UNKNOWN, 1), (Origin.CAPTIVE, 0)])
def test_the_law_once_hazard_35(origin, times):
    assert codes(origin=origin).count("law_and_licence") == times


def test_the_profiles_own_come_with_their_sources_at_their_ages():
    profile = saying(
        said("any"), said("earlier", to_day=9.0), said("now", from_day=9.0, to_day=10.0), said("later", from_day=10)
    )
    found = {caution.code: caution for caution in gathered(profile)}
    assert {"any", "now"} <= set(found)
    assert not {"earlier", "later"} & set(found)
    assert found["now"].sources == ("HRB p.1",)


@pytest.mark.parametrize(
    ("told", "plan", "code", "severity"),
    [
        ({"condition": Condition(body_condition=BodyCondition.EMACIATED)}, {}, "refeed_slowly", "urgent"),
        ({"condition": Condition(body_condition=BodyCondition.THIN)}, {}, "thin", "act_today"),
        ({"condition": Condition(hydration=Hydration.MILD)}, {}, "dehydrated", "act_today"),
        ({"condition": Condition(crop=Crop.RESIDUE)}, {}, "crop_slow", "act_today"),
        ({"mass_g": 35.0}, {"feathered": True}, "light_for_milestones", "act_today"),
        ({"mass_g": 35.0}, {}, "low_for_age", "act_today"),
        ({"mass_g": None}, {"provisional": True}, "provisional", "act_today"),
        ({"species_certainty": Certainty.PROBABLE}, {}, "species_doubtful", "act_today"),
        ({"rearing": Rearing.TOPPED_UP}, {}, "top_up_only", "note"),
        ({}, {"curve_to_day": 8.0}, "age_beyond_curve", "note"),
        ({"origin": Origin.WILD}, {}, "imprinting", "note"),
        ({"aim": Aim.RELEASE}, {}, "imprinting", "note"),
        ({"origin": Origin.WILD}, {}, "no_kitchen_food", "note"),
    ],
)
def test_each_comes_with_its_cause_and_not_without(told, plan, code, severity):
    found = {caution.code: caution for caution in gathered(plan=plan, **told)}
    assert found[code].severity == severity
    assert code not in codes()


def test_a_usual_caution_is_said_once_and_in_the_species_words_where_it_has_them():
    found = [c for c in gathered(saying(said("imprinting")), origin=Origin.WILD) if c.code == "imprinting"]
    assert [c.text for c in found] == ["In its own words."]
    assert "imprinting" not in codes(saying(said("imprinting")))
    assert "imprinting" not in codes(saying(said("never_alone")), origin=Origin.WILD)


def test_parents_first_is_nothing_to_a_bird_from_a_cage():
    assert "parents_first" in codes(saying(said("parents_first")), origin=Origin.WILD)
    assert "parents_first" not in codes(saying(said("parents_first")), origin=Origin.CAPTIVE)


def test_a_fledgling_from_outside_may_have_parents_hazard_16():
    wild = {"origin": Origin.WILD, "plan": {"feathered": True}}
    assert "parents_first" in codes(saying(), **wild)
    assert "parents_first" not in codes(saying(), origin=Origin.WILD)
    assert "parents_first" not in codes(saying(), first_feed_in_care=False, **wild)


def test_kitchen_food_is_warned_of_at_the_start_of_care():
    assert "no_kitchen_food" not in codes(origin=Origin.WILD, first_feed_in_care=False)


def test_an_inferred_profile_says_so_hazard_32():
    inferred = msgspec.structs.replace(COCKATIEL, evidence=Evidence.INFERRED)
    assert "inferred_profile" in codes(inferred)
    assert "inferred_profile" not in codes()


def test_the_most_urgent_stands_first_and_keeps_its_hour():
    hot = Caution(code="too_hot", severity=Severity.URGENT, act_within_h=1.0, text="Too hot.")
    found = gathered(plan={"given": (hot,)}, condition=Condition(body_condition=BodyCondition.THIN))
    assert found[0] == hot
    order = [Severity.URGENT, Severity.ACT_TODAY, Severity.NOTE]
    ranks = [order.index(caution.severity) for caution in found]
    assert ranks == sorted(ranks)


def test_one_or_two_sentences_each():
    """A tired reader: no caution of ours has more than two sentences and a remark."""
    own = {statement.code for statement in COCKATIEL.cautions}
    for caution in gathered(origin=Origin.WILD, mass_g=30.0, plan={"feathered": True}):
        if caution.code not in own:
            assert len(caution.text) <= 220, caution.code


@pytest.mark.parametrize(
    ("mass_g", "expected_g", "low_g", "light"),
    [(35, 50, 30, True), (38, 50, 30, False), (38, 50, 40, True), (None, 50, 40, False), (35, None, None, False)],
)
def test_light(mass_g, expected_g, low_g, light):
    assert is_light(mass_g=mass_g, expected_g=expected_g, low_g=low_g) is light


def test_brooder_advice_names_the_sources_of_heat_that_kill_hazard_34():
    advice = " ".join(BROODER_ADVICE)
    for word in ("PTFE", "candling lamp", "hot-water bottle", "thermometer"):
        assert word in advice


@pytest.mark.parametrize(
    ("condition", "code"),
    [
        pytest.param(Condition(alertness=Alertness.QUIET), "quiet", id="quiet-HRB_p617"),
        pytest.param(Condition(droppings=Droppings.NONE_SINCE_FEED), "no_droppings", id="none_since_feed-HRB_p430"),
        pytest.param(Condition(droppings=Droppings.WATERY), "abnormal_droppings", id="watery-common_practice"),
        pytest.param(Condition(signs=(Sign.SPLAYED_LEGS,)), "limb_deformity", id="splayed_legs-common_practice"),
    ],
)
def test_what_was_seen_is_answered_the_same_day(condition, code):
    (caution,) = [c for c in gathered(condition=condition) if c.code == code]
    assert caution.severity is Severity.ACT_TODAY
    assert code not in codes()


def test_the_fill_of_a_crop_that_is_not_there_is_asked_about():
    """Owls have none: HRB pp.8, 491."""
    full = Condition(crop=Crop.FULL)
    assert "no_crop" in codes(PROFILES["tyto-alba"], condition=full)
    assert "no_crop" not in codes(condition=full)


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        pytest.param({"aim": Aim.RELEASE, "brood_size": 1}, {"reared_alone", "imprinting"}, id="alone-HRB_p340"),
        pytest.param({"aim": Aim.BREEDING, "brood_size": 1}, {"reared_alone", "imprinting"}, id="alone_to_breed"),
        pytest.param({"aim": Aim.COMPANION, "brood_size": 1}, set(), id="alone_companion"),
        pytest.param({"aim": Aim.COMPANION, "brood_size": 4}, {"one_of_a_brood"}, id="brood-common_practice"),
    ],
)
def test_company(told, expected):
    assert set(codes(**told)) & {"reared_alone", "imprinting", "one_of_a_brood"} == expected


def test_a_wild_bird_is_not_advised_to_be_kept():
    """Hazard 35."""
    said_of = {
        aim: next(c for c in gathered(aim=aim, origin=Origin.WILD) if c.code == "law_and_licence") for aim in Aim
    }
    assert "not reared to be kept" in said_of[Aim.COMPANION].text
    assert "not reared to be kept" in said_of[Aim.BREEDING].text
    assert "not reared to be kept" not in said_of[Aim.RELEASE].text
