"""Which comes first. The whole table runs in tests/safety; here each word alone, and where two words meet."""

import pytest

from api.birds.rules.words import Sign
from api.plans.rules import gate
from api.plans.rules.plan import Decision

PARROT = {
    "identified": True,
    "guild_has_practice": True,
    "species_certainty": "certain",
    "feeding_kind": "slurry",
    "developmental_mode": "altricial",
    "food_guild": "granivore",
    "has_crop": True,
    "age_h": 240.0,
    "first_feed_low_h": 8.0,
    "yolk_absorbed": None,
    "feathered": False,
    "grown": False,
    "feeds_itself": False,
    "mass_g": 50.0,
    "expected_g": 50.0,
    "origin": "captive",
    "rearing": "hand",
    "first_feed_in_care": False,
    "body": "warm",
    "hydration": "normal",
    "dehydration_fraction": None,
    "body_condition": "good",
    "alertness": "bright",
    "swallowing": "strong",
    "crop": "empty",
    "crop_content": None,
    "crop_wall": None,
    "droppings": "normal",
    "signs": [],
    "hours_since_last_feed": 4.0,
    "at_dawn": False,
    "emptying_h": 4.0,
    "longest_wait_h": 6.0,
    "no_gain": None,
}
NOTHING_TOLD = {
    "body": "unknown",
    "hydration": "unknown",
    "body_condition": "unknown",
    "alertness": None,
    "swallowing": "unknown",
    "crop": "unknown",
    "droppings": None,
    "hours_since_last_feed": None,
}
FLEDGLING = {"origin": "wild", "first_feed_in_care": None, "hours_since_last_feed": None, "feathered": True}


def decide(**seen):
    return gate.decide(**(PARROT | seen))


