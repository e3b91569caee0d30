"""Metabolisable energy of a powder and of the slurry that is made from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from species.biology.bounds import FloatOrArray, positive, scalar_or_array, within
from species.biology.powder import fractions
from species.domain.errors import DomainError

PROTEIN_KJ_PER_G = 15.51
FAT_KJ_PER_G = 34.31
STARCH_KJ_PER_G = 16.69
SUGAR_KJ_PER_G = 13.01
"""WPSA poultry formula, sugar as sucrose; fibre counts nothing (energetics-and-mixing.md section 1.7)."""


@dataclass(frozen=True, slots=True)
class EnergyReading:
    """Energy of a powder per gram of dry matter, where its label leaves a choice of readings."""

    low_kj_per_g_dm: float
    high_kj_per_g_dm: float


def label_energy_kj_per_g(
    protein_fraction: ArrayLike,
    fat_fraction: ArrayLike,
    starch_fraction: ArrayLike,
    sugar_fraction: ArrayLike,
) -> FloatOrArray:
    """Metabolisable energy of a mixed powder from its label, in kJ per g as sold.

    Parameters
    ----------
    protein_fraction, fat_fraction, starch_fraction, sugar_fraction
        Mass fractions as sold, sugar as sucrose.

    Raises
    ------
    DomainError
        If a fraction is negative, or together they exceed the whole.

    Notes
    -----
    ME (MJ/kg) = 0.1551 CP% + 0.3431 fat% + 0.1669 starch% + 0.1301 sugar%. WPSA, Reg. (EC) 152/2009;
    energetics-and-mixing.md section 1.7, check C36. Made for poultry; hatchlings assimilate differently.
    """
    protein = within(protein_fraction, "protein_fraction", low=0.0, high=1.0)
    fat = within(fat_fraction, "fat_fraction", low=0.0, high=1.0)
    starch = within(starch_fraction, "starch_fraction", low=0.0, high=1.0)
    sugar = within(sugar_fraction, "sugar_fraction", low=0.0, high=1.0)
    if np.any(protein + fat + starch + sugar > 1.0 + 1e-9):
        raise DomainError(
            "The fractions of the label add up to more than the whole.",
            field="starch_fraction",
            code="composition_sum",
            remedy="Give fractions of the powder as sold, not per cent.",
        )
    return scalar_or_array(
        PROTEIN_KJ_PER_G * protein + FAT_KJ_PER_G * fat + STARCH_KJ_PER_G * starch + SUGAR_KJ_PER_G * sugar
    )


def composition_energy(composition: Mapping[str, float]) -> EnergyReading:
    """Energy of a powder of which only protein, fat and carbohydrate as a whole are known.

    Parameters
    ----------
    composition
        Mass fractions as sold, see :mod:`species.biology.powder`.

    Returns
    -------
    EnergyReading
        Low: all carbohydrate is sugar. High: all of it is starch.

    Raises
    ------
    DomainError
        As :func:`species.biology.powder.fractions`, or if the powder holds no dry matter.

    Notes
    -----
    The WPSA factors of :func:`label_energy_kj_per_g` divided by the dry matter. energetics-and-mixing.md
    section 1.7.
    """
    shares = fractions(composition)
    dry = 1.0 - shares["water"]
    if dry <= 0.0:
        raise DomainError("The powder holds no dry matter.", field="composition", code="no_dry_matter")
    carbohydrate = shares["carbohydrate"]
    low = label_energy_kj_per_g(shares["protein"], shares["fat"], 0.0, carbohydrate)
    high = label_energy_kj_per_g(shares["protein"], shares["fat"], carbohydrate, 0.0)
    return EnergyReading(low_kj_per_g_dm=float(low) / dry, high_kj_per_g_dm=float(high) / dry)


def composition_energy_kj_per_g_dm(composition: Mapping[str, float]) -> float:
    """Energy to plan with where only a composition is known: the low reading of :func:`composition_energy`.

    The low reading is the cautious one. Too high an energy starves the bird without anyone seeing it; too
    low an energy asks for more food, which the crop rule and the printed bands hold. It is at most 22 %
    below the high one.
    """
    return composition_energy(composition).low_kj_per_g_dm


def energy_kj_per_ml(
    dry_matter_fraction: ArrayLike, energy_kj_per_g_dm: ArrayLike, slurry_density_g_per_ml: ArrayLike
) -> FloatOrArray:
    """Metabolisable energy of a millilitre of slurry, in kJ/mL.

    Parameters
    ----------
    dry_matter_fraction
        Dry matter of the slurry by mass.
    energy_kj_per_g_dm
        Metabolisable energy of the dry matter; at most 40 kJ/g, above which nothing edible lies.
    slurry_density_g_per_ml
        From :func:`species.biology.mixing.slurry_density_g_per_ml`.

    Notes
    -----
    E = s e rho. energetics-and-mixing.md section 3.5, check C32.
    """
    return scalar_or_array(
        within(dry_matter_fraction, "dry_matter_fraction", low=0.0, high=1.0)
        * positive(energy_kj_per_g_dm, "energy_kj_per_g_dm", high=40.0)
        * positive(slurry_density_g_per_ml, "slurry_density_g_per_ml", high=3.0)
    )
