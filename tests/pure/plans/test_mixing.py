"""The mix against worked examples and against CoolProp. C-numbers: energetics-and-mixing.md, section 5."""

import importlib
from datetime import datetime

import msgspec
import pytest
from CoolProp.CoolProp import PropsSI

from api.plans.rules import mixing
from api.plans.rules.batches import pots
from api.plans.rules.mix_defaults import mix_request
from species.domain.errors import DomainError
from tests.pure.plans.mix_requests import C20_KITCHEN, POWDER_X, mixed

#: A batch of 500 g is given to 0.1 g, so a printed figure comes back within half a step and its own tolerance.
WITHIN_G = 0.15


@pytest.mark.parametrize(
    ("field", "printed"),
    [
        pytest.param("powder_g", 135.87, id="C20 powder"),
        pytest.param("water_g", 364.13, id="C20 water"),
        pytest.param("hot_water_g", 140.08, id="C20 hot water at 80 C"),
        pytest.param("cool_water_g", 224.05, id="C20 cool water at 20 C"),
        pytest.param("hot_water_ml", 144.1, id="C20 hot water mL at 80 C"),
        pytest.param("cool_water_ml", 224.5, id="C20 cool water mL at 20 C"),
    ],
)
def test_c20_half_a_kilogram(field, printed):
    (batch,) = mixed(**C20_KITCHEN).batches
    assert getattr(batch, field) == pytest.approx(printed, abs=WITHIN_G)


def test_c21_a_cold_vessel_takes_hot_water():
    (batch,) = mixed(**C20_KITCHEN, vessel={"heat_capacity_j_per_k": 200.0, "temperature_c": 22.0}).batches
    assert batch.hot_water_g == pytest.approx(154.42, abs=WITHIN_G)
    assert batch.blend_in_pot_c < batch.blend_c


@pytest.mark.parametrize(
    ("hot", "cool", "printed_c"),
    [
        pytest.param((300.0, 80.0), (200.0, 20.0), 56.03, id="C25 300 g at 80 and 200 g at 20 C"),
        pytest.param((100.0, 95.0), (300.0, 15.0), 35.03, id="C25 100 g at 95 and 300 g at 15 C"),
    ],
)
def test_c25_blend(hot, cool, printed_c):
    assert mixing.blend_c(hot[0], cool[0], hot[1], cool[1]) == pytest.approx(printed_c, abs=0.011)


def test_c28_heat_of_hydration_makes_the_mix_warmer():
    kitchen = {
        "hot_water_g": 140.08, "cool_water_g": 224.05, "powder_g": 135.87, "hot_water_c": 80.0, "cool_water_c": 20.0,
        "powder_c": 22.0, "composition": POWDER_X, "vessel_heat_capacity_j_per_k": 0.0, "vessel_c": 40.0,
    }  # fmt: skip
    dry = mixing.final_c(**kitchen, hydration_j_per_g=0.0)
    assert dry == pytest.approx(40.0, abs=0.01)
    assert mixing.final_c(**kitchen, hydration_j_per_g=15.1) - dry == pytest.approx(1.15, abs=0.02)


def test_c31_c32_a_millilitre_of_slurry():
    mass = mixing.batch_mass_g(1000.0, 0.25, POWDER_X, 40.0)
    assert mass == pytest.approx(1072.6, rel=0.001)
    assert mixing.mixed_volume_ml(mass, 0.25, POWDER_X, 40.0) == pytest.approx(1000.0, abs=0.01)


@pytest.mark.parametrize(
    ("altitude_m", "printed_c"),
    [
        pytest.param(0.0, 99.974, id="C33 0 m"),
        pytest.param(1000.0, 96.649, id="C33 1000 m"),
        pytest.param(2000.0, 93.315, id="C33 2000 m"),
        pytest.param(3000.0, 89.972, id="C33 3000 m"),
    ],
)
def test_c33_no_hotter_than_it_boils(altitude_m, printed_c):
    """A thermometer shows tenths: the last tenth at or below boiling is taken, the next is refused."""
    assert mixed(altitude_m=altitude_m).boils_at_c == pytest.approx(printed_c, abs=0.05)
    mixed(altitude_m=altitude_m, hot_water_c=round(printed_c, 1))
    if altitude_m:  # at sea level the next tenth is beyond 100 C and refused for that
        with pytest.raises(DomainError) as refused:
            mixed(altitude_m=altitude_m, hot_water_c=round(printed_c, 1) + 0.1)
        assert (refused.value.field, refused.value.code) == ("/hot_water_c", "above_boiling")
        assert f"{round(printed_c, 1):g}" in refused.value.remedy


