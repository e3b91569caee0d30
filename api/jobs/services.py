"""Taking up work: after the commit that made it, and by the dispatcher, which sweeps up whatever was lost."""

import logging
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from uuid import UUID

from celery import current_app
from django.conf import settings
from django.db import transaction
from django.db.models import Q
from kombu.exceptions import OperationalError as BrokerError

from api.jobs.models import Job, State, Work
from api.jobs.registry import KINDS, QUEUES, SWEEPS, Queue, Turn
from api.tenancy.scope import network_scope
from api.web import clock

logger = logging.getLogger(__name__)

#: Waits after failed attempts; after the last one the work is given up, and stays to be looked at.
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 720))
#: How many rows of a queue one turn of the dispatcher takes up.
AT_ONCE = 500
#: By how much the clocks of two machines may differ: what one has just made due, another may do.
CLOCKS_DIFFER_BY = timedelta(seconds=5)


class WorkerLostError(RuntimeError):
    """Every attempt ended without a word, as when the work kills its worker."""


def enqueue(queue: str, works: Sequence[Work]) -> None:
    """Have work done as soon as the transaction is committed; by the dispatcher if that gets lost."""
    pks = [work.pk for work in works]
    if pks:
        # robust: what is committed has been answered for, whatever becomes of what follows from it.
        transaction.on_commit(lambda: _send(QUEUES[queue], pks), robust=True)


def dispatch(now: datetime) -> None:
    """One turn of the dispatcher: make the jobs that are due, then take up all work that is due and unclaimed.

    What fails is logged and keeps nothing else from its turn.
    """
    for kind in KINDS.values():
        with _apart(f"planning {kind.name}"):
            jobs_make(kind.name, kind.due(now))
    for queue in QUEUES.values():
        with _apart(f"taking up {queue.name}"):
            due = queue.model.objects.filter(_free(now), due_at__lte=now).values_list("pk", flat=True)
            # The next turn sends again what nobody has claimed by then.
            _send(queue, list(due[:AT_ONCE]), expires_s=settings.DISPATCH_EVERY_S)
    for name, sweep in SWEEPS.items():
        with _apart(f"sweeping {name}"):
            sweep(now)


def jobs_make(kind: str, turns: Iterable[Turn]) -> None:
    """Make a row of each turn that has none; two dispatchers at once make one."""
    wanted = {(turn.network_id, turn.slot): turn for turn in turns}
    slots = {slot for _, slot in wanted}
    made = set(Job.objects.filter(kind=kind, slot__in=slots).values_list("network_id", "slot"))
    missing = [turn for which, turn in wanted.items() if which not in made]
    Job.objects.bulk_create(
        [Job(kind=kind, network_id=t.network_id, slot=t.slot, due_at=t.due_at, told=t.told) for t in missing],
        ignore_conflicts=True,
    )


def perform(queue: Queue, pk: UUID) -> bool:
    """Claim a piece of work and do it; False where it is done, claimed, at work, not due or has failed.

    A failure is noted in the row and tried again later: the caller's own work is not undone by it.
    """
    work = _claim(queue.model, pk)
    if work is None:
        return False
    try:
        if work.attempts > len(BACK_OFF) + 1:
            raise WorkerLostError("Each worker that took it up ended without a word.")
        with network_scope(work.network_id):
            return _do_once(queue, work) if queue.atomic else _do(queue, work)
    except Exception as failure:  # noqa: BLE001 - whatever a subscriber does wrong is its own failure, kept in its row
        logger.exception("%s %s failed at attempt %d", queue.name, pk, work.attempts)
        _postpone(work, failure)
        return False


def run_job(job: Job) -> None:
    """What the queue of jobs does: the job's kind, looked up by its name.

    Raises
    ------
    LookupError
        Of a kind that this release does not know, as after going back to an older one.
    """
    kind = KINDS.get(job.kind)
    if kind is None:
        raise LookupError(f"No kind of job is called {job.kind} in this release.")
    kind.run(job)


def _claim(model: type[Work], pk: UUID) -> Work | None:
    """Take the row until the lease runs out. Its number of attempts tells this claim from any later one.

    A row that is locked is at work, however old its claim: left alone, not waited for.
    """
    now = clock.now()
    with transaction.atomic():
        rows = model.objects.select_for_update(skip_locked=True)
        work: Work | None = rows.filter(_free(now), pk=pk, due_at__lte=now + CLOCKS_DIFFER_BY).first()
        if work is None:
            return None
        work.claimed_until = now + timedelta(seconds=settings.WORK_LEASE_S)
        work.attempts += 1
        work.save(update_fields=["claimed_until", "attempts"])
    return work


def _do_once(queue: Queue, claimed: Work) -> bool:
    """Work and mark in one transaction, under a lock: a lease that runs out while its holder works is no harm."""
    ours = Q(pk=claimed.pk, state=State.WAITING, attempts=claimed.attempts)
    with transaction.atomic():
        work = queue.model.objects.select_for_update().filter(ours).first()
        if work is None:
            return False
        queue.perform(work)
        _finish(work)
    return True


def _do(queue: Queue, work: Work) -> bool:
    queue.perform(work)
    _finish(work)
    return True


def _finish(work: Work) -> None:
    type(work).objects.filter(pk=work.pk).update(
        state=State.DONE, finished_at=clock.now(), claimed_until=None, last_error=""
    )


def _postpone(work: Work, failure: Exception) -> None:
    """Note a failure, unless another has taken the work up since: then the row tells of that one."""
    over = work.attempts > len(BACK_OFF)
    wait = timedelta() if over else BACK_OFF[work.attempts - 1]
    type(work).objects.filter(pk=work.pk, state=State.WAITING, attempts=work.attempts).update(
        state=State.GIVEN_UP if over else State.WAITING,
        claimed_until=None,
        due_at=clock.now() + wait,
        last_error=f"{type(failure).__name__}: {failure}"[:2000].replace("\x00", ""),
    )


def _free(now: datetime) -> Q:
    return Q(state=State.WAITING) & (Q(claimed_until__isnull=True) | Q(claimed_until__lte=now))


def _send(queue: Queue, pks: Sequence[UUID], *, expires_s: float | None = None) -> None:
    """To the workers; without a broker it is done here and now. By its name, since the task calls this module."""
    task = current_app.tasks["jobs.perform"]
    for sent, pk in enumerate(pks):
        try:
            task.apply_async((queue.name, str(pk)), queue=queue.lane, expires=expires_s)
        except BrokerError:  # one try for all of them: each would wait for it again
            logger.warning("the broker does not answer; %d of %s wait for it", len(pks) - sent, queue.name)
            return


@contextmanager
def _apart(what: str) -> Iterator[None]:
    try:
        yield
    except Exception:  # noqa: BLE001 - whatever it is, the others have their turn
        logger.exception("%s failed", what)
