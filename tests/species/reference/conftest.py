"""The invented packs of fixtures/packs in a database."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from species.curation.services import pack_apply
from species.packs.check import check_pack

PACKS = Path(__file__).resolve().parents[3] / "fixtures" / "packs"
LOADED_AT = datetime(2027, 4, 1, 5, 0, tzinfo=UTC)


@pytest.fixture
def pack_copy(tmp_path) -> Path:
    """The good pack on disk, to be changed."""
    return Path(shutil.copytree(PACKS / "good", tmp_path / "pack"))


@pytest.fixture
def good_pack():
    return check_pack(PACKS / "good").pack


@pytest.fixture
def loaded(db, good_pack):
    """The good pack, loaded."""
    return pack_apply(pack=good_pack, now=LOADED_AT)


@pytest.fixture
def edit(pack_copy):
    """Replace text in a file of the copied pack and give the pack as it is then."""

    def replace(file: str, old: str, new: str):
        path = pack_copy / file
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new))
        pack = check_pack(pack_copy).pack
        assert pack is not None
        return pack

    return replace
