"""A write is there with all that it leaves, or not at all; and two at once are both there."""

from uuid import uuid4

import pytest
from rest_framework.test import APIClient

from api.birds.models import Bird, Feed, Weighing
from api.outbox.models import Change, Event, RecordVersion
from api.outbox.services import unit
from api.tenancy.scope import network_scope
from tests.api.birds.conftest import key, match
from tests.api.birds.kinds import KINDS
from tests.database import at_once, every_value
from tests.factories import make_bird, make_site, make_weighing


@pytest.fixture
def failing_at_the_end(monkeypatch):
    """Units of work that fail when everything has been written and nothing committed."""
    write = unit._write

    def fail(written):
        write(written)
        assert Change.objects.filter(record_id__in=[change.record_id for change in written.changes]).exists()
        raise RuntimeError("The disk is full.")

    monkeypatch.setattr(unit, "_write", fail)


def writes(bird, weighing, home):
    """Every kind of write: (method, address, body)."""
    address, weighed = f"/api/v1/birds/{bird.uid}", f"/api/v1/weighings/{weighing.uid}"
    yield "post", "/api/v1/birds", {"name": "Pop", "site_id": str(home.uid), "species": "columba-livia"}
    yield "patch", address, {"name": "Pop"}
    yield "put", f"{address}/outcome", {"kind": "died", "at": "2027-05-02T05:00:00Z"}
    yield "post", f"{address}/move", {"site_id": str(home.uid)}
    for kind in KINDS:
        body = {"bird_id": str(bird.uid), **kind.whole}
        yield "post", kind.address, body
        yield "post", kind.address, {"id": str(uuid4()), **body}
        yield "post", f"{kind.address}/batch", {"items": [body, body]}
    yield "patch", weighed, {"mass_g": 36.5}
    yield "patch", weighed, {"state": "rejected"}
    yield "delete", weighed, {}


@pytest.mark.django_db
def test_a_write_that_fails_at_the_end_leaves_nothing(api, two, caller, bird, failing_at_the_end, monkeypatch, caplog):
    with monkeypatch.context() as whole:
        whole.setattr(unit, "_write", lambda written: None)
        weighing, home = make_weighing(bird, 36.2), make_site(two.own)
    before = every_value()
    for method, address, body in writes(bird, weighing, home):
        answer = getattr(api, method)(address, body, **caller, **match(1), **key())
        assert answer.status_code == 500, (method, address, answer.content)
        assert every_value() == before, (method, address)
    assert "The disk is full." in caplog.text


@pytest.mark.django_db
def test_the_same_writes_leave_a_version_a_change_and_an_event(api, two, caller, bird):
    weighing, home = make_weighing(bird, 36.2), make_site(two.own)
    with network_scope(two.own):
        for method, address, body in writes(bird, weighing, home):
            before = [model.objects.count() for model in (RecordVersion, Change, Event)]
            current = api.get(address.removesuffix("/outcome").removesuffix("/move"), **caller)
            headers = {"HTTP_IF_MATCH": current["ETag"]} if method in ("put", "patch", "delete") else {}
            answer = getattr(api, method)(address, body, **caller, **headers, **key())
            assert answer.status_code in (200, 201, 204), (method, address, answer.content)
            after = [model.objects.count() for model in (RecordVersion, Change, Event)]
            assert all(now > then for now, then in zip(after, before, strict=True)), (method, address)
            if address.endswith("/outcome"):
                api.delete(address, **caller, HTTP_IF_MATCH=answer["ETag"])


@pytest.fixture
def shared(shared_database, built_in_species, two, caller):
    """Two birds of one site, for threads."""
    site = make_site(two.own)
    return two.own, caller, make_bird(site), make_bird(site)


def test_two_weighings_of_one_bird_at_once_are_both_kept(shared):
    network, caller, bird, _ = shared

    def weigh(mass_g):
        body = {"id": str(uuid4()), "bird_id": str(bird.uid), "at": "2027-05-02T04:50:00Z", "mass_g": mass_g}
        return APIClient().post("/api/v1/weighings", body, **caller)

    answers = at_once(lambda: weigh(36.2), lambda: weigh(36.4))
    assert [answer.status_code for answer in answers] == [201, 201]
    with network_scope(network):
        assert sorted(float(weighing.mass_g) for weighing in Weighing.objects.all()) == [36.2, 36.4]
        positions = list(Change.objects.filter(kind="weighing", version=1).values_list("position", flat=True))
        assert len(set(positions)) == 2


def test_one_record_sent_twice_at_once_is_there_once(shared):
    network, caller, bird, _ = shared
    body = {"id": str(uuid4()), "bird_id": str(bird.uid), "at": "2027-05-02T04:50:00Z", "volume_ml": 2.5}
    answers = at_once(*[lambda: APIClient().post("/api/v1/feeds", body, **caller)] * 2)
    assert sorted(answer.status_code for answer in answers) == [200, 201]
    assert answers[0].json() == answers[1].json()
    with network_scope(network):
        assert Feed.objects.count() == 1
        assert Event.objects.filter(name="feed.recorded").count() == 1


def test_batches_and_corrections_that_cross_wait_for_none(shared):
    network, caller, one, other = shared

    def batch(*birds):
        items = [
            {"id": str(uuid4()), "bird_id": str(bird.uid), "at": "2027-05-02T04:50:00Z", "volume_ml": 2.5}
            for bird in birds
            for _ in range(20)
        ]
        return APIClient().post("/api/v1/feeds/batch", {"items": items}, **caller)

    answers = at_once(lambda: batch(one, other), lambda: batch(other, one))
    assert [answer.status_code for answer in answers] == [201, 201]
    mine, theirs = make_weighing(one, 36.2), make_weighing(other, 36.4)

    def swap(weighing, bird):
        return APIClient().patch(
            f"/api/v1/weighings/{weighing.uid}", {"bird_id": str(bird.uid)}, **caller, HTTP_IF_MATCH="*"
        )

    answers = at_once(lambda: swap(mine, other), lambda: swap(theirs, one))
    assert [answer.status_code for answer in answers] == [200, 200]
    with network_scope(network):
        assert Weighing.objects.get(uid=mine.uid).bird == other
        assert Weighing.objects.get(uid=theirs.uid).bird == one


def test_a_weighing_does_not_slip_past_the_outcome(shared):
    network, caller, bird, _ = shared
    body = {"id": str(uuid4()), "bird_id": str(bird.uid), "at": "2027-05-02T04:59:00Z", "mass_g": 36.2}
    died = {"kind": "died", "at": "2027-05-02T04:58:00Z"}
    answers = at_once(
        lambda: APIClient().post("/api/v1/weighings", body, **caller),
        lambda: APIClient().put(f"/api/v1/birds/{bird.uid}/outcome", died, **caller, HTTP_IF_MATCH="*"),
    )
    # Either the weighing was first, and the bird cannot have died before it; or the bird had died.
    assert [answer.status_code for answer in answers] in ([201, 422], [409, 200])
    with network_scope(network):
        left = Bird.objects.get(uid=bird.uid).outcome_at
        assert left is None or not Weighing.objects.exists()
