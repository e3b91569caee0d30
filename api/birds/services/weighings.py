"""Weighings: recorded, corrected, and asked about where the weight cannot be the bird's."""

from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from api.birds.models import Weighing
from api.birds.rules.records import state_after_correction
from api.birds.rules.words import Context, WeighingState
from api.birds.services import records
from api.birds.services.holding import Held
from api.networks.rules.roles import Caller
from api.outbox.services import changed, record_change, unit_of_work


def weighing_record(
    *,
    caller: Caller,
    bird_id: UUID,
    at: datetime,
    mass_g: Decimal,
    uid: UUID | None = None,
    context: str = Context.UNKNOWN,
    scale_step_g: Decimal | None = None,
    note: str = "",
    held: Held | None = None,
) -> tuple[Weighing, bool]:
    """Record what a scale showed; True where it is new. Raises as :func:`api.birds.services.records.make`."""
    return records.make(
        Weighing,
        _anything,
        caller=caller,
        bird_id=bird_id,
        uid=uid,
        at=at,
        mass_g=mass_g,
        context=context,
        scale_step_g=scale_step_g,
        note=note,
        held=held,
    )


def weighing_change(weighing: Weighing, *, caller: Caller, state: str | None = None, **fields: Any) -> None:
    """Correct a weighing, whose row the caller holds locked.

    Parameters
    ----------
    state
        ``confirmed`` or ``rejected``: somebody looked, and says whether this is the bird's weight.
    """
    corrected: set[str] = {
        name for name in ("at", "mass_g") if name in fields and fields[name] != getattr(weighing, name)
    }
    if "bird_id" in fields and fields["bird_id"] != weighing.bird.uid:
        corrected.add("bird")
    fields["state"] = state_after_correction(weighing.state, corrected=corrected, answer=state)
    if fields["state"] == WeighingState.ACCEPTED or corrected & {"bird", "mass_g"}:
        fields["question"] = None  # it was asked of another weight
    records.correct(weighing, _anything, caller=caller, **fields)


def weighing_remove(weighing: Weighing, *, caller: Caller) -> None:
    """Take out a weighing that should never have been, whose row the caller holds locked."""
    records.remove(weighing, caller=caller)


def weighing_question(*, weighing: Weighing, expected_g: float, meant_g: float | None) -> bool:
    """Ask about a weight that cannot be the bird's; False where somebody has answered, or it is asked about already.

    Parameters
    ----------
    expected_g
        What the bird should have weighed.
    meant_g
        The weight that was meant, where a slip of the pen explains what was told.
    """
    with unit_of_work():
        held = (
            Weighing.objects.select_related("bird__site")
            .select_for_update(of=("self",))
            .filter(pk=weighing.pk, state=WeighingState.ACCEPTED)
            .first()
        )
        if held is None:
            return False
        question = {"expected_g": expected_g, "meant_g": meant_g}
        record_change(held, state=WeighingState.QUESTIONED, question=question)
        data = records.about(held.bird)
        changed(held, event="weighing.corrected", site_id=held.bird.site.uid, data=data)
    return True


def _anything(told: Any) -> None:
    """Any weight may be told: what cannot be the bird's is asked about, not refused."""