@pytest.mark.parametrize(
    ("volume_ml", "printed_min"),
    [pytest.param(100.0, 4.75, id="C34 100 mL"), pytest.param(300.0, 7.73, id="C34 300 mL")],
)
def test_c34_minutes_until_38_c(volume_ml, printed_min):
    assert mixing.minutes_above_low_c(41.0, 38.0, 22.4, volume_ml) == pytest.approx(printed_min, abs=0.05)


def test_c41_powder_is_not_dry_matter():
    assert mixing.mixed_dry_matter_fraction(25.0, 75.0, 0.92) == pytest.approx(0.230, abs=5e-5)
    text = next(caution.text for caution in mixed().cautions if caution.code == "dry_matter_basis")
    assert "23.0 %" in text


def test_coolprop_agrees_where_the_parts_come_to_rest():
    """CoolProp 8: water by IAPWS-95, solids by its own Choi-Okos fluids; nothing of ours but the answer."""
    (batch,) = mixed(**C20_KITCHEN).batches
    solids = {"protein": "FoodProtein", "fat": "FoodFat", "carbohydrate": "FoodCarbohydrate", "fibre": "FoodFiber",
              "ash": "FoodAsh"}  # fmt: skip

    def enthalpy_j_per_g(fluid: str, temperature_c: float) -> float:
        return PropsSI("H", "T", temperature_c + 273.15, "P", 101325.0, fluid) / 1000.0

    def powder_j_per_g(temperature_c: float) -> float:
        wet = POWDER_X["water"] * enthalpy_j_per_g("Water", temperature_c)
        return wet + sum(
            POWDER_X[name] * enthalpy_j_per_g(f"INCOMP::{fluid}", temperature_c) for name, fluid in solids.items()
        )

    before = (
        batch.hot_water_g * enthalpy_j_per_g("Water", 80.0)
        + batch.cool_water_g * enthalpy_j_per_g("Water", 20.0)
        + batch.powder_g * powder_j_per_g(22.0)
    )
    after = batch.water_g * enthalpy_j_per_g("Water", batch.final_c) + batch.powder_g * powder_j_per_g(batch.final_c)
    assert before == pytest.approx(after, abs=0.02 * 3.6 * batch.mass_g)  # 0.02 K of 3.6 J/(g K)
    assert batch.final_c == pytest.approx(40.0, abs=0.1)


PORTIONS = [
    {"label": "a", "volume_ml": 20.0, "dry_matter_fraction": 0.25, "group": "well"},
    {"label": "b", "volume_ml": 10.0, "dry_matter_fraction": 0.30, "group": "sick"},
    {"label": "c", "volume_ml": 15.0, "dry_matter_fraction": 0.30, "group": "well", "count": 2},
    {"label": "d", "volume_ml": 20.0, "dry_matter_fraction": 0.25, "group": "well"},
]


def test_pots_keep_the_feeding_order_and_never_cross_groups():
    batches = mixed(portions=PORTIONS).batches
    assert [(batch.group, batch.dry_matter_fraction, batch.labels) for batch in batches] == [
        ("well", 0.25, ("a", "d")),
        ("sick", 0.30, ("b",)),
        ("well", 0.30, ("c",)),
    ]
    assert [batch.portions_ml for batch in batches] == [40.0, 10.0, 30.0]


