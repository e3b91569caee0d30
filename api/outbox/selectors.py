"""Reads of the outbox."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal
from uuid import UUID

from django.db.models import Min, Q, QuerySet

from api.outbox.models import Change, ChangeCounter, RecordVersion
from api.tenancy.scope import current_network_id

#: Positions that one page looks at, at most: a reader who may see little goes on, instead of waiting for a match.
LOOKED_AT = 5000
#: Where a reader begins who is about to take a fresh copy.
LATEST: Literal["latest"] = "latest"


@dataclass(frozen=True)
class ChangesPage:
    """Changes in their order; ``next`` is the last position looked at, ``more`` whether there are any behind it."""

    changes: list[Change]
    next: int
    more: bool


class OutsideFeedError(ValueError):
    """A position at which the feed cannot be continued; ``end`` is its last one."""

    def __init__(self, end: int) -> None:
        self.end = end
        super().__init__(f"The feed ends at {end}.")


class CursorExpiredError(OutsideFeedError):
    """Changes behind this position are no longer kept."""


class BeyondEndError(OutsideFeedError):
    """A position that the feed has not reached."""


def versions(kind: str, record_id: UUID) -> QuerySet[RecordVersion]:
    """A record as it stood, oldest version first."""
    return RecordVersion.objects.select_related("actor", "client").filter(kind=kind, record_id=record_id)


def changes_page(
    *,
    after: int | Literal["latest"] | None,
    limit: int,
    kinds: Collection[str],
    site_ids: Collection[UUID] | None,
) -> ChangesPage:
    """The changes behind a position that the caller may see.

    Parameters
    ----------
    after
        The last position known; none for the oldest that is kept.
    site_ids
        Public ids of the sites that the caller sees; none for the whole network.

    Raises
    ------
    CursorExpiredError, BeyondEndError
        Of a position at which the feed cannot be continued.
    """
    # Read first: positions up to here are committed, each with all before it, and appear in every later query.
    end = ChangeCounter.objects.filter(network_id=current_network_id()).values_list("position", flat=True).first() or 0
    if after == LATEST:
        return ChangesPage([], end, more=False)
    if after is not None and after > end:
        raise BeyondEndError(end)
    begin = _begin(end) if after is None else after
    until = min(end, begin + LOOKED_AT)
    seen = Q(sight_only=False) if site_ids is None else Q(site_id__in=site_ids) | Q(site_id__isnull=True)
    rows = Change.objects.filter(seen, kind__in=kinds, position__gt=begin, position__lte=until).order_by("position")
    changes = list(rows[: limit + 1])
    # Asked last: what had been swept away before the rows were read is missed now, and never goes unnoticed.
    if begin < _begin(end):
        raise CursorExpiredError(end)
    if len(changes) > limit:
        return ChangesPage(changes[:limit], changes[limit - 1].position, more=True)
    return ChangesPage(changes, until, more=until < end)


def _begin(end: int) -> int:
    """The position before the oldest that is kept."""
    oldest: int | None = Change.objects.aggregate(oldest=Min("position"))["oldest"]
    return end if oldest is None else oldest - 1
