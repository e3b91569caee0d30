"""The feed of changes forgets what is too old to be followed."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import Min

from api.outbox.models import Change
from api.tenancy.scope import all_networks

#: Rows deleted in one statement, so that none holds up the others for long.
CHUNK = 1000


def changes_expire(now: datetime) -> int:
    """Delete what is older than ``CHANGES_KEPT_DAYS``, each network's oldest first; gives how many.

    Always the beginning of a feed, for a gap in its midst would be passed unnoticed: a line of the feed is as old as
    its transaction's beginning, so that an older one may stand behind a younger one.
    """
    too_old = now - timedelta(days=settings.CHANGES_KEPT_DAYS)
    deleted = 0
    with all_networks("the feed of changes forgets what is old"):
        for (network_id,) in Change.objects.filter(at__lt=too_old).order_by().values_list("network_id").distinct():
            feed = Change.objects.filter(network_id=network_id)
            kept = feed.filter(at__gte=too_old).aggregate(first=Min("position"))["first"]
            old = feed if kept is None else feed.filter(position__lt=kept)
            while chunk := list(old.order_by("position").values_list("position", flat=True)[:CHUNK]):
                deleted += feed.filter(position__lte=chunk[-1]).delete()[0]
    return deleted