def test_thinning_keeps_dry_matter_and_stays_in_the_group():
    """Mass and heat by hand: dry matter is kept, and warm water at the target leaves the target."""
    well, sick = mixed(portions=PORTIONS, thin_in_steps=True, spare_fraction=0.0).batches
    assert (well.labels, sick.labels) == (("c", "a", "d"), ("b",))
    (thinner,) = well.thinning
    assert sick.thinning == ()
    assert thinner.labels == ("a", "d")
    assert (thinner.left_g + thinner.water_g) * 0.25 == pytest.approx(thinner.left_g * 0.30, abs=0.05)
    drawn_g = mixing.batch_mass_g(30.0, 0.30, POWDER_X, 39.5)
    assert well.mass_g == pytest.approx(drawn_g + thinner.left_g, abs=0.1)
    assert thinner.final_c == pytest.approx(39.5, abs=0.1)
    assert 38.0 < thinner.low_final_c < thinner.final_c


def test_three_thicknesses_are_thinned_in_two_steps_thickest_first():
    told = [{"label": str(share), "volume_ml": 30.0, "dry_matter_fraction": share} for share in (0.20, 0.30, 0.25)]
    (batch,) = mixed(portions=told, thin_in_steps=True, spare_fraction=0.0).batches
    assert [batch.dry_matter_fraction, *(step.dry_matter_fraction for step in batch.thinning)] == [0.30, 0.25, 0.20]
    dry_g = sum(mixing.batch_mass_g(30.0, share, POWDER_X, 39.5) * share for share in (0.20, 0.25, 0.30))
    assert batch.powder_g * 0.92 == pytest.approx(dry_g, abs=0.1)


def test_paste_first_has_the_same_balance_its_own_steps_and_a_caution():
    blend, paste = mixed(), mixed(order="paste_first")
    amounts = ("powder_g", "hot_water_g", "cool_water_g", "final_c")
    assert [getattr(blend.batches[0], name) for name in amounts] == [
        getattr(paste.batches[0], name) for name in amounts
    ]
    assert blend.batches[0].paste_c is None
    assert paste.batches[0].paste_c > 50.0
    assert "paste_lumps" in {caution.code for caution in paste.cautions}
    assert "paste_lumps" not in {caution.code for caution in blend.cautions}
    text = " ".join(paste.batches[0].steps)
    assert text.index("paste") < text.index("lump") < text.index("cool water")


def test_the_steps_follow_rule_10_of_practice_in_its_order():
    """5-practice.md rule 10: blend the waters, then the powder, stand two minutes, stir, measure; 38-41, never 42."""
    (batch,) = mixed(prepared_at=datetime.fromisoformat("2027-05-02T01:50:00+05:30")).batches
    text = " ".join(batch.steps)
    order = ["Pour together", "should read", "Only now add the powder", "2 minutes", "Stir again", "in the syringe",
             "Give at 38 to 41 °C", "Above 42 °C never", "Feed Pip", "by 02:50", "Never warm it again"]  # fmt: skip
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_discard_by_is_an_hour_on_with_the_same_offset():
    """HRB p.446: mixed food expires after an hour."""
    answer = mixed(prepared_at=datetime.fromisoformat("2027-05-02T23:30:00-03:30"))
    assert (answer.keep_at_most_min, answer.discard_by) == (60, "2027-05-03T00:30:00-03:30")
    assert mixed().discard_by is None


def test_a_cool_mix_for_water_birds_has_its_own_lower_end():
    """HRB pp.190, 209: flamingos 37 to 38 C, penguins 35 to 37.7 C."""
    answer = mixed(target_c=36.5)
    assert (answer.temperature.low_c, mixed().temperature.low_c) == (35.0, 38.0)
    assert answer.minutes_above_low_c > 0.0
    assert "Give at 35 to 41 °C" in " ".join(answer.batches[0].steps)


