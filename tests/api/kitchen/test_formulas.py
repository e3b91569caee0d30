"""/api/v1/formulas over HTTP: the network's own powders, and who may change them."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.kitchen.models import Formula
from api.kitchen.selectors import formula_keys_known, own_powders
from api.outbox.models import Change
from api.tenancy.scope import network_scope
from tests.database import at_once, every_value
from tests.factories import bearer, make_bird, make_site, make_token, make_two_networks

pytestmark = pytest.mark.django_db

FORMULAS = "/api/v1/formulas"
LABEL = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
BLEND = {
    "id": "0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e18",
    "key": "house-blend-2",
    "name": "House blend, spring",
    "dry_matter_fraction": 0.92,
    "energy_kj_per_g_dm": 16.9,
    "bulk_density_g_per_ml": 0.55,
    "composition": LABEL,
    "note": "Opened bags into the freezer.",
}
PLAIN = {"key": "plain", "name": "Plain", "dry_matter_fraction": 0.9, "energy_kj_per_g_dm": 17.0}


def add(api, caller, body=BLEND, **headers):
    return api.post(FORMULAS, body, **caller, **headers)


def added(api, caller, body=BLEND):
    answer = add(api, caller, {"id": str(uuid4())} | body)
    assert answer.status_code == 201, answer.content
    return answer.json()


def refused(answer, status, code, pointer=""):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert (code, pointer) in [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]]


def test_a_formula_as_told(api, two, caller, standing_clock):
    answer = add(api, caller)
    assert (answer.status_code, answer["ETag"], answer["Location"]) == (201, '"1"', f"{FORMULAS}/{BLEND['id']}")
    times = {"recorded_at": "2027-05-02T05:00:00Z", "changed_at": "2027-05-02T05:00:00Z"}
    assert answer.json() == {**BLEND, "version": 1, **times}
    assert api.get(answer["Location"], **caller).json() == answer.json()
    assert api.get(FORMULAS, **caller).json() == {"results": [answer.json()], "next": None}
    with network_scope(two.own):
        assert [(change.kind, change.site_id) for change in Change.objects.all()] == [("formula", None)]


def test_dry_matter_follows_from_the_label(api, two, caller):
    told = added(api, caller, {"key": "labelled", "name": "Labelled", "composition": LABEL})
    assert (told["dry_matter_fraction"], told["energy_kj_per_g_dm"]) == (0.92, None)
    with network_scope(two.own):
        powder = own_powders(["labelled"])["labelled"]
    # Regulation (EC) 152/2009, per cent to MJ/kg, with all carbohydrate as sugar: the cautious end.
    by_hand = (0.1551 * 20 + 0.3431 * 10 + 0.1301 * 55) / 0.92
    assert powder.energy_kj_per_g_dm == pytest.approx(by_hand, rel=1e-3)
    assert powder.sources == ("WPSA label equation",)


def test_a_key_is_the_networks_own_or_the_catalogues(api, two, caller, built_in_species):
    added(api, caller)
    with network_scope(two.own):
        assert formula_keys_known("house-blend-2")
        assert formula_keys_known("parrot-rearing-powder")
        assert not formula_keys_known("parrot-rearing-powde")
        assert set(own_powders(["house-blend-2", "parrot-rearing-powder"])) == {"house-blend-2"}
    with network_scope(two.other):
        assert not formula_keys_known("house-blend-2")
        assert own_powders(["house-blend-2"]) == {}


def test_a_key_is_taken_once_in_a_network(api, two, caller, built_in_species):
    added(api, caller)
    before = every_value()
    refused(add(api, caller, BLEND | {"id": str(uuid4())}), 409, "key_taken", "/key")
    refused(add(api, caller, BLEND | {"id": str(uuid4()), "key": "parrot-rearing-powder"}), 409, "key_taken", "/key")
    assert every_value() == before
    assert add(api, bearer(make_token(two.stranger))).status_code == 201


def test_the_key_is_free_again_once_its_formula_is_removed(api, two, caller):
    address = f"{FORMULAS}/{added(api, caller)['id']}"
    assert api.delete(address, HTTP_IF_MATCH='"1"', **caller).status_code == 204
    assert api.get(address, **caller).status_code == 404
    added(api, caller, BLEND | {"id": str(uuid4())})
    refused(add(api, caller), 409, "removed", "/id")


def test_sent_twice_it_is_one_formula_though_its_key_is_taken_by_itself(api, two, caller):
    first, again = add(api, caller), add(api, caller)
    assert (first.status_code, again.status_code, again.json()) == (201, 200, first.json())
    refused(add(api, caller, BLEND | {"note": ""}), 409, "id_taken", "/id")


def test_a_correction_is_checked_with_what_stands(api, two, caller):
    address = f"{FORMULAS}/{added(api, caller)['id']}"
    wetter = LABEL | {"water": 0.15, "carbohydrate": 0.48}
    refused(
        api.patch(address, {"composition": wetter}, HTTP_IF_MATCH='"1"', **caller),
        422,
        "dry_matter_disagrees",
        "/composition/water",
    )
    told = api.patch(address, {"composition": wetter, "dry_matter_fraction": None}, HTTP_IF_MATCH='"1"', **caller)
    assert (told.status_code, told["ETag"], told.json()["dry_matter_fraction"]) == (200, '"2"', 0.85)
    told = api.patch(address, {"energy_kj_per_g_dm": None}, HTTP_IF_MATCH='"2"', **caller)
    assert (told.json()["energy_kj_per_g_dm"], told.json()["composition"]) == (None, wetter)
    refused(
        api.patch(address, {"composition": None}, HTTP_IF_MATCH='"3"', **caller),
        422,
        "energy_missing",
        "/energy_kj_per_g_dm",
    )
    versions = api.get(f"{address}/versions", **caller).json()["results"]
    assert [version["data"]["dry_matter_fraction"] for version in versions] == [0.92, 0.85, 0.85]


def test_a_correction_that_says_the_same_is_none(api, two, caller):
    told = added(api, caller)
    same = {name: told[name] for name in BLEND if name not in ("id", "key")}
    answer = api.patch(f"{FORMULAS}/{told['id']}", same, HTTP_IF_MATCH='"1"', **caller)
    assert (answer.status_code, answer.json()) == (200, told)


def test_a_formula_that_a_kitchen_or_a_bird_names_stays(api, two, caller, built_in_species):
    formula = added(api, caller)
    site = make_site(two.own)
    address, kitchen = f"{FORMULAS}/{formula['id']}", f"/api/v1/sites/{site.uid}/kitchen"
    api.put(kitchen, {"formula_key": formula["key"]}, HTTP_IF_MATCH='"0"', **caller)
    before = every_value()
    refused(api.delete(address, HTTP_IF_MATCH='"1"', **caller), 409, "formula_in_use")
    assert every_value() == before
    api.put(kitchen, {}, HTTP_IF_MATCH='"1"', **caller)
    make_bird(site, formula_key=formula["key"])
    before = every_value()
    refused(api.delete(address, HTTP_IF_MATCH='"1"', **caller), 409, "formula_in_use")
    assert every_value() == before


# A body that is refused, whether it makes a formula or corrects one.
WRONG = [
    ({"name": ""}, 422, "blank", "/name"),
    ({"name": None}, 400, "null", "/name"),
    ({"dry_matter_fraction": "0.92"}, 400, "wrong_type", "/dry_matter_fraction"),
    ({"dry_matter_fraction": 92}, 422, "max_value", "/dry_matter_fraction"),
    ({"dry_matter_fraction": 0.49}, 422, "min_value", "/dry_matter_fraction"),
    ({"dry_matter_fraction": 0.8}, 422, "dry_matter_disagrees", "/composition/water"),
    ({"energy_kj_per_g_dm": 0}, 422, "greater_than", "/energy_kj_per_g_dm"),
    ({"energy_kj_per_g_dm": 41}, 422, "max_value", "/energy_kj_per_g_dm"),
    ({"energy_kj_per_g_dm": True}, 400, "wrong_type", "/energy_kj_per_g_dm"),
    ({"bulk_density_g_per_ml": 0.05}, 422, "min_value", "/bulk_density_g_per_ml"),
    ({"bulk_density_g_per_ml": 2.1}, 422, "max_value", "/bulk_density_g_per_ml"),
    ({"composition": LABEL | {"protein": 0.5}}, 422, "composition_sum", "/composition"),
    ({"composition": LABEL | {"protein": -0.1}}, 422, "min_value", "/composition/protein"),
    ({"composition": {"water": 0.08}}, 400, "required", "/composition/ash"),
    ({"composition": LABEL | {"sugar": 0.1}}, 400, "unknown_field", "/composition/sugar"),
    ({"composition": [0.08]}, 400, "invalid", "/composition"),
    (
        {"dry_matter_fraction": None, "composition": LABEL | {"water": 0.6, "carbohydrate": 0.03}},
        422,
        "out_of_range",
        "/dry_matter_fraction",
    ),
    ({"dry_matter_fraction": None, "composition": None}, 422, "dry_matter_missing", "/dry_matter_fraction"),
    ({"energy_kj_per_g_dm": None, "composition": None}, 422, "energy_missing", "/energy_kj_per_g_dm"),
    ({"note": "x" * 2001}, 422, "max_length", "/note"),
    ({"brand": "x"}, 400, "unknown_field", "/brand"),
]


@pytest.mark.parametrize(("body", "status", "code", "pointer"), WRONG)
def test_bad_input_is_named_and_leaves_nothing(api, two, caller, body, status, code, pointer):
    address = f"{FORMULAS}/{added(api, caller)['id']}"
    before = every_value()
    refused(add(api, caller, BLEND | {"id": str(uuid4()), "key": "other"} | body), status, code, pointer)
    refused(api.patch(address, body, HTTP_IF_MATCH='"1"', **caller), status, code, pointer)
    assert every_value() == before


@pytest.mark.parametrize(
    ("body", "status", "code", "pointer"),
    [
        (BLEND | {"key": "House Blend"}, 400, "malformed", "/key"),
        (BLEND | {"key": "-blend"}, 400, "malformed", "/key"),
        (BLEND | {"key": "blend_2"}, 400, "malformed", "/key"),
        (BLEND | {"key": ""}, 422, "blank", "/key"),
        (BLEND | {"key": "x" * 81}, 422, "max_length", "/key"),
        ({name: value for name, value in BLEND.items() if name != "key"}, 400, "required", "/key"),
        ({name: value for name, value in BLEND.items() if name != "id"}, 400, "idempotency_key_missing", ""),
        ({"id": BLEND["id"], "key": "bare", "name": "Bare"}, 422, "dry_matter_missing", "/dry_matter_fraction"),
    ],
)
def test_what_only_a_new_formula_can_do_wrong(api, two, caller, body, status, code, pointer):
    before = every_value()
    refused(add(api, caller, body), status, code, pointer)
    assert every_value() == before


def test_a_key_is_not_corrected(api, two, caller):
    address = f"{FORMULAS}/{added(api, caller)['id']}"
    refused(api.patch(address, {"key": "other"}, HTTP_IF_MATCH='"1"', **caller), 400, "unknown_field", "/key")


@pytest.mark.parametrize(
    ("role", "writes"), [("coordinator", True), ("vet", True), ("carer", False), ("observer", False)]
)
def test_who_may_change_formulas(api, two, caller, of_role, role, writes):
    told = added(api, caller, PLAIN)
    address, by = f"{FORMULAS}/{told['id']}", of_role[role]
    assert api.get(FORMULAS, **by).json()["results"] == [told]
    before = every_value()
    answers = [
        add(api, by).status_code,
        api.patch(address, {"note": "x"}, HTTP_IF_MATCH='"1"', **by).status_code,
        api.delete(address, HTTP_IF_MATCH="*", **by).status_code,
    ]
    assert answers == ([201, 200, 204] if writes else [403, 403, 403])
    assert (every_value() == before) is not writes


def test_another_networks_formula_is_as_unknown_as_none(api, two, caller):
    told = added(api, caller)
    stranger = bearer(make_token(two.stranger))
    before = every_value()
    for path in (f"{FORMULAS}/{told['id']}", f"{FORMULAS}/{uuid4()}"):
        for method, suffix in (("get", ""), ("get", "/versions"), ("patch", ""), ("delete", "")):
            assert getattr(api, method)(f"{path}{suffix}", HTTP_IF_MATCH='"1"', **stranger).status_code == 404
    assert api.get(FORMULAS, **stranger).json()["results"] == []
    assert every_value() == before


def test_the_queries_do_not_grow_with_the_formulas(api, two, caller):
    counts = []
    for rows in (2, 9):
        for _ in range(rows):
            added(api, caller, PLAIN | {"key": f"plain-{uuid4()}"})
        with CaptureQueriesContext(connection) as queries:
            assert api.get(f"{FORMULAS}?limit=200", **caller).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


@pytest.mark.django_db(transaction=True)
def test_of_two_with_one_key_at_once_one_is_made(api, shared_database):
    two = make_two_networks()
    caller = bearer(make_token(two.member))
    answers = at_once(*[lambda: add(api, caller, BLEND | {"id": str(uuid4())}) for _ in range(4)])
    assert sorted(answer.status_code for answer in answers) == [201, 409, 409, 409]
    with network_scope(two.own):
        assert Formula.objects.count() == 1
