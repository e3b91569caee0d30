"""Exchanges about birds of the built-in pack, kept for the OpenAPI document."""

from datetime import UTC, datetime

import pytest

from species import builtin
from species.curation.services import pack_apply
from species.packs.check import check_pack
from tests.examples import example


@pytest.fixture
def builtin_pack(db):
    pack_apply(pack=check_pack(builtin.folder()).pack, now=datetime(2027, 4, 1, tzinfo=UTC))


def test_a_misspelt_name(builtin_pack, api):
    query = {"search": "cokatiel"}
    response = api.get("/api/v1/species", query)
    assert response.json()["results"][0]["key"] == "nymphicus-hollandicus"
    example("species_list", "misspelt-name", "A misspelt name finds its bird", query, response)


def test_growth_of_a_swift(builtin_pack, api):
    response = api.get("/api/v1/species/apus-apus/growth-curve")
    assert response.status_code == 200
    example("species_growth_curve", "common-swift", "Growth of a common swift", None, response)


def test_more_species_take_no_more_queries(builtin_pack, api, django_assert_num_queries):
    """As many as test_species.test_queries counts over three species."""
    for query in ({}, {"search": "kestrel"}, {"limit": 1}):
        with django_assert_num_queries(2):
            api.get("/api/v1/species", query)
