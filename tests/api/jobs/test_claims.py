"""Work is done once however many look for it, again if its worker died, and kept where it fails."""

import logging
import threading
from datetime import timedelta

import pytest
from django.db import connection, connections

from api.jobs.models import Job, State
from api.jobs.registry import Queue
from api.jobs.services import BACK_OFF, perform
from api.jobs.tasks import perform as perform_task
from api.web import clock
from tests.api.jobs.conftest import effects
from tests.database import at_once


def the_job() -> Job:
    return Job.objects.get()


def test_work_that_is_due_is_done_and_marked(looks, jobs, job, standing_clock):
    assert perform(jobs, job.pk) is True
    done = the_job()
    assert (done.state, done.finished_at, done.claimed_until) == (State.DONE, standing_clock, None)
    assert (done.attempts, effects()) == (1, 1)
    assert perform(jobs, job.pk) is False
    assert effects() == 1


def test_work_is_not_done_before_it_is_due(looks, jobs, job):
    Job.objects.update(due_at=clock.now() + timedelta(minutes=1))
    assert perform(jobs, job.pk) is False
    assert (the_job().attempts, effects()) == (0, 0)


def test_a_machine_whose_clock_is_a_little_behind_does_what_another_made_due(looks, jobs, job):
    Job.objects.update(due_at=clock.now() + timedelta(seconds=3))
    assert perform(jobs, job.pk) is True


def test_of_many_at_once_one_does_it(shared_database, looks, jobs, job):
    together = threading.Barrier(8)

    def take_up() -> bool:
        together.wait(timeout=30)
        return perform(jobs, job.pk)

    assert sorted(at_once(*[take_up] * 8)) == [False] * 7 + [True]
    assert (the_job().attempts, effects(), len(looks.asked)) == (1, 1, 1)


def test_what_a_dead_worker_had_claimed_is_taken_up_when_its_lease_is_over(looks, jobs, job, settings):
    """A worker that is killed says nothing: its claim stands in the row, and no one holds the lock."""
    settings.WORK_LEASE_S = 300
    with clock.standing_at(clock.now()):

        class Killed(BaseException):
            pass

        def killed(job):
            raise Killed

        looks.meanwhile = killed
        with pytest.raises(Killed):
            perform(jobs, job.pk)
        assert (the_job().state, the_job().attempts, effects()) == (State.WAITING, 1, 0)
        looks.meanwhile = lambda job: None
        assert perform(jobs, job.pk) is False, "the lease has not run out"
        with clock.standing_at(clock.now() + timedelta(seconds=300)):
            assert perform(jobs, job.pk) is True
    assert (the_job().attempts, effects()) == (2, 1)


def test_a_lease_that_runs_out_while_its_holder_works_is_no_harm(shared_database, looks, jobs, job, settings):
    """The second comes with the first's lease over and its work not: it may neither do it as well nor spoil it."""
    settings.WORK_LEASE_S = 0
    second = []

    def another(job):
        if len(looks.asked) == 1 and connection.vendor == "postgresql":
            second.extend(at_once(lambda: perform(jobs, job.pk)))

    looks.meanwhile = another
    assert perform(jobs, job.pk) is True
    assert second in ([False], []), "PostgreSQL lets a second look; SQLite lets it wait for its turn"
    assert (the_job().state, the_job().attempts, effects()) == (State.DONE, 1, 1)


def test_many_whose_leases_are_over_at_once_do_it_once(shared_database, looks, jobs, job, settings):
    settings.WORK_LEASE_S = 0
    looks.meanwhile = lambda job: threading.Event().wait(0.2)
    together = threading.Barrier(6)

    def take_up() -> bool:
        together.wait(timeout=30)
        return perform(jobs, job.pk)

    assert sorted(at_once(*[take_up] * 6)) == [False] * 5 + [True]
    assert effects() == 1


def test_a_late_loser_does_not_undo_what_another_did_since(looks, job, settings):
    """Work without a lock, such as a mail: the first fails after the second, with its lease over, has done it."""
    settings.WORK_LEASE_S = 0
    attempts = []

    def send(job):
        attempts.append(job.attempts)
        if len(attempts) == 1:
            assert perform(mails, job.pk) is True
            raise OSError("connection lost")

    mails = Queue("tests.mails", Job, send, atomic=False)
    assert perform(mails, job.pk) is False
    assert (attempts, the_job().state, the_job().last_error) == ([1, 2], State.DONE, "")


def test_a_failure_is_kept_and_tried_again_later_until_it_is_given_up(looks, jobs, job, standing_clock):
    def fail(job):
        raise ValueError("a\x00b")

    looks.meanwhile = fail
    now = standing_clock
    for wait in (*BACK_OFF, None):
        with clock.standing_at(now):
            assert perform(jobs, job.pk) is False
            assert perform(jobs, job.pk) is False, "not due again yet"
        failed = the_job()
        assert (failed.last_error, failed.claimed_until) == ("ValueError: ab", None)
        if wait is not None:
            assert (failed.state, failed.due_at - now) == (State.WAITING, wait)
            now += wait
    assert (failed.state, failed.attempts, failed.finished_at) == (State.GIVEN_UP, len(BACK_OFF) + 1, None)
    with clock.standing_at(now + timedelta(days=30)):
        assert perform(jobs, job.pk) is False
    assert (len(looks.asked), effects()) == (len(BACK_OFF) + 1, 0)


def test_a_failure_that_passes_leaves_no_trace(looks, jobs, job):
    def fail(job):
        raise OSError("the disk is full")

    looks.meanwhile = fail
    perform(jobs, job.pk)
    looks.meanwhile = lambda job: None
    with clock.standing_at(clock.now() + BACK_OFF[0] + timedelta(seconds=1)):
        assert perform(jobs, job.pk) is True
    assert (the_job().state, the_job().last_error) == (State.DONE, "")


def test_work_that_kills_its_worker_each_time_is_given_up(looks, jobs, job):
    Job.objects.update(attempts=len(BACK_OFF) + 1)
    assert perform(jobs, job.pk) is False
    assert (the_job().state, looks.asked) == (State.GIVEN_UP, [])
    assert the_job().last_error.startswith("WorkerLostError: ")


def test_a_kind_that_this_release_does_not_know_is_a_kept_failure(looks, jobs, job):
    """A release was taken back, and left a row."""
    Job.objects.update(kind="tests.of_tomorrow")
    assert perform(jobs, job.pk) is False
    assert the_job().last_error == "LookupError: No kind of job is called tests.of_tomorrow in this release."
    assert (the_job().state, the_job().attempts) == (State.WAITING, 1)


def test_a_message_of_a_queue_that_this_release_does_not_know_is_dropped(job, caplog):
    with caplog.at_level(logging.ERROR):
        perform_task.delay("tests.of_tomorrow", str(job.pk)).get()
    assert "No queue is called tests.of_tomorrow in this release" in caplog.text
    assert the_job().attempts == 0


def test_a_message_of_a_row_that_is_no_more(looks, jobs, job):
    Job.objects.all().delete()
    assert perform(jobs, job.pk) is False


def test_what_the_database_refuses_at_the_commit_is_a_failure_like_any(shared_database, looks, jobs, job):
    """A foreign key is checked at the commit, after the work has returned."""

    def fail(job):
        with connection.cursor() as cursor:
            cursor.execute("UPDATE tenancy_auditentry SET actor_id = %s", ["00000000000000000000000000000000"])

    looks.meanwhile = fail
    assert perform(jobs, job.pk) is False
    assert the_job().last_error.startswith("IntegrityError: ")
    assert effects() == 0
    connections.close_all()
