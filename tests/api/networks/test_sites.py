"""/api/v1/sites over HTTP: where birds are fed, and the habits that every kind of record shares."""

import json
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.outbox.models import Change, Event, RecordVersion
from api.outbox.registry import GUARDS
from api.tenancy.scope import network_scope
from species.domain.errors import ConflictError
from tests.database import every_value
from tests.factories import bearer, make_member, make_token, make_two_networks

pytestmark = pytest.mark.django_db

SITES = "/api/v1/sites"
HOME = {"name": "Ana's home", "kind": "home"}
NURSERY = {
    "id": "0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e17",
    "name": "Nursery",
    "kind": "centre",
    "time_zone": "Atlantic/Azores",
    "feeding_day": {"first": "06:30", "last": "20:30"},
    "note": "Key under the third pot.\nRing first.",
}


@pytest.fixture
def two():
    return make_two_networks()


@pytest.fixture
def caller(two):
    return bearer(make_token(two.member))


def add(api, caller, body=NURSERY, **headers):
    return api.post(SITES, body, **caller, **headers)


def added(api, caller, body=NURSERY):
    answer = add(api, caller, body, HTTP_IDEMPOTENCY_KEY=str(uuid4()))
    assert answer.status_code == 201, answer.content
    return answer.json()


def refused(answer, status, code, pointer=""):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert (code, pointer) in [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]]


def test_a_site_as_told(api, two, caller, standing_clock):
    carer = make_member(two.own)
    answer = add(api, caller, NURSERY | {"carer_ids": [str(carer.pk)]})
    assert (answer.status_code, answer["ETag"], answer["Location"]) == (201, '"1"', f"{SITES}/{NURSERY['id']}")
    assert answer.json() == {
        **NURSERY,
        "carer_ids": [str(carer.pk)],
        "version": 1,
        "recorded_at": "2027-05-02T05:00:00Z",
        "changed_at": "2027-05-02T05:00:00Z",
    }
    read = api.get(answer["Location"], **caller)
    assert (read.json(), read["ETag"]) == (answer.json(), '"1"')
    assert "private" in read["Cache-Control"]
    assert api.get(answer["Location"], HTTP_IF_NONE_MATCH='"1"', **caller).status_code == 304
    assert api.get(SITES, **caller).json() == {"results": [answer.json()], "next": None}


def test_what_is_not_told_is_the_networks_or_empty(api, two, caller):
    told = added(api, caller, HOME)
    assert UUID(told["id"]).version == 7
    assert told["time_zone"] == two.own.time_zone == "Europe/Lisbon"
    assert (told["feeding_day"], told["note"], told["carer_ids"]) == (None, "", [])


def test_the_same_id_and_content_is_one_site_and_another_content_a_conflict(api, two, caller):
    first = add(api, caller)
    again = add(api, caller)
    assert (again.status_code, again.json()) == (200, first.json())
    refused(add(api, caller, NURSERY | {"name": "Annex"}), 409, "id_taken", "/id")
    # Corrected since: the first sending is still known.
    api.patch(first["Location"], {"name": "Annex"}, HTTP_IF_MATCH='"1"', **caller)
    late = add(api, caller)
    assert (late.status_code, late.json()["name"], late["ETag"]) == (200, "Annex", '"2"')
    assert len(api.get(SITES, **caller).json()["results"]) == 1
    with network_scope(two.own):
        assert [change.version for change in Change.objects.all()] == [1, 2]


def test_another_network_may_use_the_same_id_and_neither_learns_of_it(api, two, caller):
    stranger = bearer(make_token(two.stranger))
    assert add(api, caller).status_code == 201
    assert add(api, stranger, NURSERY | {"name": "Other"}).status_code == 201
    assert api.get(f"{SITES}/{NURSERY['id']}", **stranger).json()["name"] == "Other"
    assert api.get(f"{SITES}/{NURSERY['id']}", **caller).json()["name"] == "Nursery"


def test_without_an_id_a_key_is_needed_and_a_retry_makes_one_site(api, two, caller):
    refused(add(api, caller, HOME), 400, "idempotency_key_missing")
    first, again = (add(api, caller, HOME, HTTP_IDEMPOTENCY_KEY='"one"') for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 201)
    assert again["Idempotency-Replayed"] == "true"
    assert (again.json(), again["Location"], again["ETag"]) == (first.json(), first["Location"], first["ETag"])
    refused(add(api, caller, NURSERY, HTTP_IDEMPOTENCY_KEY='"one"'), 422, "idempotency_key_reused")
    assert len(api.get(SITES, **caller).json()["results"]) == 1


def test_a_correction_needs_the_version_that_was_seen(api, two, caller):
    address = f"{SITES}/{added(api, caller)['id']}"
    assert api.patch(address, {"name": "Annex"}, **caller).status_code == 428
    told = api.patch(address, {"name": "Annex", "feeding_day": None}, HTTP_IF_MATCH='"1"', **caller)
    assert (told.status_code, told["ETag"]) == (200, '"2"')
    assert (told.json()["name"], told.json()["feeding_day"], told.json()["note"]) == ("Annex", None, NURSERY["note"])
    late = api.patch(address, {"name": "Lost"}, HTTP_IF_MATCH='"1"', **caller)
    assert (late.status_code, late["ETag"]) == (412, '"2"')
    assert api.get(address, **caller).json() == told.json()


