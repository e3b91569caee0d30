"""/api/v1/weighings, feeds, crop-checks and milestones: the same habits for all of them."""

from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.outbox.models import Change, Event, RecordVersion
from api.tenancy.scope import network_scope
from tests.api.birds.conftest import key, match, problem, refused
from tests.api.birds.kinds import KINDS
from tests.database import every_value
from tests.factories import bearer, make_bird, make_member, make_token

pytestmark = pytest.mark.django_db

each = pytest.mark.parametrize("kind", KINDS, ids=str)


def send(api, caller, kind, bird, body=None, **fields):
    body = {"id": str(uuid4()), "bird_id": str(bird.uid), **(body or kind.least), **fields}
    return api.post(kind.address, body, **caller)


def sent(api, caller, kind, bird, body=None, **fields):
    answer = send(api, caller, kind, bird, body, **fields)
    assert answer.status_code == 201, answer.content
    return answer.json()


def patch(api, caller, kind, record, body, version):
    return api.patch(f"{kind.address}/{record['id']}", body, **caller, **match(version))


@each
def test_a_record_as_told(api, caller, bird, kind):
    uid = str(uuid4())
    answer = send(api, caller, kind, bird, kind.whole, id=uid)
    assert (answer.status_code, answer["ETag"], answer["Location"]) == (201, '"1"', f"{kind.address}/{uid}")
    service = {name: kind.untold[name] for name in ("state", "question") if name in kind.untold}
    assert answer.json() == {
        **kind.whole,
        **service,
        "id": uid,
        "bird_id": str(bird.uid),
        "version": 1,
        "recorded_at": "2027-05-02T05:00:00Z",
        "changed_at": "2027-05-02T05:00:00Z",
    }
    read = api.get(answer["Location"], **caller)
    assert (read.json(), read["ETag"]) == (answer.json(), '"1"')
    assert api.get(answer["Location"], HTTP_IF_NONE_MATCH='"1"', **caller).status_code == 304
    assert api.get(kind.address, **caller).json() == {"results": [answer.json()], "next": None}


@each
def test_what_is_not_told(api, caller, bird, kind):
    answer = api.post(kind.address, {"bird_id": str(bird.uid), **kind.least}, **caller, **key())
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert UUID(told["id"]).version == 7
    assert {name: told[name] for name in kind.untold} == kind.untold


@each
def test_sent_again_it_is_the_same_with_another_content_it_is_refused(api, two, caller, bird, kind):
    uid = str(uuid4())
    first = send(api, caller, kind, bird, id=uid)
    again = send(api, caller, kind, bird, id=uid)
    assert (first.status_code, again.status_code, again.json()) == (201, 200, first.json())
    refused(send(api, caller, kind, bird, id=uid, note="Other."), 409, "id_taken", "/id")
    corrected = patch(api, caller, kind, first.json(), kind.correction, 1).json()
    assert send(api, caller, kind, bird, id=uid).json() == corrected
    with network_scope(two.own):
        assert Event.objects.filter(name=f"{kind.model.KIND}.recorded").count() == 1


@each
def test_another_network_has_its_own_record_of_the_same_id_and_learns_nothing(api, two, caller, bird, foreign, kind):
    uid = str(uuid4())
    sent(api, caller, kind, bird, id=uid, note="Ours.")
    stranger = bearer(make_token(two.stranger))
    address = f"{kind.address}/{uid}"
    assert problem(api.get(address, **stranger)) == problem(api.get(f"{kind.address}/{uuid4()}", **stranger))
    theirs = sent(api, stranger, kind, foreign, id=uid, note="Theirs.")
    assert theirs["version"] == 1
    assert api.get(address, **caller).json()["note"] == "Ours."
    assert api.get(address, **stranger).json()["note"] == "Theirs."


@each
def test_a_foreign_bird_is_an_unknown_one(api, carer, bird, caller, foreign, kind):
    token, _, own = carer
    body = {"id": str(uuid4()), **kind.least}
    unknown = problem(api.post(kind.address, body | {"bird_id": str(uuid4())}, **caller))
    assert (unknown[0], unknown[2]["errors"][0]["code"]) == (422, "unknown_bird")
    assert problem(api.post(kind.address, body | {"bird_id": str(foreign.uid)}, **caller)) == unknown
    assert problem(api.post(kind.address, body | {"bird_id": str(bird.uid)}, **token)) == unknown
    mine = sent(api, token, kind, own)
    assert problem(patch(api, token, kind, mine, {"bird_id": str(bird.uid)}, 1)) == unknown
    assert problem(patch(api, token, kind, mine, {"bird_id": str(uuid4())}, 1)) == unknown


@each
def test_a_carer_sees_what_is_recorded_at_the_own_sites(api, carer, bird, caller, kind):
    token, _, own = carer
    theirs, mine = sent(api, caller, kind, bird), sent(api, token, kind, own)
    assert [told["id"] for told in api.get(kind.address, **token).json()["results"]] == [mine["id"]]
    unknown = problem(api.get(f"{kind.address}/{uuid4()}", **token))
    assert problem(api.get(f"{kind.address}/{theirs['id']}", **token)) == unknown
    assert problem(api.get(f"{kind.address}/{theirs['id']}/versions", **token)) == unknown
    assert patch(api, token, kind, theirs, {"note": "Mine."}, 1).status_code == 404
    assert api.delete(f"{kind.address}/{theirs['id']}", **token, **match(1)).status_code == 404


