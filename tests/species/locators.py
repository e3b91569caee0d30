"""Reads a locator that names a cell or a series of the open tables, and finds what stands there.

``KEY file.csv row ROW column COLUMN`` or ``KEY amp_bird_growth_points.csv series ID``. Imports nothing of the project.
"""

import csv
import re
from dataclasses import dataclass
from functools import cache

from tests.reference_data import needs_reference

CELL = re.compile(r"^(?P<key>\S+) (?P<file>\w+\.csv) row (?P<row>.+?) column (?P<column>.+)$")
SERIES = re.compile(r"^(?P<key>\S+) amp_bird_growth_points\.csv series (?P<first>\d+)$")
#: The one key that may name a table of the open collections.
KEY_OF_FILE = {
    "avonet_birdlife_mass.csv": {"AV"},
    "amniote_birds.csv": {"AM"},
    "anage_birds.csv": {"AN"},
    "eltontraits_birds_mass.csv": {"ET"},
    "amp_bird_growth_fits.csv": {"OURFIT"},
}
#: Columns of our own fits in the table of species; its other cells belong to the works named beside them.
OUR_COLUMNS = {"A_g", "K_per_d", "t_infl_d", "A_logistic", "K_logistic", "ti_logistic", "form"}
#: What the curators of the open collection guessed is no source.
GUESSED = {"guess"}


class LocatorError(AssertionError):
    """It names a table, and does not lead to one cell or one series of it."""


@dataclass(frozen=True)
class Found:
    """Numbers at the place, and the species whose row it is."""

    numbers: tuple[float, ...]
    species: str


@cache
def table(file):
    with needs_reference("data", file).open(newline="", encoding="utf-8") as lines:
        return tuple(csv.DictReader(lines))


def binomial(file, row):
    if file == "amniote_birds.csv":
        return f"{row['genus']} {row['species']}"
    if file == "anage_birds.csv":
        return f"{row['Genus']} {row['Species']}"
    return row["species"].replace("_", " ")


@cache
def rows_by_species(file):
    found = {}
    for row in table(file):
        found.setdefault(binomial(file, row), []).append(row)
    return found


def is_of_a_table(locator):
    return ".csv" in locator


def found_at(locator):
    """What a locator leads to.

    Raises
    ------
    LocatorError
        Of one that leads nowhere, to a blank, or under another's key.
    """
    series = SERIES.match(locator)
    if series:
        [row] = [row for row in table("amp_bird_growth_series.csv") if row["series_id"] == series["first"]] or [None]
        if row is None:
            raise LocatorError(f"{locator}: there is no such series.")
        return Found((), row["species"].replace("_", " "))
    cell = CELL.match(locator)
    if cell is None:
        raise LocatorError(f"{locator}: write 'KEY file.csv row ROW column COLUMN', or 'series ID' of the points.")
    key, file, row, column = (cell[name] for name in ("key", "file", "row", "column"))
    if key not in KEY_OF_FILE.get(file, {key}):
        raise LocatorError(f"{locator}: {file} is not {key}'s.")
    if file == "species_growth_table.csv" and column != "peak_g" and (key == "OURFIT") != (column in OUR_COLUMNS):
        raise LocatorError(f"{locator}: {column} is not {key}'s.")
    if file == "amp_bird_life_history.csv":
        return _life_history(locator, row.replace("_", " "), column)
    name, series = row, None
    if file == "amp_bird_growth_fits.csv":
        name, _, series = row.partition("/")
        name = name.replace("_", " ")
    rows = rows_by_species(file).get(name, [])
    if series is not None:
        rows = [row for row in rows if row["series"] == series]
    elif len(rows) > 1:
        rows = [row for row in rows if not row.get("subspecies")]
    if len(rows) != 1:
        raise LocatorError(f"{locator}: {len(rows)} rows have that name.")
    if column not in rows[0]:
        raise LocatorError(f"{locator}: the table has no such column.")
    text = rows[0][column]
    if text == "":
        raise LocatorError(f"{locator}: the cell is empty.")
    try:
        return Found((float(text),), name)
    except ValueError:
        return Found((), name)


def _life_history(locator, species, variable):
    rows = [
        row
        for row in rows_by_species("amp_bird_life_history.csv").get(species, [])
        if row["variable"] == variable and row["bibkey"] not in GUESSED
    ]
    if not rows:
        raise LocatorError(f"{locator}: no such row, or one that was guessed.")
    return Found(tuple(float(row["value"]) for row in rows), species)
