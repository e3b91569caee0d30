"""Reading the reference: search, near names, revisions, and how many queries each takes."""

import pytest

from species.domain.errors import DomainError
from species.selectors import (
    RenamedSpecies,
    UnknownRevision,
    UnknownSpecies,
    food_get,
    profile_get,
    profile_list,
    revision_list,
    source_get,
    sources_get,
)
from species.selectors.search import match_score, plain

PARROT, FLYCATCHER, DUCK = "fictus-psittacinus", "fictus-muscivorus", "natans-inventus-domesticus"

pytestmark = pytest.mark.django_db


def found(**filters):
    return [listed.key for listed in profile_list(**filters)[1]]


@pytest.mark.parametrize(
    ("search", "first"),
    [
        ("Invented parakeet", PARROT),
        ("invented PARAKEET", PARROT),
        ("parakete", PARROT),
        ("Märchensittich", PARROT),
        ("marchensittich", PARROT),
        ("MÄRCHENSITICH", PARROT),
        ("Fictus psittacinus", PARROT),
        ("fictus-psittacinus", PARROT),
        ("psittacinus", PARROT),
        ("fictus psitacinus", PARROT),
        ("Fictus loquax", PARROT),
        ("eclairs flycatcher", FLYCATCHER),
        ("Éclair’s Flycatcher", FLYCATCHER),
        ("flycacher", FLYCATCHER),
        ("farm duck", DUCK),
        ("duck", DUCK),
        ("natans_inventus", DUCK),
    ],
)
def test_a_name_is_found_in_spite_of_case_accents_and_slips(loaded, search, first):
    assert found(search=search)[0] == first


@pytest.mark.parametrize("search", ["zzzzzz", "penguin", "%", "'; drop table", "-", "\N{SNOWMAN}"])
def test_what_is_no_name_here_finds_nothing(loaded, search):
    assert profile_list(search=search) == (0, ())


def test_the_whole_name_comes_before_names_that_contain_it():
    ranked = ["dove", "dove of no name", "mourning dove", "foxglovedoves", "rufous dvoe"]
    scores = [match_score("dove", [name]) for name in ranked]
    assert scores == sorted(scores, reverse=True)
    assert len(set(scores)) == len(scores)
    assert match_score("dove", ["house sparrow"]) == 0


# Unicode 16, chapter 2.11 and NFKD: an accent is a combining character of its own.
@pytest.mark.parametrize(
    ("text", "expected"),
    [("Calopsitte élégante", "calopsitte elegante"), ("STRAßE_x  y-z", "strasse x y z"), ("ﬁnch", "finch")],
)
def test_plain(text, expected):
    assert plain(text) == expected


def test_filters(loaded):
    assert set(found(order="inventiformes")) == {PARROT, FLYCATCHER}
    assert found(family="NATANTIDAE") == [DUCK]
    assert found(diet="insectivore") == [FLYCATCHER]
    assert found(evidence="curated") == [PARROT]
    assert found(evidence="curated", diet="grazer") == []


def test_the_parts_of_a_list_make_the_whole(loaded):
    whole = found()
    parts = [profile_list(limit=1, offset=offset) for offset in range(4)]
    assert [count for count, _ in parts] == [3] * 4
    assert [listed.key for _, part in parts for listed in part] == whole


def test_an_unknown_key_suggests_near_ones(loaded):
    with pytest.raises(UnknownSpecies) as raised:
        profile_get("fictus-psitacinus")
    assert raised.value.near[0] == PARROT
    assert "Invented parakeet" in raised.value.remedy
    assert raised.value.code == "unknown_species"


@pytest.mark.parametrize("key", ["", "x" * 100_000, "\x00", "zzz-zzz"])
def test_a_key_like_none_suggests_none(loaded, key):
    with pytest.raises(UnknownSpecies) as raised:
        profile_get(key)
    assert raised.value.near == ()
    assert len(str(raised.value)) < 300


def test_a_former_key_leads_to_the_new_one(loaded):
    for read in (profile_get, revision_list):
        with pytest.raises(RenamedSpecies) as raised:
            read("fictus-loquax")
        assert raised.value.new_key == PARROT


@pytest.mark.parametrize("revision", [0, 2, -1, 10**6])
def test_a_revision_that_is_not_there(loaded, revision):
    with pytest.raises(UnknownRevision):
        profile_get(PARROT, revision)


def test_sources(loaded):
    assert source_get("INV2").seen is False
    assert set(sources_get(["INV", "INV2", "NONE"], "invented")) == {"INV", "INV2"}
    for key in ("NONE", "\x00"):
        with pytest.raises(DomainError):
            source_get(key)
    with pytest.raises(DomainError) as raised:
        food_get("unicorn")
    assert "cricket" in raised.value.remedy


def test_queries(loaded, django_assert_num_queries):
    profile_get(PARROT)
    with django_assert_num_queries(1):
        profile_get(PARROT)
    with django_assert_num_queries(2):
        profile_list(search="duck")
    with django_assert_num_queries(2):
        revision_list(PARROT)
    with django_assert_num_queries(1):
        food_get("cricket")