@each
def test_an_observer_looks_only(api, two, caller, bird, kind):
    watcher = bearer(make_token(make_member(two.own, role="observer")))
    record = sent(api, caller, kind, bird)
    assert api.get(kind.address, **watcher).json()["results"] == [record]
    assert send(api, watcher, kind, bird).status_code == 403
    assert patch(api, watcher, kind, record, {"note": "x"}, 1).status_code == 403


@each
def test_a_correction_is_a_new_version_and_an_event(api, two, site, caller, bird, kind):
    record = sent(api, caller, kind, bird)
    address = f"{kind.address}/{record['id']}"
    assert api.patch(address, kind.correction, **caller).status_code == 428
    assert api.delete(address, **caller).status_code == 428
    stale = patch(api, caller, kind, record, kind.correction, 2)
    assert (stale.status_code, stale["ETag"]) == (412, '"1"')
    answer = patch(api, caller, kind, record, kind.correction, 1)
    assert (answer.status_code, answer["ETag"]) == (200, '"2"')
    assert answer.json() == {**record, **kind.correction, "version": 2}
    assert patch(api, caller, kind, record, kind.correction, 2)["ETag"] == '"2"'
    versions = api.get(f"{address}/versions", **caller).json()["results"]
    assert [version["data"] for version in versions] == [record, answer.json()]
    with network_scope(two.own):
        about = {"kind": kind.model.KIND, "record_id": record["id"]}
        assert list(RecordVersion.objects.filter(**about).values_list("version", flat=True)) == [1, 2]
        assert [c.data for c in Change.objects.filter(**about)] == [record, answer.json()]
        event = Event.objects.get(name=f"{kind.model.KIND}.corrected")
        assert event.data == {
            "id": record["id"],
            "network_id": str(two.own.pk),
            "href": address,
            "version": 2,
            "bird_id": str(bird.uid),
            "site_id": str(site.uid),
        }


@each
def test_a_null_takes_back_what_need_not_be_told(api, caller, bird, kind):
    record = sent(api, caller, kind, bird, kind.whole)
    optional = [name for name, value in kind.untold.items() if value is None and name in kind.whole]
    keep = {"volume_ml": 2.25, "count": 1} if "until" in optional else {}
    answer = patch(api, caller, kind, record, dict.fromkeys(optional) | keep, 1)
    assert answer.status_code == 200, answer.content
    assert [answer.json()[name] for name in optional] == [None] * len(optional)
    refused(patch(api, caller, kind, record, {kind.instant: None}, 2), 400, "null", f"/{kind.instant}")


@each
def test_a_record_of_the_wrong_bird_is_given_to_the_right_one_and_both_are_told(
    api, two, site, carer, caller, bird, kind
):
    _, home, other = carer
    record = sent(api, caller, kind, bird)
    answer = patch(api, caller, kind, record, {"bird_id": str(other.uid)}, 1)
    assert (answer.status_code, answer.json()["bird_id"]) == (200, str(other.uid))
    with network_scope(two.own):
        events = Event.objects.filter(name=f"{kind.model.KIND}.corrected", record_id=record["id"])
        assert {(event.data["bird_id"], event.data["site_id"], event.version) for event in events} == {
            (str(other.uid), str(home.uid), 2),
            (str(bird.uid), str(site.uid), 2),
        }
        last = {c.site_id: c.op for c in Change.objects.filter(record_id=record["id"])}
        assert last == {site.uid: "gone", home.uid: "put"}


@each
def test_a_record_that_should_never_have_been(api, two, site, caller, bird, kind):
    record = sent(api, caller, kind, bird)
    assert api.delete(f"{kind.address}/{record['id']}", **caller, **match(1)).status_code == 204
    assert api.get(f"{kind.address}/{record['id']}", **caller).status_code == 404
    assert api.get(kind.address, **caller).json()["results"] == []
    refused(send(api, caller, kind, bird, id=record["id"]), 409, "removed", "/id")
    with network_scope(two.own):
        event = Event.objects.get(name=f"{kind.model.KIND}.removed")
        assert (event.data["bird_id"], event.data["site_id"]) == (str(bird.uid), str(site.uid))
        assert list(RecordVersion.objects.filter(record_id=record["id"]).values_list("version", "op")) == [
            (1, "put"),
            (2, "gone"),
        ]


