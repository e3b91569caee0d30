"""Weighed chicks of the reference data, in two halves: one to fit on, one that is only ever judged.

A nest goes whole into one half, because chicks of one nest share food and weather. The half is read off the SHA-256 of
the file's and the nest's name; it was fixed before anything was fitted and has no parameter.
"""

import csv
import hashlib
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tests.reference_data import needs_reference

Half = Literal["fit", "test"]

#: By file: the column that names the nest.
NEST_COLUMN = {
    "chick_common_tern": "nest",
    "chick_tree_swallow_2017": "nest",
    "chick_song_sparrow": "nest",
    "chick_zebra_finch_diet": "brood",
}


def half_of(file: str, nest: str) -> Half:
    """Whether a nest is fitted on or judged by."""
    return "test" if hashlib.sha256(f"{file}:{nest}".encode()).digest()[0] % 2 else "fit"


@dataclass(frozen=True)
class Chicks:
    """n chicks by at most m weighings; after a chick's last weighing its rows are NaN."""

    ids: tuple[str, ...]
    nests: tuple[str, ...]
    age_days: NDArray[np.float64]
    mass_g: NDArray[np.float64]
    #: Of each chick its rows of the file, in order of age.
    rows: tuple[tuple[dict[str, str], ...], ...]

    @property
    def weighed(self) -> NDArray[np.bool_]:
        return np.isfinite(self.mass_g)

    def of(self, chosen: NDArray[np.bool_]) -> "Chicks":
        picked = np.flatnonzero(chosen)
        return Chicks(
            tuple(self.ids[i] for i in picked),
            tuple(self.nests[i] for i in picked),
            self.age_days[picked],
            self.mass_g[picked],
            tuple(self.rows[i] for i in picked),
        )


def chicks(file: str, half: Half | None = None, *, at_least: int = 1) -> Chicks:
    """Chicks of one file: those of a half, with so many weighings of a mass above 0; of one age the first counts."""
    nest = NEST_COLUMN[file]
    rows = [row for row in _rows(needs_reference("data", f"{file}.csv")) if row["mass_g"] and float(row["mass_g"]) > 0]
    rows = [row for row in rows if row["age_d"] and half in (None, half_of(file, row[nest]))]
    rows.sort(key=lambda row: (row["chick_id"], float(row["age_d"])))
    found = []
    for _, of_chick in groupby(rows, key=lambda row: row["chick_id"]):
        by_age = {float(row["age_d"]): row for row in reversed(list(of_chick))}
        found.append(tuple(by_age[age] for age in sorted(by_age)))
    found = [weighings for weighings in found if len(weighings) >= at_least]
    age, mass = (np.full((len(found), max(map(len, found))), np.nan) for _ in range(2))
    for i, weighings in enumerate(found):
        age[i, : len(weighings)] = [float(row["age_d"]) for row in weighings]
        mass[i, : len(weighings)] = [float(row["mass_g"]) for row in weighings]
    ids, nests = (tuple(weighings[0][name] for weighings in found) for name in ("chick_id", nest))
    return Chicks(ids, nests, age, mass, tuple(found))


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))
