"""Reads of birds and their records, each with the joins that telling it needs."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.db.models.functions import Coalesce

from api.birds.models import Bird, CropCheck, Feed, Milestone, Weighing
from api.networks.rules.roles import Caller


def birds(
    caller: Caller, *, site_id: UUID | None = None, species: str | None = None, in_care: bool | None = None
) -> QuerySet[Bird]:
    """The birds that the caller sees, in care or not."""
    found = Bird.objects.select_related("site")
    if caller.site_ids is not None:
        found = found.filter(site__uid__in=caller.site_ids)
    if site_id is not None:
        found = found.filter(site__uid=site_id)
    if species is not None:
        found = found.filter(species=species)
    if in_care is not None:
        found = found.filter(outcome_at__isnull=in_care)
    return found


def birds_in_care() -> QuerySet[Bird]:
    """All birds of the network in scope that have not left care; for the service's own work."""
    return Bird.objects.select_related("site").filter(outcome_at__isnull=True)


def weighings(caller: Caller, **filters: Any) -> QuerySet[Weighing]:
    """The weighings of the birds that the caller sees; filters as in ``_records``."""
    return _records(Weighing.objects, caller, **filters)


def feeds(caller: Caller, **filters: Any) -> QuerySet[Feed]:
    """The feeds of the birds that the caller sees."""
    return _records(Feed.objects, caller, **filters)


def crop_checks(caller: Caller, **filters: Any) -> QuerySet[CropCheck]:
    """The crop checks of the birds that the caller sees."""
    return _records(CropCheck.objects, caller, **filters)


def milestones(caller: Caller, **filters: Any) -> QuerySet[Milestone]:
    """The milestones of the birds that the caller sees."""
    return _records(Milestone.objects, caller, instant="observed_at", **filters)


def bird_weighings(bird: Bird) -> QuerySet[Weighing]:
    """A bird's weighings in every state, oldest first: who reckons from them looks at ``state``."""
    return Weighing.objects.select_related("bird__site").filter(bird=bird).order_by("at", "row")


def last_crop_check(bird: Bird) -> CropCheck | None:
    """The latest look at a bird's crop."""
    return CropCheck.objects.select_related("bird__site").filter(bird=bird).order_by("-at", "-row").first()


def last_feed(bird: Bird) -> Feed | None:
    """A bird's latest feed; a run of feeds counts by its end."""
    found = Feed.objects.select_related("bird__site").filter(bird=bird).alias(ended_at=Coalesce("until", "at"))
    return found.order_by("-ended_at", "-row").first()


def milestones_of(bird: Bird) -> QuerySet[Milestone]:
    """What was seen, or looked for and not seen, of a bird's development, oldest first."""
    return Milestone.objects.select_related("bird__site").filter(bird=bird).order_by("observed_at", "row")


def _records(
    rows: Any,
    caller: Caller,
    *,
    instant: str = "at",
    bird_id: UUID | None = None,
    site_id: UUID | None = None,
    since: datetime | None = None,
    before: datetime | None = None,
) -> Any:
    """Records of the birds that the caller sees, of one bird or site, from ``since`` on and before ``before``.

    An id that the caller may not see narrows the list to nothing, as one does that nobody has.
    """
    found = rows.select_related("bird__site")
    if caller.site_ids is not None:
        found = found.filter(bird__site__uid__in=caller.site_ids)
    if bird_id is not None:
        found = found.filter(bird__uid=bird_id)
    if site_id is not None:
        found = found.filter(bird__site__uid=site_id)
    if since is not None:
        found = found.filter(**{f"{instant}__gte": since})
    if before is not None:
        found = found.filter(**{f"{instant}__lt": before})
    return found
