"""The mix against worked examples of the notes and against conservation of mass and heat (CoolProp as
oracle)."""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad

from species.biology import mixing, water
from species.domain.errors import DomainError

X = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
C20 = mixing.mass_balance(500.0, 0.25, 0.92)
WATERS = mixing.hot_and_cool_water_g(C20.water_g, C20.powder_g, 40.0, 80.0, 20.0, 22.0, X)
VESSEL = {"vessel_heat_capacity_j_per_k": 200.0, "vessel_c": 22.0}


def _final(hot_g=WATERS.hot_g, hot_c=80.0, cool_g=WATERS.cool_g, powder_g=C20.powder_g, **more):
    return mixing.final_temperature_c(hot_g, hot_c, cool_g, 20.0, powder_g, 22.0, X, **more)


@pytest.mark.parametrize(
    ("computed", "expected"),
    [
        pytest.param(C20.powder_g, 135.87, id="C20 powder"),
        pytest.param(C20.water_g, 364.13, id="C20 water"),
        pytest.param(WATERS.hot_g, 140.08, id="C20 IAPWS-95+Choi&Okos hot"),
        pytest.param(WATERS.cool_g, 224.05, id="C20 IAPWS-95+Choi&Okos cool"),
        pytest.param(WATERS.hot_g / water.density_g_per_ml(80.0), 144.1, id="C20 hot in mL"),
        pytest.param(WATERS.cool_g / water.density_g_per_ml(20.0), 224.5, id="C20 cool in mL"),
        pytest.param(
            mixing.hot_and_cool_water_g(C20.water_g, C20.powder_g, 40, 80, 20, 22, X, **VESSEL).hot_g,
            154.42,
            id="C21 vessel 200 J/K",
        ),
    ],
)
def test_worked_batch(computed, expected):
    """C20 and C21 allow 0.1 g."""
    assert computed == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        pytest.param((300.0, 80.0, 200.0, 20.0), 56.03, id="C25 IAPWS-95 300 g at 80, 200 g at 20"),
        pytest.param((100.0, 95.0, 300.0, 15.0), 35.03, id="C25 IAPWS-95 100 g at 95, 300 g at 15"),
    ],
)
def test_blended_waters(parts, expected):
    assert mixing.blend_temperature_c(*parts) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("hydration_j_per_g", "expected"),
    [
        pytest.param(15.0 * 3 / 2, 4.2, id="C27 dough, 15 kJ per kg of dough"),
        pytest.param(15.0, 7.8, id="C27 dough, 15 kJ per kg of flour"),
    ],
)
def test_dough(hydration_j_per_g, expected):
    """2 kg of flour at 15 C and 1 kg of water to end at 15 C, within 0.1 K."""
    found = mixing.single_water_c(1000, 2000, 15.0, 15.0, X, hydration_j_per_g=hydration_j_per_g)
    assert found == pytest.approx(expected, abs=0.1)


SPILT_ML = WATERS.hot_g * water.density_g_per_ml(80.0)
CONSTANT_CP_HOT_G = 138.93


@pytest.mark.parametrize(
    ("final_c", "shift_k", "tolerance"),
    [
        pytest.param(_final(), 0.0, 1e-9, id="C20 lands on its target"),
        pytest.param(_final(hydration_j_per_g=15.1), 1.15, 0.02, id="C28 hydration 15.1 J/g"),
        pytest.param(_final(hot_c=78.0), -0.66, 0.02, id="energetics s.3.1 kettle at 78 C"),
        pytest.param(_final(powder_g=1.1 * C20.powder_g), -0.26, 0.02, id="energetics s.3.1 powder +10 %"),
        pytest.param(_final(**VESSEL), -1.8, 0.05, id="energetics s.3.1 vessel ignored"),
        pytest.param(_final(hot_g=SPILT_ML), -0.36, 0.02, id="energetics s.3.1 hot mL read as g"),
        pytest.param(
            _final(hot_g=CONSTANT_CP_HOT_G, cool_g=C20.water_g - CONSTANT_CP_HOT_G),
            -0.16,
            0.02,
            id="energetics s.3.1 constant cp",
        ),
    ],
)
def test_sensitivity_of_the_worked_batch(final_c, shift_k, tolerance):
    assert final_c - 40.0 == pytest.approx(shift_k, abs=tolerance)


