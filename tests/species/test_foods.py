"""The energy of foods and what must be added to them, retyped from the sources beside each check."""

import pytest

from tests.species.builtin_files import KJ_PER_KCAL, food


@pytest.mark.parametrize(
    ("key", "kcal_per_g"),
    [
        pytest.param("mouse", 1.7, id="SACN5 Table 71-5 adult mouse"),
        pytest.param("day_old_chick", 1.3, id="SACN5 Table 71-5 day-old chick"),
        pytest.param("fish_small", 1.0, id="SACN5 Table 71-5 Atlantic smelt"),
    ],
)
def test_printed_energy_of_prey(key, kcal_per_g):
    assert food(key)["energy_kj_per_g"]["value"] == pytest.approx(kcal_per_g * KJ_PER_KCAL, abs=0.01)


@pytest.mark.parametrize(
    ("key", "kcal_per_g"),
    [
        pytest.param("mealworm", 2.05, id="HRB Table 41.1 p.626 mealworm larvae"),
        pytest.param("cricket", 1.40, id="HRB Table 41.1 p.626 crickets, adults"),
        pytest.param("waxmoth_larva", 2.75, id="HRB Table 41.1 p.626 waxworms"),
    ],
)
def test_energy_of_insects_is_below_the_printed_general_value(key, kcal_per_g):
    # Three quarters of gross energy (WIL81) lies below general factors, by at most a fifth.
    ratio = food(key)["energy_kj_per_g"]["value"] / (kcal_per_g * KJ_PER_KCAL)
    assert 0.80 < ratio <= 1.0


def test_energy_of_chicks_agrees_with_another_analysis():
    # LAV94: chick diet 60.0 % protein, 28.1 % fat of dry matter; 4 and 9 kcal/g; 73 % water (SACN5 Table 71-5).
    kcal_per_g = (4 * 0.600 + 9 * 0.281) * (1 - 0.73)
    assert food("day_old_chick")["energy_kj_per_g"]["value"] == pytest.approx(kcal_per_g * KJ_PER_KCAL, rel=0.05)


@pytest.mark.parametrize("key", ["fish_small", "fish_pieces"])
def test_fish_gets_thiamine_and_vitamin_e(key):
    # HRB p.174: thiamine 35 mg and vitamin E 100 mg per kg of fish.
    amounts = {part["substance"]: part.get("mg_per_kg_food") for part in food(key)["supplements"]}
    assert amounts["thiamine"] == 35
    assert amounts["vitamin E"] == 100


def test_boneless_fish_gets_calcium():
    # HRB p.174: 12 g calcium carbonate per kg of deboned fish, 4.8 g of it calcium.
    amounts = {part["substance"]: part.get("mg_per_kg_food") for part in food("fish_pieces")["supplements"]}
    assert amounts["calcium carbonate"] == 12_000
    assert amounts["calcium carbonate"] * 40.08 / 100.09 == pytest.approx(4800, rel=0.01)


@pytest.mark.parametrize(
    "key", ["mealworm", "cricket", "waxmoth_larva", "mouse_skinned", "chick_skinned", "day_old_chick"]
)
def test_insects_and_boneless_meat_get_one_percent_calcium_carbonate(key):
    # HRB p.556 and practice check 32: 50 g of food, 0.5 g CaCO3.
    [calcium] = [p for p in food(key)["supplements"] if p["substance"] == "calcium carbonate"]
    assert calcium["fraction_of_food"] * 50 == pytest.approx(0.5)


def test_whole_mice_need_no_calcium():
    # HRB p.491: feeding whole adult prey avoids the problem.
    assert "supplements" not in food("mouse")