def test_a_correction_that_says_the_same_is_none(api, two, caller):
    carer = make_member(two.own)
    told = added(api, caller, NURSERY | {"carer_ids": [str(carer.pk)]})
    same = {name: told[name] for name in ("name", "kind", "time_zone", "feeding_day", "note", "carer_ids")}
    for body in (same, {}):
        answer = api.patch(f"{SITES}/{told['id']}", body, HTTP_IF_MATCH='"1"', **caller)
        assert (answer.status_code, answer.json(), answer["ETag"]) == (200, told, '"1"')


def test_who_feeds_there_is_changed_as_a_whole(api, two, caller):
    first, second = make_member(two.own), make_member(two.own)
    told = added(api, caller, NURSERY | {"carer_ids": [str(first.pk)]})
    answer = api.patch(f"{SITES}/{told['id']}", {"carer_ids": [str(second.pk)]}, HTTP_IF_MATCH='"1"', **caller)
    assert (answer.json()["carer_ids"], answer["ETag"]) == ([str(second.pk)], '"2"')
    assert api.get(f"{SITES}/{told['id']}", **caller).json() == answer.json()


def test_every_version_is_kept_with_its_author(api, two, caller):
    address = f"{SITES}/{added(api, caller)['id']}"
    api.patch(address, {"name": "Annex"}, HTTP_IF_MATCH='"1"', **caller)
    versions = api.get(f"{address}/versions", **caller).json()
    assert versions["next"] is None
    assert [(told["version"], told["op"], told["data"]["name"], told["by"]) for told in versions["results"]] == [
        (1, "put", "Nursery", two.member.user.name),
        (2, "put", "Annex", two.member.user.name),
    ]
    first = api.get(f"{address}/versions?limit=1", **caller).json()
    second = api.get(f"{address}/versions?limit=1&cursor={first['next']}", **caller).json()
    assert first["results"] + second["results"] == versions["results"]


def test_a_removed_site_is_gone_from_everywhere_but_its_versions(api, two, caller):
    address = f"{SITES}/{added(api, caller)['id']}"
    assert api.delete(address, **caller).status_code == 428
    answer = api.delete(address, HTTP_IF_MATCH='"1"', **caller)
    assert (answer.status_code, answer.content) == (204, b"")
    for method in (api.get, api.patch, api.delete):
        assert method(address, HTTP_IF_MATCH='"2"', **caller).status_code == 404
    assert api.get(SITES, **caller).json()["results"] == []
    refused(add(api, caller), 409, "removed", "/id")
    with network_scope(two.own):
        assert [(kept.version, kept.op) for kept in RecordVersion.objects.filter(kind="site")] == [
            (1, "put"),
            (2, "gone"),
        ]
        changes = list(Change.objects.order_by("position"))
    assert [(c.position, c.op, c.version, str(c.site_id), c.data is None) for c in changes] == [
        (1, "put", 1, NURSERY["id"], False),
        (2, "gone", 2, NURSERY["id"], True),
    ]


def test_what_stands_on_a_site_keeps_it(api, two, caller, monkeypatch):
    def in_use(site):
        raise ConflictError(f"{site.name} is in use.", code="in_use")

    monkeypatch.setitem(GUARDS, "site", [in_use])
    address = f"{SITES}/{added(api, caller)['id']}"
    before = every_value()
    refused(api.delete(address, HTTP_IF_MATCH='"1"', **caller), 409, "in_use")
    assert every_value() == before


def test_no_event_speaks_of_a_site(api, two, caller):
    address = f"{SITES}/{added(api, caller)['id']}"
    api.patch(address, {"name": "Annex"}, HTTP_IF_MATCH='"1"', **caller)
    with network_scope(two.own):
        assert not Event.objects.exists()


def test_pages_by_cursor(api, two, caller):
    made = [added(api, caller, HOME | {"name": f"Home {number}"})["id"] for number in range(5)]
    seen, cursor = [], ""
    while cursor is not None:
        page = api.get(f"{SITES}?limit=2{cursor and f'&cursor={cursor}'}", **caller).json()
        assert len(page["results"]) <= 2
        seen += [site["id"] for site in page["results"]]
        cursor = page["next"]
    assert sorted(seen) == sorted(made)