@pytest.mark.parametrize(
    ("seen", "decision"),
    [
        pytest.param({}, "feed", id="well"),
        pytest.param({"body": "cold"}, "warm_first", id="cold-HRB_p5"),
        pytest.param({"body": "cool"}, "warm_first", id="cool-HRB_p333"),
        pytest.param({"body": "hot"}, "cool_first", id="hot-HRB_p101"),
        pytest.param({"body": "hot", "signs": ["open_mouth_breathing"]}, "cool_first", id="pants_from_heat"),
        pytest.param({"body": "hot", "signs": ["open_mouth_breathing", "wound"]}, "see_vet", id="pants_and_hurt"),
        pytest.param({"signs": ["open_mouth_breathing"]}, "see_vet", id="pants_and_not_hot-HRB_p2"),
        pytest.param({"hydration": "moderate"}, "fluids_first", id="dry-HRB_p5"),
        pytest.param({"hydration": "mild"}, "feed", id="mildly_dry"),
        pytest.param({"hydration": "normal", "dehydration_fraction": 0.08}, "fluids_first", id="dry_by_share-memory"),
        pytest.param({"hydration": "severe"}, "see_vet", id="very_dry-HRB_p9"),
        pytest.param({"swallowing": "none"}, "see_vet", id="does_not_swallow-HRB_p9"),
        pytest.param({"alertness": "unresponsive"}, "see_vet", id="unresponsive-HRB_p9"),
        pytest.param({"alertness": "weak"}, "see_vet", id="weak_and_nothing_explains_it"),
        pytest.param({"alertness": "weak", "body": "cold"}, "warm_first", id="weak_from_cold"),
        pytest.param({"swallowing": "weak", "hydration": "moderate"}, "fluids_first", id="weak_from_thirst"),
        pytest.param({"droppings": "bloody"}, "see_vet", id="blood"),
        pytest.param({"crop": "distended"}, "see_vet", id="distended-HRB_p616"),
        pytest.param({"crop": "partly_full", "crop_content": "air"}, "see_vet", id="air"),
        pytest.param(
            {"crop": "full", "crop_content": "fluid", "hours_since_last_feed": 1.0}, "wait_for_crop", id="fluid_given"
        ),
        pytest.param(
            {"crop": "full", "crop_content": "fluid", "hours_since_last_feed": 2.5}, "see_vet", id="fluid-HRB_p593"
        ),
        pytest.param({"crop": "partly_full", "hours_since_last_feed": 3.0}, "feed", id="food_by_day-APN_DON18"),
        pytest.param({"crop": "partly_full", "hours_since_last_feed": 4.5}, "wait_for_crop", id="slow-ZWE"),
        pytest.param({"crop": "partly_full", "at_dawn": True}, "wait_for_crop", id="not_empty_at_dawn-APN"),
        pytest.param({"crop": "full", "hours_since_last_feed": 3.0}, "wait_for_crop", id="full_by_day"),
        pytest.param({"crop": "full", "hours_since_last_feed": 7.0}, "see_vet", id="beyond_longest_wait-ZWE"),
        pytest.param({"crop": "not_emptied", "hours_since_last_feed": None}, "wait_for_crop", id="not_emptied"),
        pytest.param({"crop": "not_emptied", "no_gain": True}, "see_vet", id="full_and_no_gain-RG86"),
        pytest.param(
            {"crop": "full", "no_gain": True, "hours_since_last_feed": None}, "see_vet", id="full_by_nothing-RG86"
        ),
        pytest.param({"crop": "full", "no_gain": True, "at_dawn": True}, "see_vet", id="full_at_dawn_no_gain-RG86"),
        pytest.param(
            {"crop": "full", "no_gain": True, "hours_since_last_feed": 0.5}, "wait_for_crop", id="just_fed_no_gain"
        ),
        pytest.param({"crop": "residue", "no_gain": True}, "feed", id="residue_and_no_gain-HRB593"),
        pytest.param(
            {"crop": "partly_full", "food_guild": "crop_milk", "hours_since_last_feed": None},
            "wait_for_crop",
            id="dove_nearly_empty_first-HRB_p446",
        ),
        pytest.param(
            {"crop": "partly_full", "food_guild": "crop_milk", "feathered": True, "crop_content": "seed"},
            "self_feeding",
            id="dove_with_seed-C18",
        ),
        pytest.param({"has_crop": False, "crop": "full", "hours_since_last_feed": 9.0}, "feed", id="no_crop-HRB_p8"),
        pytest.param({"age_h": 2.0}, "wait_for_yolk", id="hatchling_parrot"),
        pytest.param({"age_h": 5.0, "first_feed_low_h": 1.0}, "feed", id="hatchling_songbird-memory"),
        pytest.param({"age_h": 2.0, "yolk_absorbed": True}, "feed", id="belly_flat_navel_dry"),
        pytest.param({"mass_g": None}, "weigh_first", id="no_mass-APN_ZWE"),
        pytest.param({"mass_g": None, "rearing": "topped_up"}, "weigh_first", id="no_mass_topped_up"),
        pytest.param({"rearing": "topped_up"}, "top_up", id="topped_up"),
        pytest.param({"feeding_kind": "self_feeding"}, "self_feeding", id="duckling-HRB_p9"),
        # Fowl and pheasants eat all day and go about with full crops: common practice, no source.
        pytest.param({"feeding_kind": "self_feeding", "crop": "full"}, "self_feeding", id="chick_that_ate"),
        pytest.param(
            {"feeding_kind": "self_feeding", "crop": "full", "at_dawn": True}, "wait_for_crop", id="chick_full_at_dawn"
        ),
        pytest.param({"feeding_kind": "self_feeding", "crop": "not_emptied"}, "wait_for_crop", id="chick_not_emptied"),
        pytest.param({"body_condition": "emaciated", "hydration": "unknown"}, "fluids_first", id="emaciated-HRB_p352"),
        pytest.param({"body_condition": "emaciated"}, "feed", id="emaciated_and_rehydrated-HRB_p352"),
        pytest.param({"body_condition": "emaciated", "mass_g": 34.0}, "see_vet", id="emaciated_30_percent_down"),
        pytest.param({"identified": False}, "identify_first", id="unknown-HRB_p513"),
        pytest.param({"guild_has_practice": False}, "identify_first", id="no_practice-HRB_p513"),
        pytest.param({"species_certainty": "unknown"}, "identify_first", id="a_guess-HRB_p513"),
        pytest.param({"species_certainty": "probable"}, "feed", id="probable"),
        pytest.param(FLEDGLING, "return_to_parents", id="fledgling-HRB_p486"),
        pytest.param(FLEDGLING | {"alertness": "quiet"}, "feed", id="quiet_fledgling"),
        pytest.param(FLEDGLING | {"alertness": None}, "feed", id="fledgling_nobody_looked_at"),
        pytest.param(FLEDGLING | {"first_feed_in_care": False}, "feed", id="fledgling_in_care"),
        pytest.param(FLEDGLING | {"origin": "captive"}, "feed", id="captive_fledgling"),
        pytest.param(FLEDGLING | {"mass_g": 34.0}, "feed", id="light_fledgling"),
        pytest.param(FLEDGLING | {"food_guild": "aerial_insectivore"}, "feed", id="grounded_swift"),
        pytest.param(
            NOTHING_TOLD | {"origin": "wild", "first_feed_in_care": True}, "rest_first", id="new_arrival-HRB_p333"
        ),
        pytest.param(NOTHING_TOLD | {"origin": "wild", "first_feed_in_care": None}, "feed", id="nothing_told"),
        pytest.param(NOTHING_TOLD | {"first_feed_in_care": True}, "feed", id="nothing_told_captive"),
        pytest.param(
            NOTHING_TOLD | {"origin": "wild", "first_feed_in_care": True, "body": "warm"}, "feed", id="looked_at"
        ),
    ],
)
def test_what_comes_first(seen, decision):
    assert decide(**seen).decision == decision


