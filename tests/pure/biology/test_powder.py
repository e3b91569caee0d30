"""Powder against CoolProp's food components (Choi & Okos) and the worked powder X of the notes."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad

from species.biology import powder
from species.domain.errors import DomainError

X = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
COOLPROP = {
    "protein": "INCOMP::FoodProtein",
    "fat": "INCOMP::FoodFat",
    "carbohydrate": "INCOMP::FoodCarbohydrate",
    "fibre": "INCOMP::FoodFiber",
    "ash": "INCOMP::FoodAsh",
    "water": "HEOS::Water",  # its FoodWater carries an erratum, 1.1 % low
}


@pytest.mark.parametrize(
    ("component", "expected"),
    [
        pytest.param("protein", 2.05446, id="C30 Choi&Okos protein 40 C"),
        pytest.param("fat", 2.03545, id="C30 Choi&Okos fat 40 C"),
        pytest.param("carbohydrate", 1.61780, id="C30 Choi&Okos carbohydrate 40 C"),
        pytest.param("fibre", 1.91168, id="C30 Choi&Okos fibre 40 C"),
        pytest.param("ash", 1.16229, id="C30 Choi&Okos ash 40 C"),
    ],
)
def test_component_heat_capacity(component, expected):
    assert powder.component_heat_capacity_j_per_g_k(component, 40.0) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("component", [pytest.param(name, id=f"CoolProp 8 {name}") for name in COOLPROP])
def test_components_over_the_whole_range(component):
    grid = np.linspace(0.5, 99.5, 100)

    def oracle(name):
        return np.array([PropsSI(name, "T", t + 273.15, "P", 101_325.0, COOLPROP[component]) for t in grid])

    assert_allclose(powder.component_heat_capacity_j_per_g_k(component, grid), oracle("C") / 1000, rtol=1e-4)
    assert_allclose(powder.component_density_g_per_ml(component, grid), oracle("D") / 1000, rtol=1e-4)


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance"),
    [
        pytest.param(powder.heat_capacity_j_per_g_k(X, 25.0), 1.9225, 1e-3, id="C31 powder X cp 25 C"),
        pytest.param(powder.heat_capacity_j_per_g_k(X, 20.0), 1.915, 1e-3, id="energetics s.3.2 cp 20 C"),
        pytest.param(powder.heat_capacity_j_per_g_k(X, 40.0), 1.943, 1e-3, id="energetics s.3.2 cp 40 C"),
        pytest.param(powder.density_g_per_ml(X, 25.0), 1.37598, 1e-3, id="C31 powder X density 25 C"),
        pytest.param(powder.dry_solids_volume_ml_per_g(X, 25.0), 0.7025, 1e-3, id="energetics s.3.2 v 25 C"),
        pytest.param(powder.dry_solids_volume_ml_per_g(X, 40.0), 0.7056, 1e-3, id="energetics s.3.5 v 40 C"),
    ],
)
def test_powder_x(computed, expected, tolerance):
    assert computed == pytest.approx(expected, rel=tolerance)


def test_density_is_not_averaged_by_mass():
    """C31: the mass average, 1445.5 kg/m3, is the wrong answer that one package gives."""
    averaged = sum(share * PropsSI("D", "T", 298.15, "P", 101_325.0, COOLPROP[name]) for name, share in X.items())
    assert averaged == pytest.approx(1445.5, rel=1e-3)
    assert powder.density_g_per_ml(X, 25.0) * 1000 < averaged - 60


@given(low=st.floats(0.5, 90.0), step=st.floats(0.5, 9.0))
def test_heat_is_the_integral_of_the_oracles_heat_capacity(low, step):
    def heat_capacity(t):
        return sum(
            share * PropsSI("C", "T", t + 273.15, "P", 101_325.0, COOLPROP[name]) / 1000 for name, share in X.items()
        )

    expected, _ = quad(heat_capacity, low, low + step)
    assert powder.heat_between_j_per_g(X, low, low + step) == pytest.approx(expected, rel=1e-4)
    assert powder.heat_between_j_per_g(X, low + step, low) == pytest.approx(-expected, rel=1e-4)


def test_a_rounded_label_is_taken_in_proportion():
    rounded = {**X, "carbohydrate": 0.56}
    assert sum(powder.fractions(rounded).values()) == pytest.approx(1.0)
    assert powder.fractions(rounded)["protein"] == pytest.approx(0.20 / 1.01)


@pytest.mark.parametrize(
    ("composition", "said"),
    [
        ({**X, "carbohydrate": 0.65}, "1.1"),
        ({**X, "carbohydrate": 0.52}, "0.97"),
        ({name: share for name, share in X.items() if name != "ash"}, "ash"),
        ({**X, "alcohol": 0.0}, "alcohol"),
        ({**X, "fat": -0.1}, "fat"),
        ({**X, "fat": float("nan")}, "fat"),
        ({name: 100 * share for name, share in X.items()}, "water"),
    ],
    ids=["sum above", "sum below", "missing", "unknown", "negative", "nan", "per cent"],
)
def test_a_wrong_composition_is_refused_saying_what(composition, said):
    with pytest.raises(DomainError, match=said) as caught:
        powder.heat_capacity_j_per_g_k(composition, 25.0)
    assert caught.value.field.startswith("composition")


def test_water_alone_has_no_dry_solids():
    with pytest.raises(DomainError):
        powder.dry_solids_volume_ml_per_g({**dict.fromkeys(X, 0.0), "water": 1.0}, 25.0)


def test_unknown_component():
    with pytest.raises(DomainError, match="carbohydrate"):
        powder.component_density_g_per_ml("starch", 25.0)
