"""What every test of the HTTP interface stands on: built-in species, and answers held against the document."""

from functools import cache

import msgspec
import pytest
from django.test import Client

from species import builtin
from species.curation.services import pack_apply
from species.domain.pack import Pack
from species.packs.check import check_pack
from tests import openapi

#: The birds that these tests speak of. Loading all for each test would take most of its time;
#: tests/species loads the whole pack.
SPOKEN_OF = frozenset(
    {
        "anas-platyrhynchos",
        "apus-apus",
        "ardea-herodias",
        "columba-livia",
        "falco-sparverius",
        "larus-argentatus",
        "nymphicus-hollandicus",
        "passer-domesticus",
        "trichoglossus-haematodus",
        "tyto-alba",
        "zenaida-macroura",
    }
)


@cache
def _built_in_pack() -> Pack:
    checked = check_pack(builtin.folder())
    assert checked.pack is not None
    profiles = tuple(profile for profile in checked.pack.profiles if profile.key in SPOKEN_OF)
    return msgspec.structs.replace(checked.pack, profiles=profiles)


@pytest.fixture
def built_in_species(db):
    """Some of the species that the service ships with, in the database."""
    pack = _built_in_pack()
    pack_apply(pack=pack)
    return pack


@pytest.fixture(autouse=True)
def _answers_are_as_documented(monkeypatch):
    """Whatever a test asks for: the answer is one that docs/openapi.yaml describes, field by field."""
    ask = Client.request

    def request(self, **environ):
        response = ask(self, **environ)
        path = environ.get("PATH_INFO", "")
        if path.startswith("/api/v1/") and not getattr(response, "streaming", False):
            method = environ.get("REQUEST_METHOD", "GET").lower()
            openapi.hold(path, method, response.status_code, response.get("Content-Type", ""), response.content)
        return response

    monkeypatch.setattr(Client, "request", request)