PRECEDENCE = [
    ("see_vet", {"signs": ["bleeding"]}),
    ("identify_first", {"identified": False}),
    ("warm_first", {"body": "cold"}),
    ("fluids_first", {"hydration": "moderate"}),
    ("wait_for_yolk", {"age_h": 2.0}),
    ("wait_for_crop", {"crop": "not_emptied"}),
    ("return_to_parents", {"origin": "wild", "first_feed_in_care": True, "feathered": True}),
    ("weigh_first", {"mass_g": None}),
    ("top_up", {"rearing": "topped_up"}),
]


def test_precedence_is_the_contracts():
    """Everything from a word on is wrong at once, and the word still wins."""
    for position, (word, _) in enumerate(PRECEDENCE):
        seen: dict = {"hours_since_last_feed": None}
        for _, wrong in PRECEDENCE[position:]:
            seen |= wrong
        if word == "return_to_parents":
            seen["rearing"] = "hand"  # a bird that its parents feed is not handed back to them
        assert decide(**seen).decision == word
    order = list(Decision)
    assert [order.index(Decision(word)) for word, _ in PRECEDENCE] == sorted(
        order.index(Decision(word)) for word, _ in PRECEDENCE
    )


@pytest.mark.parametrize("sign", list(Sign))
def test_every_sign_is_a_vet_the_same_day(sign):
    """HRB p.2."""
    answer = decide(signs=[sign.value])
    assert answer.decision == ("feed" if sign is Sign.SPLAYED_LEGS else "see_vet")
    assert answer.vet.needed
    assert answer.vet.within_h is not None
    assert answer.vet.within_h <= 12
    assert answer.vet.reasons


@pytest.mark.parametrize(
    "told", [{"crop_wall": "leaking"}, {"crop_wall": "blistered"}, {"crop_content": "foreign_object"}], ids=str
)
def test_a_burn_or_a_swallowed_thing_is_one_without_a_crop_too(told):
    """RIV08; HRB p.593."""
    assert decide(has_crop=False, crop="no_crop", **told).decision == "see_vet"


@pytest.mark.parametrize(
    ("mass_g", "feathered", "needed"),
    [
        pytest.param(34.0, True, True, id="32_percent_down-HRB_p487"),
        pytest.param(36.0, True, False, id="28_percent_down-HRB_p487"),
        pytest.param(24.0, False, True, id="unfeathered_under_half-memory"),
        pytest.param(34.0, False, False, id="unfeathered_two_thirds-memory"),
    ],
)
def test_a_vet_knows_of_a_very_light_bird_and_it_is_fed_meanwhile(mass_g, feathered, needed):
    answer = decide(mass_g=mass_g, feathered=feathered)
    assert (answer.decision, answer.vet.needed) == ("feed", needed)


def test_no_naked_nestling_feeds_itself_whatever_was_told():
    """Common practice, no source: a slip of the thumb must not leave a naked chick before a dish."""
    assert decide(feeds_itself=True, feathered=False).decision == "feed"
    assert decide(feeds_itself=True, feathered=True).decision == "self_feeding"
    owlet = {"developmental_mode": "semi_altricial", "has_crop": False, "crop": "no_crop"}
    assert decide(feeds_itself=True, feathered=False, **owlet).decision == "self_feeding"


def test_the_soonest_flag_sets_the_hours_and_all_are_told():
    answer = decide(signs=["eye_injury", "bleeding"], crop_wall="red")
    assert answer.vet.within_h == 1
    assert len(answer.vet.reasons) == 3
    assert "bleeds" in answer.vet.reasons[0]


def test_a_vet_may_stand_beside_another_word():
    answer = decide(crop="full", at_dawn=True, hours_since_last_feed=None)
    assert (answer.decision, answer.vet.needed) == ("wait_for_crop", True)
    assert decide(droppings="green").decision == "feed"
    assert decide(droppings="green").vet.needed


@pytest.mark.parametrize(
    ("since", "empties", "wait"),
    [(3.0, 4.0, 1.0), (3.8, 4.0, 0.5), (5.5, 4.0, 0.5), (None, None, 1.0), (1.0, 4.0, 3.0)],
)
def test_a_wait_for_the_crop_ends_with_its_emptying_or_with_the_longest_wait(since, empties, wait):
    answer = decide(crop="full", hours_since_last_feed=since, emptying_h=empties)
    assert answer.look_again_after_h == pytest.approx(wait)


def test_the_wait_for_the_yolk_ends_when_the_first_feed_is_due():
    assert decide(age_h=2.0).look_again_after_h == pytest.approx(6.0)


def test_no_dropping_matters_only_once_a_feed_had_time_to_pass():
    """HRB p.430 (gulls: none after one or two feeds)."""
    assert not decide(droppings="none_since_feed", hours_since_last_feed=1.0).vet.needed
    assert decide(droppings="none_since_feed", hours_since_last_feed=4.5).vet.needed


def test_words_agree_with_the_whole_answer():
    inputs = PARROT | {"crop": "full", "at_dawn": True, "hours_since_last_feed": 3.0}
    whole = gate.decide(**inputs)
    assert gate.decision(**inputs) == whole.decision
    assert gate.vet(**inputs) == whole.vet
    assert gate.look_again_after_h(**inputs) == whole.look_again_after_h
