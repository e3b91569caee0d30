"""The birds that a write is about, found for the caller and held until it is done.

A bird's row is locked by whoever records something of it, corrects it or moves it, so that a weighing cannot slip
past its outcome or its move. Several are locked in one order, always before their records.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Max, Min, Q, QuerySet
from django.db.models.functions import Coalesce

from api.birds import selectors
from api.birds.models import Bird, CropCheck, Feed, Milestone, Weighing
from api.birds.rules.lifetime import AgeEstimate, Lifetime
from api.networks.rules.roles import Caller
from api.outbox.services import By
from api.tenancy.models import NetworkRecord
from species.domain.errors import DomainError

#: What is recorded of a bird, with the first and the last instant that a record speaks of.
SPANS: dict[type[NetworkRecord], tuple[Any, Any]] = {
    Weighing: ("at", "at"),
    Feed: ("at", Coalesce("until", "at")),
    CropCheck: (Coalesce("last_feed_at", "at"), "at"),
    Milestone: (Coalesce("last_absent_at", "observed_at"), "observed_at"),
}


def by(caller: Caller) -> By:
    """Who makes a caller's changes."""
    return By(user_id=caller.user_id, client_id=caller.client_id)


#: Birds that are locked already, by their public ids.
Held = Mapping[UUID, Bird]


def birds_hold(caller: Caller, bird_ids: Iterable[UUID], *, of: QuerySet[Any] | None = None) -> Held:
    """Lock those of the birds, and those whose records ``of`` gives, that the caller sees."""
    which = Q(uid__in=set(bird_ids))
    if of is not None:
        which |= Q(pk__in=of.order_by().values("bird"))
    return {bird.uid: bird for bird in _held(selectors.birds(caller).filter(which))}


def bird_held(caller: Caller, bird_id: UUID) -> Bird:
    """The bird of this id, locked.

    Raises
    ------
    DomainError
        ``unknown_bird``: the caller sees none of this id, whoever else may have one.
    """
    bird = _held(selectors.birds(caller).filter(uid=bird_id)).first()
    if bird is None:
        raise DomainError(
            "There is no bird of this id.",
            field="/bird_id",
            code="unknown_bird",
            remedy="GET /api/v1/birds lists those there are.",
        )
    return bird


def lifetime(bird: Bird) -> Lifetime:
    """What bounds the records of a bird."""
    told = bird.age_estimate
    return Lifetime(
        time_zone=bird.site.time_zone,
        intake_at=bird.intake_at,
        hatched_on=bird.hatched_on,
        hatched_at=bird.hatched_at,
        age_estimate=told and AgeEstimate(**{**told, "on": date.fromisoformat(told["on"])}),
        left_at=bird.outcome_at,
    )


def records_of(bird: Bird) -> Iterator[NetworkRecord]:
    """All that was recorded of a bird."""
    for model in SPANS:
        yield from model.objects.select_related("bird__site").filter(bird=bird)


def span_of_records(bird: Bird) -> tuple[datetime | None, datetime | None]:
    """The first and the last instant that a bird's records speak of; none where it has no record."""
    ends = [
        model.objects.filter(bird=bird).aggregate(first=Min(first), last=Max(last))
        for model, (first, last) in SPANS.items()
    ]
    told = [end for end in ends if end["first"] is not None]
    return min((end["first"] for end in told), default=None), max((end["last"] for end in told), default=None)


def _held(rows: QuerySet[Bird]) -> QuerySet[Bird]:
    return rows.order_by("row").select_for_update(of=("self",), no_key=True)
