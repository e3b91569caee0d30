"""Celery's way in: two tasks carry everything."""

from uuid import UUID

from celery import shared_task

from api.jobs import services
from api.jobs.registry import QUEUES
from api.web import clock


@shared_task(name="jobs.perform", acks_late=True, reject_on_worker_lost=True)
def perform(queue: str, pk: str) -> None:
    """Do one piece of work, if nobody has claimed it."""
    services.perform(QUEUES[queue], UUID(pk))


@shared_task(name="jobs.dispatch")
def dispatch() -> None:
    """One turn of the dispatcher; beat sends it, and a turn twice does no harm."""
    services.dispatch(clock.now())
