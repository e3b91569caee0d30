"""A request sent twice is done once.

The contract is the IETF draft "The Idempotency-Key HTTP Header Field", sections 2.1 (a String of RFC 8941) and 2.6
(400 without the key, 422 with another body, 409 while the first is at work).
"""

import json
import os
import signal
import threading
import uuid
from datetime import timedelta

import pytest
from django.contrib.auth.models import Group
from django.db import connection, connections, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import path
from rest_framework.response import Response
from rest_framework.test import APIClient

from api.web import clock
from api.web.idempotency import answer_once, idempotent_exchanges_expire
from api.web.models import IdempotentExchange
from api.web.problem import refused
from api.web.views import OpenView
from tests.database import at_once, every_value

KEY = '"2b1f0c6e-8f0e-4f43-9c58-6f4d2a7b9e10"'


def nothing():
    """What happens between the work and its answer."""


class Records(OpenView):
    """Makes a record, as the rooms' views would."""

    meanwhile = staticmethod(nothing)

    def post(self, request, **_):
        who = request.headers.get("X-Who", "one")
        return answer_once(request, credential=who, needed="id" not in request.data, act=self.act)

    def act(self):
        made = Group.objects.create(name=self.request.data["name"])
        answer = type(self).meanwhile()
        return answer or Response(
            {"name": made.name, "mass_g": 118.0, "among": Group.objects.count()},
            status=201,
            headers={"ETag": '"1"', "Location": f"/api/v1/records/{made.name}", "X-Other": "not kept"},
        )


class Urls:
    urlpatterns = [path("api/v1/records", Records.as_view()), path("api/v1/records/<of>/more", Records.as_view())]
    handler500 = "api.web.fallbacks.server_error"


@pytest.fixture(autouse=True)
def _urls(settings):
    settings.ROOT_URLCONF = Urls


@pytest.fixture
def meanwhile(monkeypatch):
    return lambda act: monkeypatch.setattr(Records, "meanwhile", staticmethod(act))


def send(name="Ash", *, key=KEY, who="one", address="/api/v1/records", **body):
    headers = {"HTTP_X_WHO": who} | ({} if key is None else {"HTTP_IDEMPOTENCY_KEY": key})
    return APIClient(raise_request_exception=False).post(address, {"name": name, **body}, **headers)


def refusal(answer):
    problem = json.loads(answer.content)
    assert problem["status"] == answer.status_code
    return answer.status_code, problem["type"].rsplit("/", 1)[1], *(fault["code"] for fault in problem["errors"])


def names():
    return sorted(Group.objects.values_list("name", flat=True))


# --- the same again


@pytest.mark.django_db
def test_the_second_gets_the_first_answer_and_nothing_is_done_twice():
    first, second = send(), send()
    assert (first.status_code, second.status_code) == (201, 201)
    assert second.content == first.content
    assert (second["ETag"], second["Location"]) == ('"1"', "/api/v1/records/Ash")
    assert second["Content-Type"] == first["Content-Type"]
    assert (first.get("Idempotency-Replayed"), second["Idempotency-Replayed"]) == (None, "true")
    assert names() == ["Ash"]


@pytest.mark.django_db
def test_the_same_body_written_in_another_order_is_the_same():
    first = send(address="/api/v1/records", at="x", z={"b": 1, "a": 2})
    again = APIClient().post(
        "/api/v1/records",
        '{ "z": {"a": 2, "b": 1}, "at": "\\u0078", "name": "Ash" }',
        content_type="application/json",
        HTTP_X_WHO="one",
        HTTP_IDEMPOTENCY_KEY=KEY,
    )
    assert again.content == first.content
    assert names() == ["Ash"]


@pytest.mark.django_db
@pytest.mark.parametrize("body", [{"name": "Birch"}, {"name": "Ash", "x": None}, {"name": "Ash", "x": 1}])
def test_another_body_is_refused_and_the_first_answer_stays(body):
    first = send()
    assert refusal(send(**body)) == (422, "refused", "idempotency_key_reused")
    assert send().content == first.content
    assert names() == ["Ash"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "other", [{"who": "two"}, {"address": "/api/v1/records/x/more"}, {"key": '"another"'}], ids=str
)
def test_a_key_is_one_credential_s_at_one_address(other):
    send()
    assert send("Birch", **other).status_code == 201
    assert names() == ["Ash", "Birch"]


@pytest.mark.django_db
def test_no_part_of_key_or_credential_runs_into_the_next():
    assert send(key='"b c"', who="a").status_code == 201
    assert send("Birch", key='"c"', who="a b").status_code == 201


