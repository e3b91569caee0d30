"""/api/v1/sites/{id}/kitchen over HTTP: what a site mixes with, told as a whole."""

from uuid import uuid4

import pytest

from api.outbox.models import Change, Event, RecordVersion
from api.tenancy.scope import network_scope
from tests.database import at_once, every_value
from tests.factories import bearer, make_member, make_site, make_token, make_two_networks

pytestmark = pytest.mark.django_db

LOFT = {
    "formula_key": None,
    "hot_water_c": 78.0,
    "cool_water_c": 18.5,
    "powder_c": 20.0,
    "room_c": 21.0,
    "altitude_m": 640.0,
    "vessel": {"heat_capacity_j_per_k": 168.0, "temperature_c": None},
    "scoop_g": 4.2,
}
NOTHING = dict.fromkeys(LOFT)


@pytest.fixture
def site(two):
    return make_site(two.own)


@pytest.fixture
def kitchen(site):
    return f"/api/v1/sites/{site.uid}/kitchen"


def refused(answer, status, code, pointer=""):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert (code, pointer) in [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]]


def test_before_anything_is_told(api, caller, site, kitchen):
    answer = api.get(kitchen, **caller)
    assert (answer.status_code, answer["ETag"]) == (200, '"0"')
    assert answer.json() == {
        **NOTHING,
        "id": str(site.uid),
        "site_id": str(site.uid),
        "version": 0,
        "recorded_at": None,
        "changed_at": None,
    }


def test_a_kitchen_as_told(api, two, caller, site, kitchen, standing_clock):
    answer = api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **caller)
    assert (answer.status_code, answer["ETag"]) == (200, '"1"')
    assert answer.json() == {
        **LOFT,
        "id": str(site.uid),
        "site_id": str(site.uid),
        "version": 1,
        "recorded_at": "2027-05-02T05:00:00Z",
        "changed_at": "2027-05-02T05:00:00Z",
    }
    read = api.get(kitchen, **caller)
    assert (read.json(), read["ETag"]) == (answer.json(), '"1"')
    assert api.get(kitchen, HTTP_IF_NONE_MATCH='"1"', **caller).status_code == 304
    with network_scope(two.own):
        change = Change.objects.get(kind="kitchen")
        assert (change.site_id, change.data) == (site.uid, answer.json())
        assert not Event.objects.exists()


def test_what_is_left_out_counts_as_not_told(api, two, caller, kitchen):
    api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **caller)
    answer = api.put(kitchen, {"room_c": 19}, HTTP_IF_MATCH='"1"', **caller)
    told = {name: answer.json()[name] for name in LOFT}
    assert (answer["ETag"], told) == ('"2"', NOTHING | {"room_c": 19.0})
    with network_scope(two.own):
        versions = RecordVersion.objects.filter(kind="kitchen").order_by("version")
        assert [(v.version, v.data["hot_water_c"], v.actor_id) for v in versions] == [
            (1, 78.0, two.member.user_id),
            (2, None, two.member.user_id),
        ]


def test_telling_the_same_again_is_no_change(api, two, caller, kitchen):
    first = api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **caller)
    again = api.put(kitchen, {name: first.json()[name] for name in LOFT}, HTTP_IF_MATCH='"1"', **caller)
    assert (again.status_code, again.json(), again["ETag"]) == (200, first.json(), '"1"')


def test_the_version_that_was_seen_decides(api, caller, kitchen):
    assert api.put(kitchen, LOFT, **caller).status_code == 428
    assert api.put(kitchen, LOFT, HTTP_IF_MATCH='"1"', **caller)["ETag"] == '"0"'
    assert api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **caller).status_code == 200
    late = api.put(kitchen, NOTHING, HTTP_IF_MATCH='"0"', **caller)
    assert (late.status_code, late["ETag"]) == (412, '"1"')


def test_its_formula_is_the_networks_or_the_catalogues(api, two, caller, kitchen, built_in_species):
    own = {"id": str(uuid4()), "key": "own", "name": "Own", "dry_matter_fraction": 0.9, "energy_kj_per_g_dm": 17}
    assert api.post("/api/v1/formulas", own, **caller).status_code == 201
    assert api.put(kitchen, {"formula_key": "own"}, HTTP_IF_MATCH='"0"', **caller).status_code == 200
    catalogue = api.put(kitchen, {"formula_key": "parrot-rearing-powder"}, HTTP_IF_MATCH='"1"', **caller)
    assert catalogue.json()["formula_key"] == "parrot-rearing-powder"
    # Another network's is as unknown as nobody's.
    foreign = f"/api/v1/sites/{make_site(two.other).uid}/kitchen"
    stranger = bearer(make_token(two.stranger))
    for key in ("own", "nobodys"):
        answer = api.put(foreign, {"formula_key": key}, HTTP_IF_MATCH='"0"', **stranger)
        refused(answer, 422, "unknown_formula", "/formula_key")
        assert answer.json()["detail"] == (
            f"Neither the network nor the catalogue has a formula '{key}'. GET /api/v1/formulas lists the network's."
        )


