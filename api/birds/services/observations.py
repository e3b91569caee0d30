"""What was seen of a bird: looks at its crop, and milestones of its development."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from api.birds.models import CropCheck, Milestone
from api.birds.rules.records import refuse_later
from api.birds.services import records
from api.birds.services.holding import Held
from api.networks.rules.roles import Caller


def crop_check_record(
    *,
    caller: Caller,
    bird_id: UUID,
    at: datetime,
    crop: str,
    uid: UUID | None = None,
    crop_content: str | None = None,
    crop_wall: str | None = None,
    last_feed_at: datetime | None = None,
    note: str = "",
    held: Held | None = None,
) -> tuple[CropCheck, bool]:
    """Record a look at the crop; True where it is new. Raises as :func:`api.birds.services.records.make`."""
    return records.make(
        CropCheck,
        _fed_before,
        caller=caller,
        bird_id=bird_id,
        uid=uid,
        at=at,
        crop=crop,
        crop_content=crop_content,
        crop_wall=crop_wall,
        last_feed_at=last_feed_at,
        note=note,
        held=held,
    )


def crop_check_change(check: CropCheck, *, caller: Caller, **fields: Any) -> None:
    """Correct a crop check, whose row the caller holds locked."""
    records.correct(check, _fed_before, caller=caller, **fields)


def crop_check_remove(check: CropCheck, *, caller: Caller) -> None:
    """Take out a crop check that should never have been, whose row the caller holds locked."""
    records.remove(check, caller=caller)


def milestone_record(
    *,
    caller: Caller,
    bird_id: UUID,
    key: str,
    observed_at: datetime,
    uid: UUID | None = None,
    seen: bool = True,
    last_absent_at: datetime | None = None,
    note: str = "",
    held: Held | None = None,
) -> tuple[Milestone, bool]:
    """Record that a step of development was seen, or looked for and not seen; True where it is new.

    Raises as :func:`api.birds.services.records.make`.
    """
    return records.make(
        Milestone,
        _absent_before,
        caller=caller,
        bird_id=bird_id,
        uid=uid,
        key=key,
        observed_at=observed_at,
        seen=seen,
        last_absent_at=last_absent_at,
        note=note,
        held=held,
    )


def milestone_change(milestone: Milestone, *, caller: Caller, **fields: Any) -> None:
    """Correct a milestone, whose row the caller holds locked."""
    records.correct(milestone, _absent_before, caller=caller, **fields)


def milestone_remove(milestone: Milestone, *, caller: Caller) -> None:
    """Take out a milestone that should never have been, whose row the caller holds locked."""
    records.remove(milestone, caller=caller)


def _fed_before(told: Mapping[str, Any]) -> None:
    if told["last_feed_at"] is not None:
        refuse_later(told["last_feed_at"], told["at"], what="The last feed", field="/last_feed_at")


def _absent_before(told: Mapping[str, Any]) -> None:
    if told["last_absent_at"] is not None:
        what = "The look that did not show it"
        refuse_later(told["last_absent_at"], told["observed_at"], what=what, field="/last_absent_at")