@pytest.mark.django_db
def test_an_answer_without_a_body_is_replayed(meanwhile):
    meanwhile(lambda: Response(status=204))
    first, second = send(), send()
    assert (first.status_code, first.content) == (second.status_code, second.content) == (204, b"")
    assert names() == ["Ash"]


@pytest.mark.django_db
def test_neither_key_nor_credential_nor_body_is_kept():
    send("Ash", key='"a-key-of-mine"', who="a-credential", secret="sent-only")
    kept = every_value()
    assert "/api/v1/records/Ash" in kept
    assert not [word for word in ("a-key-of-mine", "a-credential", "sent-only") if word in kept]


# --- the key


@pytest.mark.django_db
def test_without_a_key_a_record_with_an_id_of_its_own_is_made_and_any_other_refused():
    assert refusal(send(key=None)) == (400, "invalid-request", "idempotency_key_missing")
    assert names() == []
    assert send(key=None, id="0197").status_code == 201
    assert not IdempotentExchange.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "key",
    ["", '""', '"', '"a', 'a"', '"a" "b"', '"a", "b"', "a, b", "a b", '"a";p=1', "a;p=1", '"\\a"', '"\t"', "é", '"é"']
    + ["x" * 256, '"' + "x" * 256 + '"'],
)
def test_a_malformed_key_is_400(key):
    assert refusal(send(key=key)) == (400, "invalid-request", "idempotency_key_malformed")
    assert names() == []


@pytest.mark.django_db
@pytest.mark.parametrize("key", ["a", "x" * 255, f'"{"x" * 255}"', '" "', r'"\"\\"', "8e03978e-40d5-43e8", "~!#+/=:@"])
def test_a_key_that_will_do(key):
    assert send(key=key).status_code == 201
    assert send(key=f"  {key} ")["Idempotency-Replayed"] == "true"


@pytest.mark.django_db
def test_quotes_do_not_belong_to_the_key():
    send(key='"abc"')
    assert send(key="abc")["Idempotency-Replayed"] == "true"


# --- what is not done leaves nothing


def _raises():
    raise refused("/name", "unknown_species", "There is no such species.")


def _breaks():
    raise ZeroDivisionError


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("act", "status"),
    [(_raises, 422), (lambda: Response({"detail": "no"}, status=409), 409), (_breaks, 500)],
    ids=["raised", "answered", "failed"],
)
def test_a_refusal_undoes_its_work_and_frees_the_key(meanwhile, act, status):
    meanwhile(act)
    assert send().status_code == status
    assert names() == []
    assert not IdempotentExchange.objects.exists()
    meanwhile(nothing)
    assert send("Birch").status_code == 201
    assert names() == ["Birch"]


@pytest.mark.django_db
def test_a_body_that_cannot_be_read_reserves_nothing():
    answer = APIClient().post("/api/v1/records", "{", content_type="application/json", HTTP_IDEMPOTENCY_KEY=KEY)
    assert refusal(answer)[:2] == (400, "malformed-body")
    assert not IdempotentExchange.objects.exists()


def test_what_fails_after_the_commit_is_done_and_replayed(shared_database, meanwhile):
    meanwhile(lambda: transaction.on_commit(_breaks))
    assert send().status_code == 500
    assert names() == ["Ash"]
    meanwhile(nothing)
    assert send()["Idempotency-Replayed"] == "true"
    assert names() == ["Ash"]


# --- at once


def test_while_the_first_is_at_work_the_second_is_a_conflict(shared_database, meanwhile):
    working, seen = threading.Event(), threading.Event()

    def work():
        working.set()
        assert seen.wait(30)

    def second():
        assert working.wait(30)
        try:
            return send(), send("Birch")
        finally:
            seen.set()

    meanwhile(work)
    first, (same, other) = at_once(send, second)
    assert first.status_code == 201
    assert (refusal(same), same["Retry-After"]) == ((409, "conflict"), "1")
    assert refusal(other) == (422, "refused", "idempotency_key_reused")
    assert send().content == first.content
    assert names() == ["Ash"]


def test_of_many_at_once_one_does_the_work(shared_database):
    barrier = threading.Barrier(8)

    def one():
        barrier.wait(30)
        return send()

    answers = at_once(*[one] * 8)
    assert {answer.status_code for answer in answers} <= {201, 409}
    assert len([a for a in answers if a.status_code == 201 and "Idempotency-Replayed" not in a]) == 1
    assert len({a.content for a in answers if a.status_code == 201}) == 1
    assert names() == ["Ash"]


