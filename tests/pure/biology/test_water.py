"""Water against IAPWS-95 (printed values and CoolProp) and the standard atmosphere."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from numpy.testing import assert_allclose

from species.biology import water

ATMOSPHERE_PA = 101_325.0

PRINTED = [
    # C, kg/m3, kJ/kg, kJ/(kg K); bold rows of the table are check C29
    (4, 999.975, 16.914, 4.2075, "energetics s.3.3"),
    (20, 998.207, 84.007, 4.1841, "C29"),
    (25, 997.048, 104.920, 4.1813, "energetics s.3.3"),
    (38, 992.966, 159.258, 4.1793, "energetics s.3.3"),
    (40, 992.216, 167.616, 4.1794, "C29"),
    (60, 983.196, 251.249, 4.1850, "C29"),
    (70, 977.765, 293.123, 4.1901, "energetics s.3.3"),
    (80, 971.790, 335.055, 4.1968, "C29"),
    (90, 965.310, 377.064, 4.2052, "energetics s.3.3"),
    (99, 959.066, 414.951, 4.2145, "C29"),
]


@pytest.mark.parametrize(
    ("temperature_c", "density", "enthalpy", "heat_capacity"),
    [pytest.param(*row[:4], id=f"{row[4]} IAPWS-95 {row[0]} C") for row in PRINTED],
)
def test_printed_properties(temperature_c, density, enthalpy, heat_capacity):
    """C29 allows 0.01 kg/m3 and 0.02 kJ/kg; heat capacity to the last printed digit."""
    assert water.density_g_per_ml(temperature_c) * 1000 == pytest.approx(density, abs=0.01)
    assert water.enthalpy_j_per_g(temperature_c) == pytest.approx(enthalpy, abs=0.02)
    assert water.heat_capacity_j_per_g_k(temperature_c) == pytest.approx(heat_capacity, abs=2e-4)


@pytest.mark.parametrize(
    ("oracle", "ours", "tolerance"),
    [
        pytest.param("D", lambda t: water.density_g_per_ml(t) * 1000, 0.001, id="CoolProp 8 density, a tenth of C29"),
        pytest.param("H", lambda t: water.enthalpy_j_per_g(t) * 1000, 2.0, id="CoolProp 8 enthalpy, a tenth of C29"),
        pytest.param("C", lambda t: water.heat_capacity_j_per_g_k(t) * 1000, 0.5, id="CoolProp 8 heat capacity"),
    ],
)
def test_iapws_over_the_whole_range(oracle, ours, tolerance):
    grid = np.linspace(0.05, 99.95, 800)
    expected = [PropsSI(oracle, "T", t + 273.15, "P", ATMOSPHERE_PA, "HEOS::Water") for t in grid]
    assert_allclose(ours(grid), expected, rtol=0, atol=tolerance)


@pytest.mark.parametrize(
    ("temperature_c", "mass_g"),
    [
        pytest.param(80.0, 485.9, id="energetics s.3.3, 500 mL at 80 C"),
        pytest.param(20.0, 499.1, id="energetics s.3.3, 500 mL at 20 C"),
    ],
)
def test_half_a_litre(temperature_c, mass_g):
    assert 500 * water.density_g_per_ml(temperature_c) == pytest.approx(mass_g, abs=0.05)


BOILING = [
    (0, 101_325, 99.974, "C33"),
    (500, 95_461, 98.312, "energetics s.3.4"),
    (1000, 89_875, 96.649, "C33"),
    (1500, 84_556, 94.983, "energetics s.3.4"),
    (1609, 83_431, 94.620, "energetics s.3.4"),
    (2000, 79_495, 93.315, "C33"),
    (3000, 70_109, 89.972, "C33"),
    (4000, 61_640, 86.619, "energetics s.3.4"),
]


@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa", "boiling_c"),
    [pytest.param(*row[:3], id=f"{row[3]} ISA + IF97 {row[0]} m") for row in BOILING],
)
def test_boiling_point(altitude_m, pressure_pa, boiling_c):
    assert water.pressure_pa(altitude_m) == pytest.approx(pressure_pa, abs=0.6)
    assert water.boiling_c(altitude_m) == pytest.approx(boiling_c, abs=0.005)


def test_saturation_over_the_whole_range():
    """CoolProp 8, saturation of IAPWS-95 at the pressure of the standard atmosphere; C33 allows 0.005 K."""
    grid = np.linspace(-500.0, 5000.0, 111)
    pressures = 101_325 * (1 - 2.25577e-5 * grid) ** 5.25588
    expected = [PropsSI("T", "P", p, "Q", 0, "HEOS::Water") - 273.15 for p in pressures]
    assert_allclose(water.boiling_c(grid), expected, rtol=0, atol=0.005)


def test_saturation_at_a_tenth_of_a_megapascal():
    """IAPWS R7-97 verification table [MEM], 372.755919 K at 0.1 MPa, at the altitude of that pressure."""
    altitude = (1 - (1e5 / 101_325) ** (1 / 5.25588)) / 2.25577e-5
    assert water.boiling_c(altitude) + 273.15 == pytest.approx(372.755919, abs=1e-6)


def test_shape():
    assert water.density_g_per_ml(np.full((2, 3), 20.0)).shape == (2, 3)
    assert type(water.boiling_c(0)) is float
