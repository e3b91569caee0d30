"""Feeds, one by one or a run of small ones in one record."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from api.birds.models import Feed
from api.birds.rules.records import refuse_odd_feed
from api.birds.rules.words import Purpose
from api.birds.services import records
from api.birds.services.holding import Held
from api.networks.rules.roles import Caller


def feed_record(
    *,
    caller: Caller,
    bird_id: UUID,
    at: datetime,
    uid: UUID | None = None,
    until: datetime | None = None,
    count: int = 1,
    purpose: str = Purpose.ROUTINE,
    food: str | None = None,
    volume_ml: Decimal | None = None,
    mass_g: Decimal | None = None,
    dry_matter_fraction: float | None = None,
    temperature_c: Decimal | None = None,
    method: str | None = None,
    response: str | None = None,
    note: str = "",
    held: Held | None = None,
) -> tuple[Feed, bool]:
    """Record a feed, or a run of ``count`` feeds until ``until``; True where it is new.

    Amounts are those of one feed. Raises as :func:`api.birds.services.records.make`.
    """
    return records.make(
        Feed,
        _refuse_odd,
        caller=caller,
        bird_id=bird_id,
        uid=uid,
        at=at,
        until=until,
        count=count,
        purpose=purpose,
        food=food,
        volume_ml=volume_ml,
        mass_g=mass_g,
        dry_matter_fraction=dry_matter_fraction,
        temperature_c=temperature_c,
        method=method,
        response=response,
        note=note,
        held=held,
    )


def feed_change(feed: Feed, *, caller: Caller, **fields: Any) -> None:
    """Correct a feed, whose row the caller holds locked."""
    records.correct(feed, _refuse_odd, caller=caller, **fields)


def feed_remove(feed: Feed, *, caller: Caller) -> None:
    """Take out a feed that should never have been, whose row the caller holds locked."""
    records.remove(feed, caller=caller)


def _refuse_odd(told: Mapping[str, Any]) -> None:
    refuse_odd_feed(**{name: told[name] for name in ("at", "until", "count", "food", "volume_ml", "mass_g")})
