"""PUT /birds/{id}/outcome and POST /birds/{id}/move."""

from uuid import uuid4

import pytest

from api.outbox.models import Change, Event
from api.tenancy.scope import network_scope
from tests.api.birds.conftest import match, problem, refused
from tests.factories import make_site, make_weighing

pytestmark = pytest.mark.django_db

RELEASE = {
    "kind": "released",
    "at": "2027-05-02T05:30:00+01:00",
    "release": {"method": "from the hand at dusk", "mass_g": 88.25, "ring": "PT 4711", "place": "Tapada"},
    "note": "Flew at once.",
}
DEATH = {
    "kind": "died",
    "at": "2027-05-02T04:00:00Z",
    "causes": ["aspiration", "chilled"],
    "cause_certainty": "post_mortem",
}


def outcome(api, caller, bird, body, version, **headers):
    return api.put(f"/api/v1/birds/{bird.uid}/outcome", body, **caller, **match(version), **headers)


def move(api, caller, bird, site_id, **fields):
    return api.post(f"/api/v1/birds/{bird.uid}/move", {"site_id": str(site_id), **fields}, **caller)


def test_how_a_bird_left_care(api, two, site, caller, bird):
    answer = outcome(api, caller, bird, RELEASE, 1)
    assert (answer.status_code, answer["ETag"]) == (200, '"2"'), answer.content
    assert answer.json()["outcome"] == {
        **RELEASE,
        "at": "2027-05-02T04:30:00Z",
        "causes": [],
        "cause_certainty": "unknown",
    }
    again = outcome(api, caller, bird, RELEASE, 2)
    assert (again.status_code, again["ETag"]) == (200, '"2"')
    corrected = outcome(api, caller, bird, DEATH, 2)
    assert corrected.json()["outcome"] == {**DEATH, "release": None, "note": ""}
    with network_scope(two.own):
        events = Event.objects.filter(name="bird.outcome_recorded").order_by("version")
        assert [(event.version, event.data["kind"]) for event in events] == [(2, "released"), (3, "died")]
        assert {event.data["site_id"] for event in events} == {str(site.uid)}
    versions = api.get(f"/api/v1/birds/{bird.uid}/versions", **caller).json()["results"]
    assert [version["data"]["outcome"] and version["data"]["outcome"]["kind"] for version in versions] == [
        None,
        "released",
        "died",
    ]


def test_an_outcome_of_the_wrong_bird_is_taken_back(api, two, caller, bird):
    outcome(api, caller, bird, DEATH, 1)
    answer = api.delete(f"/api/v1/birds/{bird.uid}/outcome", **caller, **match(2))
    assert (answer.status_code, answer.json()["outcome"], answer["ETag"]) == (200, None, '"3"')
    assert api.delete(f"/api/v1/birds/{bird.uid}/outcome", **caller, **match(3))["ETag"] == '"3"'
    with network_scope(two.own):
        assert Event.objects.get(name="bird.outcome_withdrawn").data["bird_id"] == str(bird.uid)


@pytest.mark.parametrize(
    ("told", "status", "code", "pointer"),
    [
        ({"at": "2027-05-02T05:06:00Z"}, 422, "in_the_future", "/at"),
        ({"at": "2027-04-24T05:00:00Z"}, 422, "before_intake", "/at"),
        ({"at": "2027-05-02T02:59:00Z"}, 422, "records_after", "/at"),
        ({"release": {"place": "Tapada"}}, 422, "not_released", "/release"),
        ({"kind": "lost"}, 400, "invalid_choice", "/kind"),
        ({"kind": None}, 400, "null", "/kind"),
        ({"at": None}, 400, "null", "/at"),
        ({"at": "2027-05-02T04:00:00"}, 400, "offset_missing", "/at"),
        ({"causes": "aspiration"}, 400, "not_a_list", "/causes"),
        ({"causes": [7]}, 400, "wrong_type", "/causes/0"),
        ({"causes": ["x"] * 21}, 422, "max_length", "/causes"),
        ({"cause": "aspiration"}, 400, "unknown_field", "/cause"),
        ({"kind": "released", "release": {"mass_g": "88"}}, 400, "wrong_type", "/release/mass_g"),
        ({"kind": "released", "release": {"mass_g": 0}}, 422, "greater_than", "/release/mass_g"),
        ({"note": "x" * 2001}, 422, "max_length", "/note"),
    ],
)
def test_outcomes_that_cannot_be(api, caller, bird, told, status, code, pointer):
    make_weighing(bird, 36.2, at=bird.intake_at.replace(day=2, month=5, hour=3))
    refused(outcome(api, caller, bird, {**DEATH, **told}, 1), status, code, pointer)
    assert api.get(f"/api/v1/birds/{bird.uid}", **caller).json()["outcome"] is None


