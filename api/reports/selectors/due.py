"""Which reports are due."""

import logging
from collections.abc import Iterator
from datetime import datetime

import msgspec

from api.jobs.registry import Turn
from api.jobs.rules.due import latest_slot
from api.tenancy.models import Network
from species.domain.errors import DomainError
from species.domain.localtime import zone_named

logger = logging.getLogger(__name__)

#: The kind of job that writes the daily report.
DAILY_REPORT = "daily_report"


def reports_due(now: datetime) -> Iterator[Turn]:
    """The latest turn of every network; a network that was founded after its turn has none yet."""
    for network in Network.objects.order_by("pk"):
        try:
            slot = latest_slot(now, zone_named(network.time_zone), network.report_at)
        except DomainError:  # one network's zone must not keep the reports of all others
            logger.exception("network %s has no daily report: its time zone cannot be read", network.pk)
            continue
        if network.created_at <= slot.due_at:
            yield Turn(network.pk, slot.on.isoformat(), slot.due_at, msgspec.to_builtins(slot))