def test_a_reservation_outlives_its_process_for_a_minute(shared_database, meanwhile, standing_clock):
    """A real process, killed in the middle of its work, on a connection of its own."""
    meanwhile(lambda: os.kill(os.getpid(), signal.SIGKILL))
    child = os.fork()
    if child == 0:
        try:
            connections["default"] = connections.create_connection("default")
            send()
        finally:
            os._exit(1)
    _, status = os.waitpid(child, 0)
    assert os.WTERMSIG(status) == signal.SIGKILL
    meanwhile(nothing)
    assert IdempotentExchange.objects.get().in_flight
    assert names() == []
    with clock.standing_at(standing_clock + timedelta(seconds=59)):
        assert send().status_code == 409
    with clock.standing_at(standing_clock + timedelta(seconds=60)):
        assert send().status_code == 201
        assert send()["Idempotency-Replayed"] == "true"
    assert names() == ["Ash"]


def test_who_was_taken_for_dead_and_comes_back_gives_way(shared_database, meanwhile, standing_clock):
    """The first works for longer than a minute, a second asks: one of them is done, whatever the database.

    PostgreSQL gives the second the key. SQLite's one writer is the first, so the second waits for it in vain.
    """
    working, taken = threading.Event(), threading.Event()

    def slow():
        meanwhile(nothing)
        working.set()
        taken.wait(2)

    def second():
        assert working.wait(30)
        with clock.standing_at(standing_clock + timedelta(seconds=61)):
            try:
                return send("Birch")
            finally:
                taken.set()

    meanwhile(slow)
    answers = dict(zip(["Ash", "Birch"], at_once(send, second), strict=True))
    done = [name for name, answer in answers.items() if answer.status_code == 201]
    assert sorted(answer.status_code for answer in answers.values()) == [201, 409]
    assert names() == done == [{"postgresql": "Birch", "sqlite": "Ash"}[connection.vendor]]
    assert send(done[0]).content == answers[done[0]].content


@pytest.mark.django_db
def test_work_whose_key_is_another_s_by_now_is_undone(meanwhile):
    meanwhile(lambda: IdempotentExchange.objects.update(holder=uuid.uuid4()) and None)
    assert refusal(send())[:2] == (409, "conflict")
    assert names() == []


# --- for a day


@pytest.mark.django_db
def test_a_key_is_kept_for_a_day(standing_clock):
    send()
    day = timedelta(hours=24)
    with clock.standing_at(standing_clock + day - timedelta(microseconds=1)):
        assert send()["Idempotency-Replayed"] == "true"
        assert idempotent_exchanges_expire(clock.now()) == 0
    with clock.standing_at(standing_clock + day):
        assert send("Birch").status_code == 201
        assert send("Birch")["Idempotency-Replayed"] == "true"
    assert idempotent_exchanges_expire(standing_clock + day) == 0
    assert idempotent_exchanges_expire(standing_clock + 2 * day) == 1
    assert not IdempotentExchange.objects.exists()


@pytest.mark.django_db
def test_of_two_who_find_a_key_free_again_one_has_it(monkeypatch, standing_clock):
    """Between a look at a key that is past its time and taking it, another request comes, and is done."""
    send()
    is_free = IdempotentExchange.is_free

    def after_another(found, now):
        monkeypatch.setattr(IdempotentExchange, "is_free", is_free)
        assert send("Birch").status_code == 201
        return is_free(found, now)

    monkeypatch.setattr(IdempotentExchange, "is_free", after_another)
    with clock.standing_at(standing_clock + timedelta(hours=24)):
        assert refusal(send("Birch"))[:2] == (409, "conflict")
        assert send("Birch")["Idempotency-Replayed"] == "true"
    assert names() == ["Ash", "Birch"]


# --- what it costs


def statements(**sent):
    with CaptureQueriesContext(connection) as queries:
        send(**sent)
    return [q["sql"].split()[0] for q in queries if IdempotentExchange._meta.db_table in q["sql"]]


@pytest.mark.django_db
def test_it_takes_three_queries_and_a_replay_one(meanwhile):
    assert statements() == ["SELECT", "INSERT", "UPDATE"]
    assert statements() == ["SELECT"]
    assert statements(name="Birch") == ["SELECT"]
    assert statements(key=None, id="0197", name="Cedar") == []
    meanwhile(_raises)
    assert statements(key='"another"', name="Dogwood") == ["SELECT", "INSERT", "DELETE"]
