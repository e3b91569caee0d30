"""Heat capacity, heat content and volume of a powder, from its composition.

A composition gives mass fractions of the powder as sold: water, protein, fat, carbohydrate, fibre and ash,
all six.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from species.biology import water
from species.biology.bounds import FloatArray, FloatOrArray, scalar_or_array, within
from species.domain.errors import DomainError

COMPONENTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")
SUM_TOLERANCE = 0.02
_WATER_AT_0_C_J_PER_G = water.enthalpy_j_per_g(0.0)

# Choi & Okos 1986: J/(g K) as a + b T + c T^2, and kg/m3 as a + b T, T in C. Fat's 1.4733e-3 is right; a
# copy with e-4 circulates. Water is not taken from here: see water.py (one widespread transcription is 1.1
# % low).
_HEAT_CAPACITY: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "protein": (2.0082, 1.2089e-3, -1.3129e-6),
        "fat": (1.9842, 1.4733e-3, -4.8008e-6),
        "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
        "fibre": (1.8459, 1.8306e-3, -4.6509e-6),
        "ash": (1.0926, 1.8896e-3, -3.6817e-6),
    }
)
_DENSITY_KG_PER_M3: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "protein": (1329.9, -0.51840),
        "fat": (925.59, -0.41757),
        "carbohydrate": (1599.1, -0.31046),
        "fibre": (1311.5, -0.36589),
        "ash": (2423.8, -0.28063),
    }
)


def fractions(composition: Mapping[str, float]) -> dict[str, float]:
    """Give the composition checked and scaled to a sum of exactly one.

    Parameters
    ----------
    composition
        Mass fraction of each of the six components. Labels are rounded, so a sum within 0.02 of one is
        taken as one and the shares are kept in proportion.

    Raises
    ------
    DomainError
        If a component is missing, unknown, negative or no number, or the sum (which is named) is off by more.
    """
    missing = [name for name in COMPONENTS if name not in composition]
    unknown = [name for name in composition if name not in COMPONENTS]
    if missing or unknown:
        wrong = [f"misses {', '.join(missing)}"] * bool(missing) + [f"has unknown {', '.join(unknown)}"] * bool(unknown)
        raise DomainError(
            f"The composition {' and '.join(wrong)}.",
            field="composition",
            code="components",
            remedy=f"Give {', '.join(COMPONENTS)} as mass fractions.",
        )
    values = {name: float(within(composition[name], f"composition/{name}", low=0.0, high=1.0)) for name in COMPONENTS}
    total = sum(values.values())
    if abs(total - 1.0) > SUM_TOLERANCE + 1e-12:
        raise DomainError(
            f"The mass fractions of the composition add up to {total:.4g}.",
            field="composition",
            code="composition_sum",
            remedy=f"They must add up to 1 within {SUM_TOLERANCE:g}.",
        )
    return {name: value / total for name, value in values.items()}


def component_heat_capacity_j_per_g_k(component: str, temperature_c: ArrayLike) -> FloatOrArray:
    """Heat capacity of one component, in J/(g K).

    Parameters
    ----------
    component
        One of ``COMPONENTS``.
    temperature_c
        0 to 100 C. The equations reach from -40 to 150 C, water here only so far.

    Notes
    -----
    a + b T + c T^2, Choi & Okos 1986; water from IAPWS-95. energetics-and-mixing.md section 3.2, check C30.
    """
    temperature = _temperature(temperature_c)
    if component == "water":
        return water.heat_capacity_j_per_g_k(temperature)
    a, b, c = _HEAT_CAPACITY[_known(component)]
    return scalar_or_array(a + b * temperature + c * temperature**2)


def component_density_g_per_ml(component: str, temperature_c: ArrayLike) -> FloatOrArray:
    """True density of one component, in g/mL; arguments as :func:`component_heat_capacity_j_per_g_k`.

    Notes
    -----
    a + b T, Choi & Okos 1986; water from IAPWS-95. energetics-and-mixing.md section 3.2.
    """
    temperature = _temperature(temperature_c)
    if component == "water":
        return water.density_g_per_ml(temperature)
    a, b = _DENSITY_KG_PER_M3[_known(component)]
    return scalar_or_array((a + b * temperature) / 1000.0)


@dataclass(frozen=True, slots=True)
class HeatCurve:
    """Heat capacity of one powder over temperature, its composition summed up once.

    Parameters
    ----------
    water
        Mass fraction of water.
    solids
        a, b, c of the dry components together: J/(g K) as a + b T + c T^2 per gram of powder.
    """

    water: float
    solids: tuple[float, float, float]

    @classmethod
    def of(cls, composition: Mapping[str, float]) -> HeatCurve:
        """Sum up a composition; errors as :func:`fractions`."""
        shares = fractions(composition)
        a, b, c = (sum(shares[name] * row[term] for name, row in _HEAT_CAPACITY.items()) for term in range(3))
        return cls(water=shares["water"], solids=(a, b, c))

    def capacity_j_per_g_k(self, temperature_c: ArrayLike) -> FloatArray:
        """Heat capacity in J/(g K)."""
        temperature = _temperature(temperature_c)
        a, b, c = self.solids
        moist = self.water * np.asarray(water.heat_capacity_j_per_g_k(temperature))
        return np.asarray(moist + a + temperature * (b + temperature * c))

    def enthalpy_j_per_g(self, temperature_c: ArrayLike) -> FloatArray:
        """Heat content above 0 C in J/g: the integral of the capacity."""
        temperature = _temperature(temperature_c)
        a, b, c = self.solids
        moist = self.water * (np.asarray(water.enthalpy_j_per_g(temperature)) - _WATER_AT_0_C_J_PER_G)
        return np.asarray(moist + temperature * (a + temperature * (b / 2.0 + temperature * c / 3.0)))


def heat_capacity_j_per_g_k(composition: Mapping[str, float], temperature_c: ArrayLike) -> FloatOrArray:
    """Heat capacity of the powder, in J/(g K).

    Notes
    -----
    cp = sum x_i cp_i. Choi & Okos 1986; measured low-moisture flour is 5 to 10 % lower (bound water), which
    moves a mix by about 0.2 K. energetics-and-mixing.md section 3.2, check C31.
    """
    return scalar_or_array(HeatCurve.of(composition).capacity_j_per_g_k(temperature_c))


def enthalpy_j_per_g(composition: Mapping[str, float], temperature_c: ArrayLike) -> FloatOrArray:
    """Heat content of the powder above 0 C, in J/g; only differences mean anything.

    Notes
    -----
    Integral of :func:`heat_capacity_j_per_g_k` from 0 C: sum x_i (a T + b T^2 / 2 + c T^3 / 3), water by
    its enthalpy.
    """
    return scalar_or_array(HeatCurve.of(composition).enthalpy_j_per_g(temperature_c))


def heat_between_j_per_g(composition: Mapping[str, float], from_c: ArrayLike, to_c: ArrayLike) -> FloatOrArray:
    """Heat that a gram of powder takes up between two temperatures, in J/g; negative when it cools."""
    curve = HeatCurve.of(composition)
    return scalar_or_array(curve.enthalpy_j_per_g(to_c) - curve.enthalpy_j_per_g(from_c))


def density_g_per_ml(composition: Mapping[str, float], temperature_c: ArrayLike) -> FloatOrArray:
    """True density of the powder's substance, without the air between its grains, in g/mL.

    Notes
    -----
    Volumes add: 1 / rho = sum x_i / rho_i. Averaging densities by mass gives 5 % too much (check C31).
    energetics-and-mixing.md section 3.2.
    """
    return scalar_or_array(1.0 / _volume_ml_per_g(composition, temperature_c, COMPONENTS))


def dry_solids_volume_ml_per_g(composition: Mapping[str, float], temperature_c: ArrayLike) -> FloatOrArray:
    """Volume that a gram of the powder's dry matter takes up in a slurry, in mL/g.

    Raises
    ------
    DomainError
        If the powder is nothing but water.

    Notes
    -----
    sum over all but water of (x_i / rho_i) / (1 - x_water). energetics-and-mixing.md sections 3.2 and 3.5.
    """
    dry = 1.0 - fractions(composition)["water"]
    if dry <= 0.0:
        raise DomainError("The powder holds no dry matter.", field="composition", code="no_dry_matter")
    return scalar_or_array(_volume_ml_per_g(composition, temperature_c, COMPONENTS[1:]) / dry)


def _volume_ml_per_g(composition: Mapping[str, float], temperature_c: ArrayLike, names: tuple[str, ...]) -> FloatArray:
    temperature = _temperature(temperature_c)
    shares = fractions(composition)
    volumes = [shares[name] / np.asarray(component_density_g_per_ml(name, temperature)) for name in names]
    return np.asarray(np.sum(volumes, axis=0))


def _temperature(temperature_c: ArrayLike) -> FloatArray:
    return within(temperature_c, "temperature_c", low=water.COLDEST_C, high=water.HOTTEST_C)


def _known(component: str) -> str:
    if component not in _HEAT_CAPACITY:
        raise DomainError(
            f"There is no component {component!r}.",
            field="component",
            code="components",
            remedy=f"Use one of {', '.join(COMPONENTS)}.",
        )
    return component