def test_leftovers_are_thrown_away_and_never_kept_or_warmed():
    """Hazard 27."""
    text = next(caution.text for caution in mixed().cautions if caution.code == "discard_leftovers")
    assert "Never warm it again" in text
    assert "refrigerator" in text


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"scoop_g": 4.0}, "scoops_are_rough"),
        ({"portions": [{"volume_ml": 1.0, "dry_matter_fraction": 0.25}]}, "made_larger"),
        ({"portions": [{"volume_ml": 9.0, "dry_matter_fraction": 0.25}]}, "needs_fine_scale"),
        ({"portions": [{"volume_ml": 30.0, "dry_matter_fraction": 0.10}]}, "too_dilute"),
        ({"portions": [{"volume_ml": 30.0, "dry_matter_fraction": 0.35}]}, "too_thick"),
        ({"target_c": 36.0}, "too_cool"),
        ({"formula": {"dry_matter_fraction": 0.9}}, "composition_assumed"),
        ({"portions": PORTIONS}, "groups_apart"),
        ({"portions": PORTIONS, "thin_in_steps": True}, "thickest_first"),
        ({"hot_water_c": 98.0, "vessel": {"heat_capacity_j_per_k": 200.0, "temperature_c": 5.0}}, "blend_gels"),
    ],
)
def test_a_caution_comes_when_it_applies_and_not_otherwise(told, code):
    assert code in {caution.code for caution in mixed(**told).cautions}
    assert code not in {caution.code for caution in mixed().cautions}


def test_what_was_not_told_is_said():
    plain = {assumption.field for assumption in mixed().assumed}
    assert plain == {"/target_c", "/hot_water_c", "/cool_water_c", "/room_c", "/powder_c", "/spare_fraction",
                     "/altitude_m", "/vessel"}  # fmt: skip
    told = mixed(target_c=40.0, hot_water_c=70.0, vessel={"heat_capacity_j_per_k": 50.0})
    fields = {assumption.field for assumption in told.assumed}
    assert "/vessel/temperature_c" in fields
    assert not fields & {"/target_c", "/hot_water_c", "/vessel"}


def test_a_usual_composition_moves_the_mix_by_less_than_its_caution_says():
    """The notes, section 3.2: 0.12 J/(g K) of powder shift C20 by about 0.16 K, and flour measures 1.80 for 1.92."""
    known, assumed = mixed(**C20_KITCHEN), mixed(**C20_KITCHEN, formula={"dry_matter_fraction": 0.92})
    assert assumed.batches[0].hot_water_g == pytest.approx(known.batches[0].hot_water_g, abs=0.1)


def test_a_composition_gives_the_dry_matter():
    request = mix_request({"portions": [{"volume_ml": 9.0, "dry_matter_fraction": 0.25}],
                           "formula": {"composition": POWDER_X}})  # fmt: skip
    assert request.powder_dry_matter_fraction == pytest.approx(0.92)
    assert request.portions[0].label == "portion 1"


def test_a_warm_room_has_no_window_but_the_hour():
    answer = mixed(room_c=40.0, powder_c=21.0)
    assert answer.minutes_above_low_c is None
    assert answer.keep_at_most_min == 60


def test_the_window_is_that_of_the_batch_that_cools_first():
    answer = mixed(portions=PORTIONS)
    assert answer.minutes_above_low_c == min(batch.minutes_above_low_c for batch in answer.batches)


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"portions": PORTIONS, "thin_in_steps": True, "scoop_g": 4.2, "order": "paste_first", "altitude_m": 2240.0,
         "hot_water_c": 85.0, "vessel": {"heat_capacity_j_per_k": 60.0},
         "prepared_at": datetime.fromisoformat("2027-05-02T02:05:00+01:00")},
    ],
    ids=["plain", "everything"],
)  # fmt: skip
def test_every_number_comes_again_from_the_rule_that_is_named(told):
    answer = msgspec.to_builtins(mixed(**told))
    fields = set()
    for entry in answer["basis"]:
        module, name = f"api.{entry['rule']}".rsplit(".", 1)
        value = getattr(importlib.import_module(module), name)(**entry["inputs"])
        found = answer
        for part in entry["field"].strip("/").split("/"):
            found = found[int(part)] if part.isdigit() else found[part]
        assert found == value == entry["value"], entry["field"]
        fields.add(entry["field"])
    for index, batch in enumerate(answer["batches"]):
        numbers = {name for name, value in batch.items() if isinstance(value, float)} - {"dry_matter_fraction"}
        assert {f"/batches/{index}/{name}" for name in numbers} <= fields


def test_pots_of_one_portion():
    request = mix_request({"portions": [{"volume_ml": 9.0, "dry_matter_fraction": 0.25}],
                           "formula": {"composition": POWDER_X}})  # fmt: skip
    (pot,) = pots(request.portions, True)
    assert len(pot.servings) == 1
