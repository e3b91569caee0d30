"""Species of the open growth data that lines on adult mass are fitted to; the data stay outside the repository."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from species.biology.pooled_lines import FLEDGING_CENTRE, MASS_CENTRE, PRECOCIAL, Relatives

LEAST_R2 = 0.9


@dataclass(frozen=True, slots=True)
class MeasuredSpecies:
    """One species: its fitted series of most points, and what a reader may be told of it."""

    name: str
    order: str
    family: str
    adult_g: float
    fledging_days: float
    halfway_g: float
    rate_per_day: float
    inflection_days: float
    series: tuple[dict[str, str], ...]

    @property
    def genus(self) -> str:
        return self.name.split("_")[0]


def mass_of_fit(row: dict[str, str], age_days: float) -> float:
    """Mass at an age by the form of the lowest AICc of a row of ``amp_bird_growth_fits.csv``."""
    form = row["best_model_aicc"]
    asymptote, rate, inflection = (float(row[f"{form}_{name}"]) for name in ("A", "K", "ti"))
    decay = math.exp(-rate * (age_days - inflection))
    if form == "logistic":
        return asymptote / (1.0 + decay)
    if form == "gompertz":
        return asymptote * math.exp(-decay)
    return float(asymptote * (1.0 - decay / 3.0) ** 3)


def measured_species(folder: Path) -> list[MeasuredSpecies]:
    """Species that are fed in the nest, with a good curve that spans half of a fledging age that is known.

    Parameters
    ----------
    folder
        The reference folder; its ``data`` is read.

    Notes
    -----
    Curve: ``quality_ok``, r2 of the logistic at least 0.9, of several the series of most points that spans the age.
    Adult mass: AVONET's, else that of the table of fits. Fledging age: the first of AmP's that is no guess, else
    Amniote's. Not in it: :data:`PRECOCIAL`.
    """
    data = folder / "data"
    avonet = {row["species"].replace(" ", "_"): row["mass_g"] for row in _rows(data / "avonet_birdlife_mass.csv")}
    fledging: dict[str, float] = {}
    for row in _rows(data / "amp_bird_life_history.csv"):
        if row["variable"] == "fledging_age_d" and row["bibkey"] != "guess":
            fledging.setdefault(row["species"], float(row["value"]))
    for row in _rows(data / "amniote_birds.csv"):
        if row["fledging_age_d"]:
            fledging.setdefault(f"{row['genus']}_{row['species']}", float(row["fledging_age_d"]))
    series: dict[str, list[dict[str, str]]] = {}
    for row in _rows(data / "amp_bird_growth_fits.csv"):
        name = row["species"]
        good = row["quality_ok"] == "True" and row["adult_mass_g"] and float(row["logistic_r2"] or 0.0) >= LEAST_R2
        if good and name in fledging and not {row["order"], row["family"]} & PRECOCIAL:
            halfway = fledging[name] / 2.0
            if float(row["age_min_fit_d"]) <= halfway <= float(row["age_max_fit_d"]):
                series.setdefault(name, []).append(row)
    found = []
    for name, rows in sorted(series.items()):
        row = max(rows, key=lambda one: int(one["n_fit"]))
        found.append(
            MeasuredSpecies(
                name=name,
                order=row["order"],
                family=row["family"],
                adult_g=float(avonet.get(name) or row["adult_mass_g"]),
                fledging_days=fledging[name],
                halfway_g=mass_of_fit(row, fledging[name] / 2.0),
                rate_per_day=float(row["logistic_K"]),
                inflection_days=float(row["logistic_ti"]),
                series=tuple(rows),
            )
        )
    return found


def relatives(species: list[MeasuredSpecies], target: str) -> Relatives:
    """What a line of :mod:`species.biology.any_bird` is fitted to.

    Parameters
    ----------
    target
        ``fledging`` ln F and ``halfway`` ln(m / M), on mass; ``halfway_told`` ln(m / M), ``rate`` ln K and ``shape``
        K (t_i - F/2), on mass and fledging age; m the mass at half of the fledging age F, M the adult mass.
    """
    mass = np.log([one.adult_g for one in species])
    fledging = np.log([one.fledging_days for one in species])
    values = {
        "fledging": fledging,
        "halfway": np.log([one.halfway_g for one in species]) - mass,
        "rate": np.log([one.rate_per_day for one in species]),
        "shape": np.array([one.rate_per_day * (one.inflection_days - one.fledging_days / 2.0) for one in species]),
    }
    values["halfway_told"] = values["halfway"]
    columns = [mass - MASS_CENTRE]
    if target not in ("fledging", "halfway"):
        columns.append(fledging - FLEDGING_CENTRE)
    return Relatives(
        np.array([one.order for one in species]),
        np.array([one.family for one in species]),
        np.column_stack(columns),
        values[target],
    )


def _rows(path: Path) -> Iterator[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        yield from csv.DictReader(file)