def test_a_bird_that_has_left_takes_records_of_the_time_before(api, caller, bird):
    outcome(api, caller, bird, DEATH, 1)
    body = {"id": str(uuid4()), "bird_id": str(bird.uid), "mass_g": 35.0, "at": "2027-05-02T04:01:00Z"}
    refused(api.post("/api/v1/weighings", body, **caller), 409, "bird_left_care", "/at")
    before = api.post("/api/v1/weighings", body | {"at": "2027-05-02T03:00:00Z"}, **caller)
    assert before.status_code == 201
    answer = api.patch(f"/api/v1/weighings/{body['id']}", {"at": "2027-05-02T04:01:00Z"}, **caller, **match(1))
    refused(answer, 409, "bird_left_care", "/at")


def test_a_move_is_gone_for_one_site_and_put_for_the_other(api, two, site, caller, bird):
    weighing = make_weighing(bird, 36.2)
    home = make_site(two.own, name="Ana's home", kind="home")
    answer = move(api, caller, bird, home.uid, at="2027-05-02T04:00:00Z")
    assert (answer.status_code, answer["ETag"], answer.json()["site_id"]) == (200, '"2"', str(home.uid))
    with network_scope(two.own):
        event = Event.objects.get(name="bird.moved")
        told = ("bird_id", "site_id", "left_site_id", "at")
        assert [event.data[name] for name in told] == [
            str(bird.uid),
            str(home.uid),
            str(site.uid),
            "2027-05-02T04:00:00Z",
        ]

        def last_told(at):
            changes = Change.objects.filter(site_id=at.uid, record_id__in=[bird.uid, weighing.uid])
            return {change.kind: change.op for change in changes}

        assert last_told(site) == {"bird": "gone", "weighing": "gone"}
        assert last_told(home) == {"bird": "put", "weighing": "put"}
    assert api.get(f"/api/v1/weighings?site_id={home.uid}", **caller).json()["results"][0]["id"] == str(weighing.uid)
    assert api.get(f"/api/v1/weighings?site_id={site.uid}", **caller).json()["results"] == []
    assert move(api, caller, bird, home.uid)["ETag"] == '"2"'


def test_a_move_from_where_it_was_seen(api, two, caller, bird):
    home = make_site(two.own)
    address = f"/api/v1/birds/{bird.uid}/move"
    assert api.post(address, {"site_id": str(home.uid)}, **caller, **match(7)).status_code == 412
    assert api.post(address, {"site_id": str(home.uid)}, **caller, **match(1)).status_code == 200


def test_a_move_out_of_sight(api, two, site, carer, caller, foreign):
    token, home, own = carer
    nowhere = problem(move(api, token, own, uuid4()))
    assert nowhere[0] == 422
    assert nowhere == problem(move(api, token, own, site.uid)) == problem(move(api, token, own, foreign.site.uid))
    assert move(api, caller, own, site.uid).status_code == 200
    assert api.get(f"/api/v1/birds/{own.uid}", **token).status_code == 404


@pytest.mark.parametrize(
    ("told", "status", "code", "pointer"),
    [
        ({"at": "2027-05-02T05:06:00Z"}, 422, "in_the_future", "/at"),
        ({"at": "2027-04-01T05:00:00Z"}, 422, "before_hatching", "/at"),
        ({"site_id": "nest"}, 400, "malformed", "/site_id"),
        ({"site_id": None}, 400, "null", "/site_id"),
        ({"to": "nest"}, 400, "unknown_field", "/to"),
    ],
)
def test_moves_that_cannot_be(api, two, caller, bird, told, status, code, pointer):
    body = {"site_id": str(make_site(two.own).uid), **told}
    refused(api.post(f"/api/v1/birds/{bird.uid}/move", body, **caller), status, code, pointer)


def test_a_bird_that_has_left_care_is_not_moved(api, two, caller, bird):
    outcome(api, caller, bird, DEATH, 1)
    refused(move(api, caller, bird, make_site(two.own).uid), 409, "bird_left_care", "/at")