@pytest.mark.parametrize(
    ("body", "status", "code", "pointer"),
    [
        ({"formula_key": "nobodys"}, 422, "unknown_formula", "/formula_key"),
        ({"formula_key": ""}, 422, "blank", "/formula_key"),
        ({"formula_key": 7}, 400, "wrong_type", "/formula_key"),
        ({"hot_water_c": "80"}, 400, "wrong_type", "/hot_water_c"),
        ({"hot_water_c": 101}, 422, "max_value", "/hot_water_c"),
        # 3000 m boils at about 90 C (standard atmosphere).
        ({"hot_water_c": 95, "altitude_m": 3000}, 422, "above_boiling", "/hot_water_c"),
        ({"hot_water_c": 18, "cool_water_c": 20}, 422, "waters_not_apart", "/hot_water_c"),
        ({"cool_water_c": 61}, 422, "max_value", "/cool_water_c"),
        ({"powder_c": -1}, 422, "min_value", "/powder_c"),
        ({"room_c": 46}, 422, "max_value", "/room_c"),
        ({"altitude_m": 90000}, 422, "max_value", "/altitude_m"),
        ({"scoop_g": 0}, 422, "min_value", "/scoop_g"),
        ({"scoop_g": True}, 400, "wrong_type", "/scoop_g"),
        ({"vessel": {}}, 400, "required", "/vessel/heat_capacity_j_per_k"),
        ({"vessel": {"heat_capacity_j_per_k": 6000}}, 422, "max_value", "/vessel/heat_capacity_j_per_k"),
        ({"vessel": {"heat_capacity_j_per_k": 168, "colour": "x"}}, 400, "unknown_field", "/vessel/colour"),
        ({"vessel": 168}, 400, "invalid", "/vessel"),
        ({"version": 0}, 400, "unknown_field", "/version"),
        ([], 400, "not_an_object", ""),
    ],
)
def test_bad_input_is_named_and_leaves_nothing(api, caller, kitchen, body, status, code, pointer):
    before = every_value()
    refused(api.put(kitchen, body, HTTP_IF_MATCH='"0"', **caller), status, code, pointer)
    assert every_value() == before
    assert api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **caller).status_code == 200
    before = every_value()
    refused(api.put(kitchen, body, HTTP_IF_MATCH='"1"', **caller), status, code, pointer)
    assert every_value() == before


@pytest.mark.parametrize(("role", "status"), [("coordinator", 200), ("vet", 403), ("carer", 403), ("observer", 403)])
def test_who_may_change_a_kitchen(api, two, kitchen, site, role, status):
    member = make_member(two.own, role=role)
    if role == "carer":
        site.carers.add(member)
    by = bearer(make_token(member))
    assert api.get(kitchen, **by).status_code == 200
    before = every_value()
    assert api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **by).status_code == status
    assert (every_value() == before) is (status == 403)


def test_a_carer_sees_the_kitchens_of_the_own_sites_only(api, two, kitchen, of_role):
    assert api.get(kitchen, **of_role["carer"]).status_code == 404


def test_another_networks_kitchen_is_as_unknown_as_none(api, two, caller, kitchen):
    stranger = bearer(make_token(two.stranger))
    before = every_value()
    for address in (kitchen, f"/api/v1/sites/{uuid4()}/kitchen"):
        assert api.get(address, **stranger).status_code == 404
        assert api.put(address, LOFT, HTTP_IF_MATCH='"0"', **stranger).status_code == 404
    assert every_value() == before


def test_the_kitchen_of_a_removed_site_is_gone_with_it(api, caller, kitchen, site):
    api.put(kitchen, LOFT, HTTP_IF_MATCH='"0"', **caller)
    assert api.delete(f"/api/v1/sites/{site.uid}", HTTP_IF_MATCH='"1"', **caller).status_code == 204
    assert api.get(kitchen, **caller).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_of_two_who_tell_it_first_one_does(api, shared_database):
    two = make_two_networks()
    caller, address = bearer(make_token(two.member)), f"/api/v1/sites/{make_site(two.own).uid}/kitchen"
    answers = at_once(
        *[
            lambda room_c=room_c: api.put(address, {"room_c": room_c}, HTTP_IF_MATCH='"0"', **caller)
            for room_c in range(4)
        ]
    )
    assert sorted(answer.status_code for answer in answers) == [200, 412, 412, 412]
