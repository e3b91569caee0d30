"""The dispatcher makes what is due and takes up what was lost, and nothing keeps it from its turn."""

import threading
from datetime import timedelta

import pytest
from django.conf import settings as configured
from django.db import transaction
from kombu.exceptions import OperationalError

from api.jobs import services
from api.jobs.models import Job, State
from api.jobs.registry import QUEUES, SWEEPS, Kind, Lane, Turn
from api.jobs.services import dispatch, enqueue, jobs_make
from api.web import clock
from tests.api.jobs.conftest import KIND, effects
from tests.database import at_once
from tests.factories import make_network


@pytest.fixture
def sent(monkeypatch):
    """What goes to the broker, in the place of a broker."""
    messages = []

    class Task:
        def apply_async(self, args, **options):
            messages.append((*args, options))

    monkeypatch.setitem(services.current_app.tasks, "jobs.perform", Task())
    return messages


def turns(network, now):
    return [Turn(network.pk, f"{day}", now, {"day": day}) for day in (1, 2)]


def plan(looks, monkeypatch, due):
    monkeypatch.setitem(services.KINDS, KIND, Kind(KIND, looks.run, due))


def test_a_turn_makes_what_is_due_and_does_it_once(looks, network, monkeypatch):
    plan(looks, monkeypatch, lambda now: turns(network, now))
    for _ in range(3):
        dispatch(clock.now())
    made = list(Job.objects.values_list("slot", "told", "state").order_by("slot"))
    assert made == [("1", {"day": 1}, State.DONE), ("2", {"day": 2}, State.DONE)]
    assert effects() == 2


def test_many_dispatchers_at_once_make_one_row_and_do_it_once(shared_database, looks, network, monkeypatch, caplog):
    """All of them have seen that there is none before any of them makes one."""
    together = threading.Barrier(6)
    now = clock.now()
    make = type(Job.objects).bulk_create

    def make_together(rows, made, **options):
        if made and isinstance(made[0], Job):
            together.wait(timeout=30)
        return make(rows, made, **options)

    monkeypatch.setattr(type(Job.objects), "bulk_create", make_together)
    plan(looks, monkeypatch, lambda at: turns(network, now))
    at_once(*[lambda: dispatch(now)] * 6)
    assert list(Job.objects.values_list("slot", "state").order_by("slot")) == [("1", State.DONE), ("2", State.DONE)]
    assert (effects(), sorted(Job.objects.values_list("attempts", flat=True))) == (2, [1, 1])
    assert [record.message for record in caplog.records if record.exc_info] == []


def test_a_turn_that_is_made_stays_as_it_was_made(looks, network, standing_clock):
    jobs_make(KIND, [Turn(network.pk, "1", standing_clock, {"of": "then"})])
    jobs_make(KIND, [Turn(network.pk, "1", standing_clock + timedelta(hours=1), {"of": "now"})])
    assert list(Job.objects.values_list("due_at", "told")) == [(standing_clock, {"of": "then"})]


def test_work_whose_message_was_lost_is_taken_up(looks, job):
    """No message was ever sent for this row: its process died between the commit and the sending."""
    dispatch(clock.now())
    assert (Job.objects.get().state, effects()) == (State.DONE, 1)


def test_what_is_claimed_done_given_up_or_not_due_is_left_alone(looks, network, sent, standing_clock):
    later = standing_clock + timedelta(minutes=1)
    rows = {
        "claimed": {"claimed_until": later},
        "done": {"state": State.DONE},
        "given up": {"state": State.GIVEN_UP},
        "not due": {"due_at": later},
        "free": {},
        "lease over": {"claimed_until": standing_clock},
    }
    made = {slot: Job.objects.create(kind=KIND, network=network, slot=slot, **row) for slot, row in rows.items()}
    dispatch(standing_clock)
    assert {pk for _, pk, _ in sent} == {str(made["free"].pk), str(made["lease over"].pk)}


def test_a_message_of_the_dispatcher_lasts_until_its_next_turn(looks, job, sent, settings):
    settings.DISPATCH_EVERY_S = 7.0
    dispatch(clock.now())
    assert sent == [("jobs", str(job.pk), {"queue": Lane.SLOW, "expires": 7.0})]


def test_one_turn_takes_up_so_many_the_oldest_first(looks, network, sent, standing_clock, monkeypatch):
    monkeypatch.setattr(services, "AT_ONCE", 2)
    for minutes in (1, 3, 2):
        due_at = standing_clock - timedelta(minutes=minutes)
        Job.objects.create(kind=KIND, network=network, slot=f"{minutes}", due_at=due_at)
    dispatch(standing_clock)
    slots = {str(pk): slot for pk, slot in Job.objects.values_list("pk", "slot")}
    assert [slots[pk] for _, pk, _ in sent] == ["3", "2"]


def test_what_fails_keeps_nothing_else_from_its_turn(looks, job, monkeypatch, caplog):
    swept = []

    def fail(now):
        raise RuntimeError("rain")

    monkeypatch.setattr(services, "KINDS", {"tests.wet": Kind("tests.wet", looks.run, fail), **services.KINDS})
    monkeypatch.setattr(services, "SWEEPS", {"tests.wet": fail, "tests.dry": swept.append})
    dispatch(now := clock.now())
    assert (Job.objects.get().state, swept) == (State.DONE, [now])
    assert [record.message for record in caplog.records if record.exc_info] == [
        "planning tests.wet failed",
        "sweeping tests.wet failed",
    ]


def test_one_networks_failure_does_not_hold_up_the_others(looks, network, monkeypatch):
    other = make_network()

    def fail(job):
        if job.network_id == network.pk:
            raise RuntimeError("rain")

    looks.meanwhile = fail
    plan(looks, monkeypatch, lambda now: [Turn(which.pk, "1", now) for which in (network, other)])
    dispatch(clock.now())
    assert dict(Job.objects.values_list("network_id", "state")) == {network.pk: State.WAITING, other.pk: State.DONE}


def test_a_broker_that_is_away_is_asked_once_and_fails_nobody(network, monkeypatch, django_capture_on_commit_callbacks):
    asked = []

    class Task:
        def apply_async(self, args, **options):
            asked.append(args)
            raise OperationalError("nobody there")

    monkeypatch.setitem(services.current_app.tasks, "jobs.perform", Task())
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        works = [Job.objects.create(kind=KIND, network=network, slot=f"{slot}") for slot in range(3)]
        enqueue("jobs", works)
    assert len(asked) == 1
    assert Job.objects.filter(state=State.WAITING, claimed_until=None).count() == 3


def test_work_of_a_transaction_that_is_rolled_back_is_not_sent(network, sent, transactional_db):
    def undone():
        with transaction.atomic():
            enqueue("jobs", [Job.objects.create(kind=KIND, network=network, slot="1")])
            raise OSError

    pytest.raises(OSError, undone)
    assert sent == []


def test_every_lane_is_one_that_workers_take_from():
    assert {queue.lane for queue in QUEUES.values()} <= set(Lane)
    assert set(configured.CELERY_TASK_QUEUES) == {str(lane) for lane in Lane}


def test_expired_idempotency_keys_are_swept():
    assert "web.idempotent_exchanges" in SWEEPS