@pytest.mark.parametrize(
    ("share", "ml_per_g", "g_per_ml"),
    [
        pytest.param(0.07, 0.9867, 1.0135, id="energetics s.3.5 slurry 7 %"),
        pytest.param(0.10, 0.9776, 1.0229, id="energetics s.3.5 slurry 10 %"),
        pytest.param(0.20, 0.9474, 1.0555, id="energetics s.3.5 slurry 20 %"),
        pytest.param(0.25, 0.9323, 1.0726, id="C32 slurry 25 %"),
        pytest.param(0.30, 0.9172, 1.0903, id="energetics s.3.5 slurry 30 %"),
    ],
)
def test_slurry_volume(share, ml_per_g, g_per_ml):
    """C32 allows 0.1 %."""
    assert mixing.slurry_volume_ml_per_g(share, X, 40.0) == pytest.approx(ml_per_g, rel=1e-3)
    assert mixing.slurry_density_g_per_ml(share, X, 40.0) == pytest.approx(g_per_ml, rel=1e-3)


@pytest.mark.parametrize(
    ("share", "dry_g", "water_to_dry"),
    [
        pytest.param(0.07, 7.0, 13.3, id="R&G86 cockatiel day 2, feeding-practice 12.3 no.38"),
        pytest.param(0.30, 30.0, 2.33, id="R&G86 cockatiel day 10, feeding-practice 12.3 no.38"),
    ],
)
def test_cockatiel_mixes(share, dry_g, water_to_dry):
    batch = mixing.mass_balance(100.0, share, 1.0)
    assert batch.powder_g == pytest.approx(dry_g, abs=0.1)
    assert batch.water_g / batch.powder_g == pytest.approx(water_to_dry, abs=0.05)


def test_a_quarter_of_powder_is_less_dry_matter():
    """C41: 25 % of a powder with 92 % dry matter is 23.0 %."""
    assert mixing.mixed_dry_matter_fraction(25.0, 75.0, 0.92) == pytest.approx(0.23, rel=1e-12)


batches = st.fixed_dictionaries(
    {
        "batch_g": st.floats(5.0, 5000.0),
        "share": st.floats(0.05, 0.35),
        "sold": st.floats(0.85, 1.0),
        "target_c": st.floats(30.0, 42.0),
        "hot_c": st.floats(50.0, 99.0),
        "cool_c": st.floats(2.0, 28.0),
        "powder_c": st.floats(5.0, 30.0),
        "vessel": st.floats(0.0, 0.3),
        "hydration": st.floats(-5.0, 20.0),
        "loss": st.floats(0.0, 1.0),
    }
)


@given(batch_g=st.floats(0.5, 20_000), sold=st.floats(0.5, 1.0), share=st.floats(0.02, 0.5))
def test_mass_is_conserved(batch_g, sold, share):
    batch = mixing.mass_balance(batch_g, share, sold)
    assert batch.powder_g + batch.water_g == pytest.approx(batch_g, rel=1e-12)
    found = mixing.mixed_dry_matter_fraction(batch.powder_g, batch.water_g, sold)
    assert found == pytest.approx(share, rel=1e-9)


def _split(given_batch):
    b = given_batch
    batch = mixing.mass_balance(b["batch_g"], b["share"], b["sold"])
    more = {
        "vessel_heat_capacity_j_per_k": b["vessel"] * b["batch_g"],
        "vessel_c": b["powder_c"],
        "hydration_j_per_g": b["hydration"],
        "extra_loss_j": b["loss"] * b["batch_g"],
    }
    try:
        waters = mixing.hot_and_cool_water_g(
            batch.water_g, batch.powder_g, b["target_c"], b["hot_c"], b["cool_c"], b["powder_c"], X, **more
        )
    except mixing.WaterTemperatureError:
        assume(False)
    return batch, waters, more


def _oracle_water_j_per_g(temperature_c):
    return PropsSI("H", "T", temperature_c + 273.15, "P", 101_325.0, "HEOS::Water") / 1000


def _oracle_powder_j_per_g(low_c, high_c):
    names = {"protein": "Protein", "fat": "Fat", "carbohydrate": "Carbohydrate", "fibre": "Fiber", "ash": "Ash"}
    solids, _ = quad(
        lambda t: sum(
            X[ours] * PropsSI("C", "T", t + 273.15, "P", 101_325.0, f"INCOMP::Food{theirs}")
            for ours, theirs in names.items()
        ),
        low_c,
        high_c,
    )
    return solids / 1000 + X["water"] * (_oracle_water_j_per_g(high_c) - _oracle_water_j_per_g(low_c))


@given(b=batches)
def test_water_and_heat_are_conserved(b):
    batch, waters, more = _split(b)
    assert waters.hot_g + waters.cool_g == pytest.approx(batch.water_g, rel=1e-12)
    target = _oracle_water_j_per_g(b["target_c"])
    given_off = waters.hot_g * (_oracle_water_j_per_g(b["hot_c"]) - target) + batch.powder_g * b["hydration"]
    taken_up = (
        waters.cool_g * (target - _oracle_water_j_per_g(b["cool_c"]))
        + batch.powder_g * _oracle_powder_j_per_g(b["powder_c"], b["target_c"])
        + more["vessel_heat_capacity_j_per_k"] * (b["target_c"] - b["powder_c"])
        + more["extra_loss_j"]
    )
    # 0.002 K of the whole batch: what the two fits of the properties may differ by.
    assert given_off == pytest.approx(taken_up, abs=0.002 * 4.2 * b["batch_g"])


