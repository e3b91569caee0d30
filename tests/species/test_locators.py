"""Every value of the built-in pack is where it says it is: cells are read again, other keys resolved.

Source: the tables themselves, of `../shared/reference/data/` (README there); tolerance is three significant digits.
"""

import math
import tomllib

import pytest

from tests.species.builtin_files import BUILTIN
from tests.species.locators import found_at, is_of_a_table

THREE_DIGITS = 0.005
PROFILES = sorted(path.relative_to(BUILTIN).with_suffix("").as_posix() for path in BUILTIN.glob("*/*.toml"))
KEYS = {source["key"] for source in tomllib.loads((BUILTIN / "SOURCES.toml").read_text("utf-8"))["source"]}


def sourced(node, pointer=""):
    """Every table that has sources, with its place."""
    if isinstance(node, dict):
        if "reach" in node:
            yield pointer, node
        for name, part in node.items():
            yield from sourced(part, f"{pointer}/{name}")
    elif isinstance(node, list):
        for index, part in enumerate(node):
            yield from sourced(part, f"{pointer}/{index}")


def same(a, b):
    return math.isclose(a, b, rel_tol=THREE_DIGITS, abs_tol=1e-12)


def faults_of(value, own_names):
    """What a value and the cells it cites disagree in."""
    cells = []
    for locator in value.get("sources", ()):
        if not is_of_a_table(locator):
            continue
        found = found_at(locator)
        if value["reach"] == "species" and found.species not in own_names:
            yield f"{locator}: speaks of {found.species}; the value's reach is 'group'."
        cells.append(found.numbers)
    cells = [numbers for numbers in cells if numbers]
    if "value" in value and not isinstance(value["value"], bool):
        for numbers in cells:
            if not any(same(value["value"], number) for number in numbers):
                yield f"{value['value']:g} is not {numbers} of {value['sources']}"
    elif "low" in value:
        low, high = value["low"], value["high"]
        flat = [number for numbers in cells for number in numbers]
        for numbers in cells:
            if not any(low * (1 - THREE_DIGITS) <= number <= high * (1 + THREE_DIGITS) for number in numbers):
                yield f"{low:g} to {high:g} does not hold {numbers} of {value['sources']}"
        if flat and all(is_of_a_table(locator) for locator in value["sources"]):
            for end in (low, high):
                if not any(same(end, number) for number in flat):
                    yield f"the end {end:g} is no cell of {value['sources']}"


@pytest.mark.parametrize("name", PROFILES)
def test_every_cell_says_what_the_profile_says(name):
    profile = tomllib.loads((BUILTIN / f"{name}.toml").read_text("utf-8"))
    own_names = {profile["scientific_name"], *profile.get("synonyms", ())}
    faults = []
    for pointer, value in sourced(profile):
        try:
            faults += [f"{pointer}: {fault}" for fault in faults_of(value, own_names)]
        except AssertionError as lost:
            faults.append(f"{pointer}: {lost}")
    assert faults == []


@pytest.mark.parametrize("name", [*PROFILES, "foods", "formulas"])
def test_every_other_key_is_a_source(name):
    document = tomllib.loads((BUILTIN / f"{name}.toml").read_text("utf-8"))
    cited = {locator.split(" ", 1)[0] for _, value in sourced(document) for locator in value.get("sources", ())}
    assert cited <= KEYS
    assert all(
        len(locator.split(" ", 1)) == 2 for _, value in sourced(document) for locator in value.get("sources", ())
    )


STARLING = "row Sturnus vulgaris column"


@pytest.mark.parametrize(
    ("value", "fault"),
    [
        ({"value": 79.0, "sources": [f"AV avonet_birdlife_mass.csv {STARLING} mass_g"]}, "is not"),
        ({"value": 77.1, "sources": [f"AM avonet_birdlife_mass.csv {STARLING} mass_g"]}, "is not AM's"),
        ({"value": 77.1, "sources": ["AV avonet_birdlife_mass.csv row Sturnus vulgare column mass_g"]}, "0 rows"),
        ({"value": 77.1, "sources": ["AV avonet_birdlife_mass.csv row Passer domesticus column mass_g"]}, "speaks of"),
        ({"value": 77.1, "sources": ["AV avonet_birdlife_mass.csv, starling"]}, "write"),
        (
            {"low": 20.0, "high": 22.0, "sources": [f"AM amniote_birds.csv {STARLING} fledging_age_d"]},
            "end",
        ),
    ],
)  # AVONET 77.1 g, Amniote 21 d: the tables' own cells
def test_a_wrong_citation_is_found(value, fault):
    try:
        told = " ".join(faults_of({"reach": "species", **value}, {"Sturnus vulgaris"}))
    except AssertionError as lost:
        told = str(lost)
    assert fault in told
