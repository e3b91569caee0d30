"""Energy of powders and slurries against the WPSA formula's worked values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from species.biology import energy, food_energy, mixing
from species.domain.errors import DomainError

X = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
KCAL = 4.184
LABEL_KJ_PER_G = food_energy.label_energy_kj_per_g(0.20, 0.10, 0.45, 0.05)


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance"),
    [
        pytest.param(LABEL_KJ_PER_G, 14.694, 0.01, id="C36 WPSA, MJ/kg"),
        pytest.param(LABEL_KJ_PER_G / KCAL * 1000, 3512, 3.0, id="C36 WPSA, kcal/kg"),
        pytest.param(LABEL_KJ_PER_G / 0.92, 15.97, 0.01, id="energetics s.3.2 powder X, kJ/g DM"),
    ],
)
def test_label(computed, expected, tolerance):
    assert computed == pytest.approx(expected, abs=tolerance)


def test_slurry_of_powder_x():
    """C32, 0.1 %: 25 % dry matter at 40 C holds 3.993 kJ/g and 1.024 kcal/mL."""
    density = mixing.slurry_density_g_per_ml(0.25, X, 40.0)
    per_ml = food_energy.energy_kj_per_ml(0.25, LABEL_KJ_PER_G / 0.92, density)
    assert per_ml / density == pytest.approx(3.993, rel=1e-3)
    assert per_ml / KCAL == pytest.approx(1.024, rel=1e-3)


def test_millilitres_a_day_of_a_growing_non_passerine():
    """C37, within 0.1 mL: 100 g at 1.01 kcal/mL, which is 25 % of 16.9 kJ/g DM by mass, is 30.9 to 61.8
    mL/d."""
    per_ml = food_energy.energy_kj_per_ml(0.25, 16.9, 1.0)
    assert per_ml / KCAL == pytest.approx(1.01, abs=0.005)
    band = energy.clinical_growth_band_kj_per_day(100.0, False)
    assert [need / (1.01 * KCAL) for need in band] == pytest.approx([30.9, 61.8], abs=0.1)


def test_wild_macaw_crop_content():
    """COR12 by feeding-practice.md 12.1 no. 12: 16.9 MJ ME/kg DM is 4.04 kcal/g, within 0.01."""
    assert food_energy.energy_kj_per_ml(1.0, 16.9, 1.0) / energy.KJ_PER_KCAL == pytest.approx(4.04, abs=0.01)


def test_composition_brackets_the_label():
    reading = food_energy.composition_energy({**X, "carbohydrate": 0.50, "fibre": 0.08})
    assert reading.low_kj_per_g_dm < LABEL_KJ_PER_G / 0.92 < reading.high_kj_per_g_dm
    # By hand, WPSA: (0.20 x 15.51 + 0.10 x 34.31 + 0.50 x 13.01 or 16.69) / 0.92
    assert reading.low_kj_per_g_dm == pytest.approx(14.1717, abs=1e-4)
    assert reading.high_kj_per_g_dm == pytest.approx(16.1717, abs=1e-4)


@given(carbohydrate=st.floats(0.0, 0.92), fat=st.floats(0.0, 0.4))
def test_planning_takes_the_low_reading(carbohydrate, fat):
    rest = 0.92 - carbohydrate - fat
    if rest < 0.0:
        carbohydrate, rest = 0.92 - fat, 0.0
    composition = {**X, "carbohydrate": carbohydrate, "fat": fat, "protein": rest, "fibre": 0.0, "ash": 0.0}
    reading = food_energy.composition_energy(composition)
    planned = food_energy.composition_energy_kj_per_g_dm(composition)
    assert planned == reading.low_kj_per_g_dm
    assert 0.779 * reading.high_kj_per_g_dm <= planned <= reading.high_kj_per_g_dm


def test_per_cent_for_fractions_is_refused():
    with pytest.raises(DomainError):
        food_energy.label_energy_kj_per_g(20.0, 10.0, 45.0, 5.0)
    with pytest.raises(DomainError, match="more than the whole"):
        food_energy.label_energy_kj_per_g(0.5, 0.3, 0.3, 0.0)


def test_a_composition_of_water_has_no_energy():
    with pytest.raises(DomainError):
        food_energy.composition_energy({**dict.fromkeys(X, 0.0), "water": 1.0})
