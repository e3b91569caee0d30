"""The pack we ship: without a fault, loadable, findable by the names people use."""

import pytest

from species import builtin
from species.curation.services import pack_apply
from species.packs.check import check_pack
from species.packs.findings import errors_of
from species.selectors import foods_get, formula_get, profile_get, profile_list, sources_get


@pytest.fixture(scope="module")
def checked():
    return check_pack(builtin.folder())


def test_it_has_no_fault(checked):
    assert [str(finding) for finding in errors_of(checked.findings)] == []
    assert len(checked.pack.profiles) >= 8


@pytest.fixture
def loaded_builtin(db, checked):
    pack_apply(pack=checked.pack)
    return checked.pack


def test_it_loads_and_reads_back_the_same(loaded_builtin):
    for profile in loaded_builtin.profiles:
        assert profile_get(profile.key) == (profile, 1)
        if profile.default_formula is not None:
            formula_get(profile.default_formula)
        foods = {food for stage in profile.stages for food in stage.foods}
        assert set(foods_get(foods)) == foods
    assert set(sources_get(source.key for source in loaded_builtin.sources)) == {
        source.key for source in loaded_builtin.sources
    }


# English names: IOC World Bird List (names as commonly spelt and misspelt; the slips are ours).
@pytest.mark.parametrize(
    ("search", "key"),
    [
        ("cockatiel", "nymphicus-hollandicus"),
        ("cokatiel", "nymphicus-hollandicus"),
        ("Nymphensittich", "nymphicus-hollandicus"),
        ("mourning dove", "zenaida-macroura"),
        ("morning dove", "zenaida-macroura"),
        ("house sparow", "passer-domesticus"),
        ("common swift", "apus-apus"),
        ("mallard", "anas-platyrhynchos"),
        ("barn owl", "tyto-alba"),
        ("kestrel", "falco-sparverius"),
        ("PASSER DOMESTICUS", "passer-domesticus"),
    ],
)
def test_people_find_their_bird(loaded_builtin, search, key):
    assert profile_list(search=search)[1][0].key == key
