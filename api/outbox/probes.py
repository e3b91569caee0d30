"""How far work lags behind, asked by /ready."""

from datetime import datetime, timedelta

from django.db import DatabaseError
from django.db.models import Count, Min
from django.db.models.functions import Greatest

from api.jobs.models import State
from api.jobs.registry import QUEUES
from api.web import clock
from api.web.probes import ProbeFailedError

#: Three leases: a worker that died, and one that died taking over, are no reason yet.
LATE_AFTER = timedelta(minutes=15)


def lag() -> str:
    """How much work is due, and since when the oldest of it."""
    now = clock.now()
    count, since = 0, now
    try:
        for queue in QUEUES.values():
            # A row made late, such as the report of a morning on which nothing ran, waits since it was made.
            due = queue.model.objects.filter(state=State.WAITING, due_at__lte=now).aggregate(
                count=Count("pk"), since=Min(Greatest("due_at", "made_at"))
            )
            count, since = count + due["count"], min(since, due["since"] or now)
    except DatabaseError as error:
        raise ProbeFailedError("The database does not tell what work is due.") from error
    told = _told(count, since, now)
    if now - since > LATE_AFTER:
        raise ProbeFailedError(f"{told} Does a worker run, and beat?")
    return told


def _told(count: int, since: datetime, now: datetime) -> str:
    if not count:
        return "Nothing waits."
    what = "1 piece of work waits" if count == 1 else f"{count} pieces of work wait"
    return f"{what}, the oldest for {(now - since).total_seconds():.0f} s."
