"""Celery's way in: two tasks carry everything."""

import logging
from uuid import UUID

from celery import shared_task

from api.jobs import services
from api.jobs.registry import QUEUES
from api.web import clock

logger = logging.getLogger(__name__)


@shared_task(name="jobs.perform")
def perform(queue: str, pk: str) -> None:
    """Do one piece of work, if nobody has claimed it."""
    if queue not in QUEUES:  # sent by another release; its row waits for that one
        logger.error("No queue is called %s in this release; %s is left.", queue, pk)
        return
    services.perform(QUEUES[queue], UUID(pk))


@shared_task(name="jobs.dispatch")
def dispatch() -> None:
    """One turn of the dispatcher; beat sends it, and a turn twice does no harm."""
    services.dispatch(clock.now())