# A body that is refused, whether it makes a site or corrects one.
WRONG = [
    ({"name": ""}, 422, "blank", "/name"),
    ({"name": "x" * 201}, 422, "max_length", "/name"),
    ({"name": 7}, 400, "wrong_type", "/name"),
    ({"name": None}, 400, "null", "/name"),
    ({"name": "a\x00b"}, 422, "control_character", "/name"),
    ({"kind": "ship"}, 400, "invalid_choice", "/kind"),
    ({"kind": None}, 400, "null", "/kind"),
    ({"time_zone": "Europe/Lisboa"}, 422, "unknown_time_zone", "/time_zone"),
    ({"time_zone": "EST"}, 422, "time_zone_without_rules", "/time_zone"),
    ({"time_zone": None}, 400, "null", "/time_zone"),
    ({"feeding_day": {"first": "06:30"}}, 400, "required", "/feeding_day/last"),
    ({"feeding_day": {"first": "6:30", "last": "20:30"}}, 400, "malformed", "/feeding_day/first"),
    ({"feeding_day": {"first": "06:30", "last": "24:00"}}, 422, "impossible_time", "/feeding_day/last"),
    ({"feeding_day": {"first": "06:30", "last": "06:30"}}, 422, "no_feeding_day", "/feeding_day/last"),
    ({"feeding_day": {"first": "06:30", "last": "20:30", "until": "x"}}, 400, "unknown_field", "/feeding_day/until"),
    ({"feeding_day": "06:30"}, 400, "invalid", "/feeding_day"),
    ({"note": "x" * 2001}, 422, "max_length", "/note"),
    ({"note": None}, 400, "null", "/note"),
    ({"carer_ids": "all"}, 400, "not_a_list", "/carer_ids"),
    ({"carer_ids": ["ana"]}, 400, "malformed", "/carer_ids/0"),
    ({"carer_ids": [7]}, 400, "wrong_type", "/carer_ids/0"),
    ({"carer_ids": [str(uuid4())] * 201}, 422, "max_length", "/carer_ids"),
    ({"carer_ids": [str(uuid4())]}, 422, "unknown_member", "/carer_ids/0"),
    ({"version": 1}, 400, "unknown_field", "/version"),
    ({"colour": "green"}, 400, "unknown_field", "/colour"),
]


@pytest.mark.parametrize(("body", "status", "code", "pointer"), WRONG)
def test_bad_input_is_named_and_leaves_nothing(api, two, caller, body, status, code, pointer):
    address = f"{SITES}/{added(api, caller)['id']}"
    before = every_value()
    refused(add(api, caller, NURSERY | {"id": str(uuid4())} | body), status, code, pointer)
    refused(add(api, caller, HOME | body, HTTP_IDEMPOTENCY_KEY='"two"'), status, code, pointer)
    refused(api.patch(address, body, HTTP_IF_MATCH='"1"', **caller), status, code, pointer)
    assert every_value() == before


@pytest.mark.parametrize(
    ("body", "status", "code", "pointer"),
    [
        ({"name": "Nursery", "id": str(uuid4())}, 400, "required", "/kind"),
        ({"kind": "home", "id": str(uuid4())}, 400, "required", "/name"),
        (NURSERY | {"id": "1"}, 400, "malformed", "/id"),
        (NURSERY | {"id": "{0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e17}"}, 400, "malformed", "/id"),
        (NURSERY | {"id": None}, 400, "null", "/id"),
        (NURSERY | {"id": 3}, 400, "wrong_type", "/id"),
        ([NURSERY], 400, "not_an_object", ""),
    ],
)
def test_what_only_a_new_site_can_do_wrong(api, two, caller, body, status, code, pointer):
    before = every_value()
    refused(add(api, caller, body), status, code, pointer)
    assert every_value() == before


def test_an_id_is_not_corrected(api, two, caller):
    address = f"{SITES}/{added(api, caller)['id']}"
    refused(api.patch(address, {"id": str(uuid4())}, HTTP_IF_MATCH='"1"', **caller), 400, "unknown_field", "/id")


@pytest.mark.parametrize("query", ["?limit=0", "?limit=201", "?cursor=x", "?bird_id=1", "?limit=1&limit=2"])
def test_bad_queries(api, two, caller, query):
    assert api.get(f"{SITES}{query}", **caller).status_code == 400


def test_another_networks_member_is_as_unknown_as_nobody(api, two, caller):
    told = []
    for member_id in (two.stranger.pk, uuid4()):
        answer = add(api, caller, NURSERY | {"carer_ids": [str(member_id)]})
        told.append({**answer.json(), "instance": ""})
    assert told[0] == told[1]


def test_another_networks_site_is_as_unknown_as_none(api, two, caller):
    address = f"{SITES}/{added(api, caller)['id']}"
    stranger = bearer(make_token(two.stranger))
    before = every_value()
    for path in (address, f"{SITES}/{uuid4()}"):
        for method, suffix in (("get", ""), ("get", "/versions"), ("patch", ""), ("delete", "")):
            answer = getattr(api, method)(f"{path}{suffix}", HTTP_IF_MATCH='"1"', **stranger)
            assert answer.status_code == 404
            assert "Nursery" not in json.dumps(answer.json())
    assert every_value() == before


def test_the_queries_do_not_grow_with_the_sites(api, two, caller):
    counts = []
    for rows in (2, 9):
        for number in range(rows):
            carer = make_member(two.own)
            added(api, caller, HOME | {"name": f"Home {number}", "carer_ids": [str(carer.pk)]})
        with CaptureQueriesContext(connection) as queries:
            assert api.get(f"{SITES}?limit=200", **caller).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]