@given(b=batches)
def test_forward_model_lands_where_the_split_aimed(b):
    batch, waters, more = _split(b)
    final = mixing.final_temperature_c(
        waters.hot_g, b["hot_c"], waters.cool_g, b["cool_c"], batch.powder_g, b["powder_c"], X, **more
    )
    assert final == pytest.approx(b["target_c"], abs=1e-6)


@given(hot_g=st.floats(1, 900), hot_c=st.floats(40, 100), cool_g=st.floats(1, 900), cool_c=st.floats(0, 39))
def test_a_blend_lies_between_its_waters_and_keeps_their_heat(hot_g, hot_c, cool_g, cool_c):
    assume(cool_c > 0.05 and hot_c < 99.9)
    blend = mixing.blend_temperature_c(hot_g, hot_c, cool_g, cool_c)
    assert cool_c <= blend <= hot_c
    heat = hot_g * _oracle_water_j_per_g(hot_c) + cool_g * _oracle_water_j_per_g(cool_c)
    assert (hot_g + cool_g) * _oracle_water_j_per_g(blend) == pytest.approx(heat, rel=1e-5, abs=1.0)


def _refused(hot_c, cool_c, powder_c=22.0, **more):
    with pytest.raises(mixing.WaterTemperatureError) as caught:
        mixing.hot_and_cool_water_g(C20.water_g, C20.powder_g, 40.0, hot_c, cool_c, powder_c, X, **more)
    return caught.value


@pytest.mark.parametrize("vessel", [{}, VESSEL], ids=["no vessel", "vessel"])
def test_hot_water_not_hot_enough_says_what_would_do(vessel):
    error = _refused(42.0, 15.0, **vessel)
    assert (error.field, error.code) == ("hot_water_c", "water_not_hot_enough")
    assert f"{math.ceil(error.needed * 10) / 10:.1f}" in error.remedy
    just = mixing.hot_and_cool_water_g(C20.water_g, C20.powder_g, 40.0, error.needed + 1e-6, 15.0, 22.0, X, **vessel)
    assert just.cool_g == pytest.approx(0.0, abs=1e-3)


def test_cool_water_not_cool_enough_says_what_would_do():
    error = _refused(80.0, 47.0)
    assert (error.field, error.code) == ("cool_water_c", "water_not_cool_enough")
    assert f"{math.floor(error.needed * 10) / 10:.1f}" in error.remedy
    just = mixing.hot_and_cool_water_g(C20.water_g, C20.powder_g, 40.0, 80.0, error.needed - 1e-6, 22.0, X)
    assert just.hot_g == pytest.approx(0.0, abs=1e-3)


def test_no_water_is_hot_enough_for_a_great_cold_vessel():
    error = _refused(99.0, 15.0, vessel_heat_capacity_j_per_k=9000.0, vessel_c=5.0)
    assert error.field == "hot_water_c"
    assert error.needed is None
    assert "vessel" in error.remedy


def test_waters_that_are_not_apart():
    with pytest.raises(DomainError) as caught:
        mixing.hot_and_cool_water_g(C20.water_g, C20.powder_g, 40.0, 20.0, 20.0, 22.0, X)
    assert caught.value.field == "hot_water_c"


def test_a_mix_cannot_be_drier_than_its_powder():
    with pytest.raises(DomainError) as caught:
        mixing.mass_balance(100.0, 0.95, 0.92)
    assert caught.value.field == "dry_matter_fraction"
    assert "0.92" in caught.value.remedy


def test_a_mix_without_water_has_no_temperature():
    with pytest.raises(DomainError):
        mixing.blend_temperature_c(0.0, 80.0, 0.0, 20.0)


def test_a_loss_that_would_freeze_the_mix_is_refused():
    with pytest.raises(DomainError) as caught:
        _final(extra_loss_j=1e6)
    assert caught.value.field == "extra_loss_j"


def test_batches_in_one_call_equal_batches_one_by_one():
    batch = mixing.mass_balance([500.0, 120.0], [0.25, 0.2], 0.92)
    waters = mixing.hot_and_cool_water_g(batch.water_g, batch.powder_g, 40.0, [80.0, 70.0], 20.0, 22.0, X)
    finals = mixing.final_temperature_c(waters.hot_g, [80.0, 70.0], waters.cool_g, 20.0, batch.powder_g, 22.0, X)
    assert_allclose(finals, [40.0, 40.0], atol=1e-9)
    assert waters.hot_g[0] == pytest.approx(WATERS.hot_g, rel=1e-12)
    assert isinstance(waters.hot_g, np.ndarray)
    assert type(WATERS.hot_g) is float
