"""/api/v1/birds over HTTP."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest

from api.outbox.models import Change, Event, RecordVersion
from api.tenancy.scope import network_scope
from api.web import clock
from species.models import FormerKey, SpeciesProfile
from tests.api.birds.conftest import key, match, problem, refused
from tests.factories import bearer, make_bird, make_member, make_site, make_token, make_weighing

pytestmark = pytest.mark.django_db

BIRDS = "/api/v1/birds"
FOUNDLING = {
    "id": "0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e17",
    "name": "Pip",
    "species": "nymphicus-hollandicus",
    "species_certainty": "probable",
    "mark": {"kind": "ring", "colour": "blue", "code": "A 12"},
    "sex": "female",
    "strain": "lutino",
    "adult_mass_g": 95.5,
    "age_estimate": {"on": "2027-05-01", "days": 11.5, "sd_days": 1.5},
    "intake": {
        "at": "2027-04-30T18:00:00+01:00",
        "reason": "fell from the nest box",
        "located_at": "Rua do Poço 4",
        "finder_fed": "bread",
    },
    "origin": "captive",
    "aim": "breeding",
    "rearing": "topped_up",
    "brood_size": 4,
    "isolation": "quarantine",
    "formula_key": "parrot-hand-feeding",
    "note": "Bites.\nTwo people.",
}


def admit(api, caller, body, **headers):
    return api.post(BIRDS, body, **caller, **headers)


def admitted(api, caller, site, **fields):
    body = {"name": "Pip", "site_id": str(site.uid), "species": "columba-livia", **fields}
    answer = admit(api, caller, {name: value for name, value in body.items() if value is not ...}, **key())
    assert answer.status_code == 201, answer.content
    return answer.json()


@pytest.fixture
def formula():
    from species.selectors import formula_list

    return formula_list()[0].key


def test_a_bird_as_told(api, site, caller, formula):
    body = FOUNDLING | {"site_id": str(site.uid), "formula_key": formula}
    answer = admit(api, caller, body)
    assert (answer.status_code, answer["ETag"]) == (201, '"1"'), answer.content
    assert answer["Location"] == f"{BIRDS}/{FOUNDLING['id']}"
    assert answer.json() == {
        **body,
        "version": 1,
        "unlisted_species": None,
        "hatched_on": None,
        "hatched_at": None,
        "intake": {**body["intake"], "at": "2027-04-30T17:00:00Z"},
        "outcome": None,
        "recorded_at": "2027-05-02T05:00:00Z",
        "changed_at": "2027-05-02T05:00:00Z",
    }
    read = api.get(answer["Location"], **caller)
    assert (read.json(), read["ETag"]) == (answer.json(), '"1"')
    assert api.get(BIRDS, **caller).json() == {"results": [answer.json()], "next": None}
