"""Events reach those who asked to hear of them: once, after the commit, at nobody's cost."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest

from api.jobs.models import State
from api.jobs.registry import QUEUES
from api.jobs.services import BACK_OFF, dispatch, perform
from api.networks.models import Site
from api.networks.services import sites
from api.outbox.models import Change, Delivery, Event
from api.outbox.registry import Subscriber, subscribers_of
from api.outbox.services import changed, unit_of_work
from api.outbox.services.unit import DELIVERIES
from api.tenancy.scope import current_network_id, network_scope
from api.web import clock
from tests.api.outbox.conftest import rows, touch


def deliveries():
    return [(row.subscriber, row.state, row.attempts) for row in rows(Delivery)]


def test_it_is_heard_after_the_commit_in_the_scope_of_its_network(transactional_db, two, site, heard):
    scopes = []
    events = heard("site.painted")
    heard("site.painted", name="tests.scope", handle=lambda event: scopes.append(current_network_id()))
    touch(site, event="site.painted", colour="green")
    assert [(event.name, event.data["colour"]) for event in events] == [("site.painted", "green")]
    assert scopes == [two.own.pk]
    assert sorted(deliveries()) == [("tests.ear", State.DONE, 1), ("tests.scope", State.DONE, 1)]
    dispatch(clock.now())
    assert len(events) == 1


def test_of_several_events_that_agree_the_last_is_heard_once(transactional_db, site, heard):
    events = heard("site.painted", "site.sold", once_per="colour")
    touch(site, event="site.painted", times=3, colour="green")
    touch(site, event="site.sold", times=2, colour="green")
    assert [(event.version, event.data["colour"]) for event in events] == [(4, "green"), (6, "green")]
    assert len(rows(Event)) == 5


def test_events_that_differ_or_lack_the_member_are_heard_each(transactional_db, two, site, heard):
    events = heard("site.painted", once_per="colour")
    with network_scope(two.own), unit_of_work():
        for colour in ({"colour": "green"}, {"colour": "red"}, {"colour": "green"}, {}, {}):
            site.version += 1
            changed(site, event="site.painted", data=colour)
    assert [event.version for event in events] == [4, 3, 5, 6]


@pytest.mark.usefixtures("transactional_db")
def test_a_subscriber_that_fails_is_tried_again_and_the_request_is_answered(api, caller, heard, monkeypatch):
    fails = [True]
    heard_of = []

    def handle(event):
        Site.objects.filter(uid=event.record_id).update(note="half done")
        heard_of.append(event.name)
        if fails:
            raise ValueError("rain")

    heard("site.added", handle=handle)
    create = _site_that_tells(monkeypatch)
    answer = create(api, caller)
    assert answer.status_code == 201, answer.content
    [delivery] = rows(Delivery)
    assert (delivery.state, delivery.attempts, delivery.last_error) == (State.WAITING, 1, "ValueError: rain")
    assert [site.note for site in rows(Site)] == [""], "what it had done is undone, and nothing else"
    fails.clear()
    later = clock.now() + BACK_OFF[0] + timedelta(seconds=1)
    with clock.standing_at(later):
        dispatch(later)
    assert (deliveries(), heard_of) == ([("tests.ear", State.DONE, 2)], ["site.added"] * 2)


def _site_that_tells(monkeypatch):
    """Adding a site over HTTP, with an event that a test may hear of."""

    def told(site, **about):
        changed(site, event="site.added", **about)

    monkeypatch.setattr(sites, "changed", told)
    body = {"id": str(uuid4()), "name": "Loft", "kind": "home"}
    return lambda api, caller: api.post("/api/v1/sites", body, **caller)


@pytest.mark.usefixtures("transactional_db")
@pytest.mark.parametrize("with_key", [True, False])
def test_a_subscriber_that_fails_does_not_undo_a_request_kept_under_a_key(api, caller, heard, monkeypatch, with_key):
    def handle(event):
        raise RuntimeError("rain")

    heard("site.added", handle=handle)
    create = _site_that_tells(monkeypatch)
    key = {"HTTP_IDEMPOTENCY_KEY": '"once"'} if with_key else {}
    first = create(api, {**caller, **key})
    second = create(api, {**caller, **key})
    assert (first.status_code, second.status_code) == (201, 201 if with_key else 200)
    assert json.loads(first.content) == json.loads(second.content)
    assert len(rows(Site)) == len(rows(Delivery)) == 1


def test_a_subscriber_of_another_release_is_a_kept_failure(transactional_db, site, heard):
    heard("site.painted")
    touch(site, event="site.painted")
    Delivery.objects.update(state=State.WAITING, attempts=0, subscriber="tests.of_tomorrow")
    [delivery] = rows(Delivery)
    assert perform(QUEUES[DELIVERIES], delivery.pk) is False
    [delivery] = rows(Delivery)
    assert delivery.last_error == "LookupError: No subscriber is called tests.of_tomorrow in this release."


def test_what_a_subscriber_changes_is_one_unit_that_tells_on(transactional_db, two, site, heard):
    """Its positions are taken once, at its end: never two of one transaction with work between them."""
    order = []

    def handle(event):
        for _ in range(2):
            touch(Site.objects.get(), event="site.seen")
            order.append(len(rows(Change)))

    heard("site.painted", handle=handle)
    seen = heard("site.seen", name="tests.further")
    touch(site, event="site.painted")
    assert order == [2, 2], "the feed gets its lines when the subscriber has done all"
    assert [row.position for row in rows(Change)] == [1, 2, 3, 4]
    assert [event.version for event in seen] == [3, 4]


def test_subscribers_are_found_by_the_events_they_name(heard):
    heard("site.painted", "site.sold")
    assert [type(one) for one in subscribers_of("site.sold")] == [Subscriber]
    assert subscribers_of("site.bought") == []
