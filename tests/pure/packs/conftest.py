"""The invented packs of fixtures/packs, and ways to spoil a good one."""

import copy
import dataclasses
import shutil
from pathlib import Path

import msgspec
import pytest

from species.packs.read import read_pack

PACKS = Path(__file__).resolve().parents[3] / "fixtures" / "packs"


@pytest.fixture
def packs() -> Path:
    return PACKS


@pytest.fixture
def pack_copy(tmp_path) -> Path:
    """A good pack on disk, to be spoilt."""
    return Path(shutil.copytree(PACKS / "good", tmp_path / "pack"))


@pytest.fixture(scope="session")
def good_reading():
    return read_pack(PACKS / "good")


@pytest.fixture
def altered(good_reading):
    """The reading of the good pack with values of one profile set, ``None`` taking them out.

    A path is the field names and list places that lead to the value, joined by slashes.
    """

    def alter(key: str, changes: dict[str, object]):
        file, profile = next(item for item in good_reading.profiles.items() if item[1].key == key)
        document = copy.deepcopy(msgspec.to_builtins(profile))
        for path, value in changes.items():
            *steps, last = [int(step) if step.isdigit() else step for step in path.split("/")]
            place = document
            for step in steps:
                if isinstance(place, tuple | list):
                    place = place[step]
                else:
                    if isinstance(place[step], tuple):
                        place[step] = list(place[step])
                    place = place[step]
            place[last] = value
        changed = msgspec.convert(document, type(profile))
        return dataclasses.replace(good_reading, profiles={**good_reading.profiles, file: changed})

    return alter
