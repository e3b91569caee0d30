"""Taking up work: after the commit that made it, and by the dispatcher, which sweeps up whatever was lost."""

import logging
from datetime import datetime, timedelta
from uuid import UUID

from celery import current_app
from django.conf import settings
from django.db import transaction
from django.db.models import F, Q

from api.jobs.models import Job, State, Work
from api.jobs.registry import KINDS, QUEUES, SWEEPS, Queue, Turn
from api.tenancy.scope import network_scope
from api.web import clock

logger = logging.getLogger(__name__)

#: Waits after failed attempts; after the last one the work is given up, and stays to be looked at.
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 720))
#: How many rows of a queue one turn of the dispatcher takes up.
AT_ONCE = 500


def enqueue(queue: str, work: Work) -> None:
    """Have the work done as soon as the transaction is committed; by the dispatcher if that gets lost."""
    transaction.on_commit(lambda: _send(queue, work.pk), robust=True)


def dispatch(now: datetime) -> None:
    """One turn of the dispatcher: make the jobs that are due, then take up all work that is due and unclaimed."""
    for sweep in SWEEPS.values():
        sweep(now)
    for kind in KINDS.values():
        for turn in kind.due(now):
            job_make(kind.name, turn)
    for queue in QUEUES.values():
        for pk in queue.model.objects.filter(_free(now), due_at__lte=now).values_list("pk", flat=True)[:AT_ONCE]:
            _send(queue.name, pk)


def job_make(kind: str, turn: Turn) -> Job:
    """The row of a job's turn, made where there is none; two dispatchers at once make one."""
    job, _ = Job.objects.get_or_create(
        kind=kind, network_id=turn.network_id, slot=turn.slot, defaults={"due_at": turn.due_at, "told": turn.told}
    )
    return job


def perform(queue: Queue, pk: UUID) -> bool:
    """Claim a piece of work and do it; False where it is done, claimed or not due.

    A failure is noted in the row and tried again later: the caller's own work is not undone by it.
    """
    if not _claim(queue.model, pk):
        return False
    work = queue.model.objects.get(pk=pk)
    try:
        with network_scope(work.network_id):
            if queue.atomic:
                _perform_once(queue, pk)
            else:
                queue.perform(work)
                _finish(work)
    except Exception as failure:  # noqa: BLE001 - whatever a subscriber does wrong is its own failure, kept in its row
        logger.exception("%s %s failed at attempt %d", queue.name, pk, work.attempts)
        _postpone(work, failure)
        return False
    return True


def _perform_once(queue: Queue, pk: UUID) -> None:
    """Work and mark in one transaction, under a lock: a claim that ran out while its holder still works is no harm."""
    with transaction.atomic():
        work = queue.model.objects.select_for_update().get(pk=pk)
        if work.state == State.WAITING:
            queue.perform(work)
            _finish(work)


def run_job(job: Job) -> None:
    """What the queue of jobs does: the job's kind, looked up by its name."""
    KINDS[job.kind].run(job)


def _send(queue: str, pk: UUID) -> None:
    """To a worker; without a broker it is done here and now. By its name, since the task calls this module."""
    current_app.tasks["jobs.perform"].delay(queue, str(pk))


def _free(now: datetime) -> Q:
    return Q(state=State.WAITING) & (Q(claimed_until__isnull=True) | Q(claimed_until__lte=now))


def _claim(model: type[Work], pk: UUID) -> bool:
    """One conditional update: of several that try at once, the database lets one through."""
    now = clock.now()
    return bool(
        model.objects.filter(_free(now), pk=pk, due_at__lte=now).update(
            claimed_until=now + timedelta(seconds=settings.WORK_LEASE_S), attempts=F("attempts") + 1
        )
    )


def _finish(work: Work) -> None:
    type(work).objects.filter(pk=work.pk).update(
        state=State.DONE, finished_at=clock.now(), claimed_until=None, last_error=""
    )


def _postpone(work: Work, failure: Exception) -> None:
    over = work.attempts > len(BACK_OFF)
    wait = timedelta() if over else BACK_OFF[work.attempts - 1]
    type(work).objects.filter(pk=work.pk).update(
        state=State.GIVEN_UP if over else State.WAITING,
        claimed_until=None,
        due_at=clock.now() + wait,
        last_error=f"{type(failure).__name__}: {failure}"[:2000],
    )