@each
def test_lists_go_by_time_and_are_narrowed_by_bird_site_and_span(api, site, carer, caller, bird, foreign, kind):
    _, home, other = carer
    hours = {hour: f"2027-05-02T0{hour}:00:00Z" for hour in (1, 2, 3)}
    for hour, whose in ((3, bird), (1, bird), (2, other)):
        sent(api, caller, kind, whose, **{kind.instant: hours[hour]})

    def found(**query):
        answer = api.get(kind.address, query, **caller)
        assert answer.status_code == 200, answer.content
        return [int(told[kind.instant][11:13]) for told in answer.json()["results"]]

    assert found() == [1, 2, 3]
    assert found(bird_id=bird.uid) == [1, 3]
    assert found(site_id=home.uid) == [2]
    assert found(**{"from": hours[2]}) == [2, 3]
    assert found(to=hours[2]) == [1]
    assert found(**{"from": "2027-05-02T02:00:00+01:00", "to": hours[3]}) == [1, 2]
    assert found(bird_id=foreign.uid) == found(bird_id=uuid4()) == found(site_id=foreign.site.uid) == []
    page = api.get(kind.address, {"limit": 2}, **caller).json()
    rest = api.get(kind.address, {"limit": 2, "cursor": page["next"]}, **caller).json()
    assert [int(told[kind.instant][11:13]) for told in page["results"] + rest["results"]] == [1, 2, 3]


@pytest.mark.parametrize(
    ("query", "status", "code", "pointer"),
    [
        ({"bird_id": "pip"}, 400, "malformed", "?bird_id"),
        ({"from": "2027-05-02"}, 400, "malformed", "?from"),
        ({"to": "2027-05-02T05:00:00"}, 400, "offset_missing", "?to"),
        ({"from": "2027-05-02T05:00:00Z", "to": "2027-05-02T05:00:00Z"}, 422, "no_span", "?to"),
        ({"since": "2027-05-02T05:00:00Z"}, 400, "unknown_parameter", "?since"),
    ],
)
@each
def test_a_query_that_is_none(api, two, caller, kind, query, status, code, pointer):
    refused(api.get(kind.address, query, **caller), status, code, pointer)


@each
def test_records_of_one_instant_are_paged_without_loss(api, caller, bird, kind):
    ids = {sent(api, caller, kind, bird)["id"] for _ in range(5)}
    seen, cursor = [], {}
    while True:
        page = api.get(kind.address, {"limit": 2, **cursor}, **caller).json()
        seen += [told["id"] for told in page["results"]]
        if page["next"] is None:
            break
        cursor = {"cursor": page["next"]}
    assert (len(seen), set(seen)) == (5, ids)


@each
def test_a_longer_list_takes_no_more_queries(api, site, caller, kind):
    counts = []
    for birds in (1, 6):
        for _ in range(birds):
            sent(api, caller, kind, make_bird(site))
        with CaptureQueriesContext(connection) as queries:
            api.get(kind.address, **caller)
        counts.append(len(queries))
    assert counts[0] == counts[1]


@each
def test_a_batch_is_kept_as_a_whole_or_not_at_all(api, two, caller, bird, foreign, kind):
    items = [{"id": str(uuid4()), "bird_id": str(bird.uid), **kind.least} for _ in range(3)]
    batch = f"{kind.address}/batch"
    before = every_value()
    wrong = [items[0], items[1] | {"bird_id": str(foreign.uid)}, items[2] | {kind.instant: "2027-05-03T05:00:00Z"}]
    answer = api.post(batch, {"items": wrong}, **caller)
    refused(answer, 422, "unknown_bird", "/items/1/bird_id")
    refused(answer, 422, "in_the_future", f"/items/2/{kind.instant}")
    malformed = api.post(batch, {"items": [items[0], items[1] | {"bird_id": 7}]}, **caller)
    refused(malformed, 400, "wrong_type", "/items/1/bird_id")
    assert every_value() == before
    refused(api.post(batch, {"items": []}, **caller), 422, "min_length", "/items")
    refused(api.post(batch, {"items": [dict(items[0]) for _ in range(501)]}, **caller), 422, "max_length", "/items")
    made = api.post(batch, {"items": items}, **caller)
    assert made.status_code == 201, made.content
    assert [told["id"] for told in made.json()["results"]] == [item["id"] for item in items]
    again = api.post(batch, {"items": items}, **caller)
    assert (again.status_code, again.json()) == (200, made.json())
    conflict = api.post(batch, {"items": [items[0], items[1] | {"note": "Other."}]}, **caller)
    refused(conflict, 409, "id_taken", "/items/1/id")
    unnamed = [{name: value for name, value in item.items() if name != "id"} for item in items]
    refused(api.post(batch, {"items": unnamed}, **caller), 400, "idempotency_key_missing")
    assert api.post(batch, {"items": unnamed}, **caller, **key()).status_code == 201
    assert len(api.get(kind.address, **caller).json()["results"]) == 6


@each
def test_an_id_twice_in_a_batch(api, caller, bird, kind):
    item = {"id": str(uuid4()), "bird_id": str(bird.uid), **kind.least}
    assert api.post(f"{kind.address}/batch", {"items": [item, item]}, **caller).status_code == 201
    assert len(api.get(kind.address, **caller).json()["results"]) == 1
    other = {**item, "id": str(uuid4())}
    answer = api.post(f"{kind.address}/batch", {"items": [other, other | {"note": "Other."}]}, **caller)
    refused(answer, 409, "id_taken", "/items/1/id")
    assert len(api.get(kind.address, **caller).json()["results"]) == 1
