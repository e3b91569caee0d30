"""What the carer does now, against the bands. Sources stand in the ids."""

import pytest

from api.birds.rules.words import BodyCondition, Crop, Hydration
from api.plans.rules.given import given_cautions
from api.plans.rules.request import Condition, Given

WELL = Condition(hydration=Hydration.NORMAL, crop=Crop.EMPTY, body_condition=BodyCondition.GOOD)


def found(given: Given, condition: Condition = WELL, **bands) -> dict[str, str]:
    bands = {"age_days": 10.0, "slurry": True} | bands
    return {caution.code: caution.severity for caution in given_cautions(given, condition, **bands)}


@pytest.mark.parametrize(
    ("age_days", "solids", "band", "expected"),
    [
        pytest.param(6, 0.10, (0.25, 0.30), {"too_dilute": "urgent"}, id="cockatiel_d6_10_percent-C39-RG86"),
        pytest.param(10, 0.10, (0.25, 0.30), {"too_dilute": "urgent"}, id="cockatiel_d10_10_percent-C39-RG86"),
        pytest.param(2, 0.07, (0.07, 0.07), {}, id="cockatiel_d2_7_percent-C38-RG86"),
        pytest.param(10, 0.30, (0.25, 0.30), {}, id="cockatiel_d10_30_percent-C38-RG86"),
        pytest.param(10, 0.22, (0.25, 0.30), {"too_dilute": "act_today"}, id="below_the_band"),
        pytest.param(2, 0.07, (0.20, 0.25), {"too_dilute": "act_today"}, id="another_species_d2_7_percent-RG86"),
        pytest.param(4, 0.10, None, {}, id="d4_no_band-RG86"),
        pytest.param(4.1, 0.10, None, {"too_dilute": "urgent"}, id="after_d4_no_band-RG86"),
        pytest.param(10, 0.40, (0.25, 0.30), {"too_thick": "act_today"}, id="above_the_band"),
        pytest.param(10, 0.303, (0.25, 0.30), {}, id="as_near_as_a_kitchen_mixes"),
    ],
)
def test_solids(age_days, solids, band, expected):
    low, high = band or (None, None)
    given = Given(dry_matter_fraction=solids)
    assert found(given, age_days=age_days, dry_matter_low_fraction=low, dry_matter_high_fraction=high) == expected


@pytest.mark.parametrize(
    "condition",
    [
        pytest.param(Condition(crop=Crop.RESIDUE), id="slow_crop_1_to_2-HRB_p593"),
        pytest.param(Condition(crop=Crop.NOT_EMPTIED), id="crop_not_emptied-HRB_p593"),
        pytest.param(Condition(hydration=Hydration.MODERATE), id="dry"),
        pytest.param(Condition(dehydration_fraction=0.06), id="dry_by_share"),
        pytest.param(Condition(body_condition=BodyCondition.EMACIATED), id="emaciated"),
    ],
)
def test_a_recovery_mix_is_not_too_dilute(condition):
    band = {"dry_matter_low_fraction": 0.25, "dry_matter_high_fraction": 0.30}
    assert found(Given(dry_matter_fraction=0.09), condition, **band) == {}
    assert found(Given(dry_matter_fraction=0.09), **band) == {"too_dilute": "urgent"}


def test_nectar_may_be_thin_and_solid_food_has_no_solids_band():
    assert found(Given(dry_matter_fraction=0.15), nectar=True) == {}
    assert found(Given(dry_matter_fraction=0.15), slurry=False) == {}


@pytest.mark.parametrize(
    ("temperature_c", "expected"),
    [
        pytest.param(36.9, {"too_cool": "act_today"}, id="36.9-hazard_20"),
        pytest.param(37.0, {"too_cool": "note"}, id="37.0_cool-C40"),
        pytest.param(38.0, {}, id="38.0-TUBE"),
        pytest.param(39.5, {}, id="39.5_ok-C40"),
        pytest.param(41.0, {}, id="41.0-TUBE_VT"),
        pytest.param(42.0, {"too_hot": "act_today"}, id="42.0_wait-C40"),
        pytest.param(42.1, {"too_hot": "urgent"}, id="42.1-hazard_20"),
        pytest.param(43.5, {"too_hot": "urgent"}, id="43.5_block-C40-RIV08"),
    ],
)
def test_temperature_of_slurry(temperature_c, expected):
    assert found(Given(temperature_c=temperature_c)) == expected


@pytest.mark.parametrize(
    ("temperature_c", "expected"),
    [(40.8, {"too_hot": "act_today"}), (40.5, {}), (38.0, {}), (36.5, {"too_cool": "act_today"})],
    ids=["above-HRB_p447", "top-HRB_p447", "bottom-HRB_p447", "cold"],
)
def test_temperature_against_the_profiles_own_band(temperature_c, expected):
    assert found(Given(temperature_c=temperature_c), low_c=38.0, high_c=40.5, never_above_c=42.0) == expected


def test_fish_may_be_cold_and_nothing_may_burn():
    assert found(Given(temperature_c=12.0), slurry=False) == {}
    assert found(Given(temperature_c=45.0), slurry=False) == {"too_hot": "urgent"}
    assert found(Given(temperature_c=42.5), never_above_c=44.0) == {"too_hot": "urgent"}


@pytest.mark.parametrize(
    ("volume_ml", "expected"),
    [(10.0, {}), (10.1, {}), (12.0, {"overfilled": "urgent"})],
    ids=["10_of_100_g-PRH", "within_a_mark", "12_of_100_g-HRB_p616"],
)
def test_volume_against_the_cap_of_the_actual_mass(volume_ml, expected):
    assert found(Given(volume_ml=volume_ml), cap_ml=10.0) == expected
    assert found(Given(volume_ml=volume_ml)) == {}


def test_a_meal_against_its_cap():
    assert found(Given(mass_g=30.0), slurry=False, cap_g=25.0) == {"overfilled": "urgent"}


@pytest.mark.parametrize(
    ("feeds", "expected"), [(2, {"fed_too_seldom": "act_today"}), (4, {}), (9, {"fed_too_often": "act_today"})]
)
def test_number_of_feeds(feeds, expected):
    assert found(Given(feeds_per_day=feeds), feeds_low=3, feeds_high=6) == expected


def test_underfed_only_where_the_need_is_judged():
    assert found(Given(volume_ml=2.0), need_low_kj_per_day=60.0, given_kj_per_day=40.0) == {"underfed": "act_today"}
    assert found(Given(volume_ml=2.0), need_low_kj_per_day=60.0, given_kj_per_day=60.0) == {}
    assert found(Given(volume_ml=2.0), given_kj_per_day=4.0) == {}


def test_urgent_leaves_an_hour_and_texts_say_what_to_do():
    (caution,) = given_cautions(
        Given(dry_matter_fraction=0.1), WELL, age_days=6.0, slurry=True, dry_matter_low_fraction=0.25
    )
    assert caution.act_within_h == 1.0
    assert caution.sources == ("R&G86 abstract",)
    assert "25%" in caution.text
