"""Properties of liquid water at one atmosphere, and where it boils.

The polynomials were fitted here to IAPWS-95 (evaluated with CoolProp 8.0.0, 600 Chebyshev nodes from 0.012
to 100 C, metastable liquid above 99.974 C); they hold it within 0.0002 kg/m3 and 0.0001 kJ/kg. Tests
compare them again.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import ArrayLike

from species.biology.bounds import FloatArray, FloatOrArray, scalar_or_array, within

COLDEST_C = 0.0
HOTTEST_C = 100.0
LOWEST_M = -500.0
HIGHEST_M = 5000.0

# Chebyshev coefficients over x = (T - 50) / 50.
_DENSITY_KG_PER_M3 = (
    983.667125,
    -21.2552516,
    -4.4645375,
    0.4858372,
    -0.1012825,
    0.0211104,
    -0.0049422,
    0.0011836,
    -0.0002941,
)
_ENTHALPY_KJ_PER_KG = (
    209.5406481,
    209.4108891,
    0.1001168,
    0.1306621,
    -0.0244863,
    0.0103735,
    -0.0025723,
    0.0005686,
    -0.0001374,
)
_HEAT_CAPACITY_KJ_PER_KG_K = chebyshev.chebder(_ENTHALPY_KJ_PER_KG, scl=1.0 / 50.0)

# Saturation line of IAPWS R7-97(2012), equation 31.
_SATURATION = (
    1167.0521452767,
    -724213.16703206,
    -17.073846940092,
    12020.824702470,
    -3232555.0322333,
    14.915108613530,
    -4823.2657361591,
    405113.40542057,
    -0.23855557567849,
    650.17534844798,
)


def density_g_per_ml(temperature_c: ArrayLike) -> FloatOrArray:
    """Density of water at one atmosphere, in g/mL.

    Parameters
    ----------
    temperature_c
        0 to 100 C, any shape.

    Raises
    ------
    DomainError
        Outside 0 to 100 C; so for every function of a temperature here.

    Notes
    -----
    Own fit to IAPWS-95; energetics-and-mixing.md section 3.3, check C29.
    """
    return scalar_or_array(chebyshev.chebval(_scaled(temperature_c), _DENSITY_KG_PER_M3) / 1000.0)


def enthalpy_j_per_g(temperature_c: ArrayLike) -> FloatOrArray:
    """Enthalpy of water at one atmosphere, in J/g (kJ/kg), zero for liquid at the triple point.

    Notes
    -----
    Own fit to IAPWS-95; energetics-and-mixing.md section 3.3, check C29.
    """
    return scalar_or_array(chebyshev.chebval(_scaled(temperature_c), _ENTHALPY_KJ_PER_KG))


def heat_capacity_j_per_g_k(temperature_c: ArrayLike) -> FloatOrArray:
    """Isobaric heat capacity of water at one atmosphere, in J/(g K): the slope of
    :func:`enthalpy_j_per_g`."""
    return scalar_or_array(chebyshev.chebval(_scaled(temperature_c), _HEAT_CAPACITY_KJ_PER_KG_K))


def pressure_pa(altitude_m: ArrayLike) -> FloatOrArray:
    """Pressure of the standard atmosphere, in Pa.

    Parameters
    ----------
    altitude_m
        -500 to 5000 m.

    Raises
    ------
    DomainError
        Outside that range.

    Notes
    -----
    p = 101325 (1 - 2.25577e-5 z)^5.25588 (ISA). Weather moves it by about 3 kPa, boiling by 0.8 K.
    energetics-and-mixing.md section 3.4.
    """
    altitude = within(altitude_m, "altitude_m", low=LOWEST_M, high=HIGHEST_M)
    return scalar_or_array(101325.0 * (1.0 - 2.25577e-5 * altitude) ** 5.25588)


def boiling_c(altitude_m: ArrayLike) -> FloatOrArray:
    """Temperature at which water boils at an altitude, in C; a kettle gives no hotter water.

    Parameters
    ----------
    altitude_m
        -500 to 5000 m. Below the sea it exceeds 100 C, where the other functions here stop.

    Notes
    -----
    Standard atmosphere into the saturation temperature of IAPWS R7-97(2012), equation 31, with b = (p / 1
    MPa)^(1/4). energetics-and-mixing.md section 3.4, check C33.
    """
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _SATURATION
    b = (np.asarray(pressure_pa(altitude_m)) / 1e6) ** 0.25
    e = b**2 + n3 * b + n6
    f = n1 * b**2 + n4 * b + n7
    g = n2 * b**2 + n5 * b + n8
    d = 2.0 * g / (-f - np.sqrt(f**2 - 4.0 * e * g))
    kelvin = (n10 + d - np.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d))) / 2.0
    return scalar_or_array(kelvin - 273.15)


def _scaled(temperature_c: ArrayLike) -> FloatArray:
    temperature = within(temperature_c, "temperature_c", low=COLDEST_C, high=HOTTEST_C)
    return np.asarray((temperature - 50.0) / 50.0)
