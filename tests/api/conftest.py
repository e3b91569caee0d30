"""What every test of the HTTP interface stands on: built-in species, and answers held against the document."""

from functools import cache

import pytest
from django.test import Client

from species import builtin
from species.curation.services import pack_apply
from species.domain.pack import Pack
from species.packs.check import check_pack
from tests import openapi


@cache
def _built_in_pack() -> Pack:
    checked = check_pack(builtin.folder())
    assert checked.pack is not None
    return checked.pack


@pytest.fixture
def built_in_species(db):
    """The species that the service ships with, in the database."""
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
