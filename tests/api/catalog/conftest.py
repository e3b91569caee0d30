"""The invented pack in a database, with one species changed once."""

from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pytest

from species.curation.services import pack_apply
from species.packs.check import check_pack

PACKS = Path(__file__).resolve().parents[3] / "fixtures" / "packs"


@pytest.fixture
def species(db):
    """The good pack as it is now; its parakeet had another wait before."""
    now = check_pack(PACKS / "good").pack
    before = tuple(
        msgspec.structs.replace(profile, longest_wait_h=None) if profile.key == "fictus-psittacinus" else profile
        for profile in now.profiles
    )
    pack_apply(pack=msgspec.structs.replace(now, profiles=before), now=datetime(2027, 3, 1, tzinfo=UTC))
    pack_apply(pack=now, now=datetime(2027, 4, 1, tzinfo=UTC))
    return {profile.key: profile for profile in now.profiles}
