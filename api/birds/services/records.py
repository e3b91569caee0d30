"""What every record of a bird goes through, whatever it tells: its bird, its times, its trace."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar
from uuid import UUID

from api.birds.models import Bird, CropCheck, Feed, Milestone, Weighing
from api.birds.rules.lifetime import refuse_instant
from api.birds.services.holding import Held, bird_held, by, lifetime
from api.networks.rules.roles import Caller
from api.outbox.services import changed, happened, left_site, record_change, record_create, record_remove, unit_of_work
from api.outbox.services.unit import href
from api.web import clock

R = TypeVar("R", Weighing, Feed, CropCheck, Milestone)

#: The instants that a record speaks of, as a sentence about them begins.
INSTANTS: dict[type[Any], dict[str, str]] = {
    Weighing: {"at": "The weighing"},
    Feed: {"at": "The feed", "until": "The last feed of the run"},
    CropCheck: {"at": "The crop check", "last_feed_at": "The last feed"},
    Milestone: {"observed_at": "The observation", "last_absent_at": "The look that did not show it"},
}
#: Refuses what the values of a record, by their names, cannot say together.
Check = Callable[[Mapping[str, Any]], None]


def about(bird: Bird) -> dict[str, Any]:
    """What the events of a bird tell besides where to look."""
    return {"bird_id": str(bird.uid), "site_id": str(bird.site.uid)}


def make(
    model: type[R],
    check: Check,
    *,
    caller: Caller,
    bird_id: UUID,
    uid: UUID | None,
    held: Held | None = None,
    **fields: Any,
) -> tuple[R, bool]:
    """Record something of a bird; True where it is new.

    Parameters
    ----------
    bird_id
        Public id of the bird.
    uid
        The client's id for the record; the service gives one where it is missing.
    held
        Birds that are locked already in this unit of work, such as those of a batch.

    Raises
    ------
    DomainError
        ``unknown_bird``, or of what cannot be.
    ConflictError
        Of an id that is taken, or a bird that has left care.
    """
    with unit_of_work(by(caller)):
        bird = (held or {}).get(bird_id) or bird_held(caller, bird_id)
        _refuse_instants(model, bird, fields)
        check(fields)
        record, new = record_create(model, uid=uid, bird=bird, **fields)
        if new:
            changed(record, event=f"{model.KIND}.recorded", site_id=bird.site.uid, data=about(bird))
    return record, new


def correct(record: R, check: Check, *, caller: Caller, **fields: Any) -> None:
    """Correct a record, whose row the caller holds locked; ``bird_id`` gives it to another bird.

    Of a record that changes birds both are told: it is news for the one that has it now, and for the one that had it.
    """
    model, before = type(record), record.bird
    with unit_of_work(by(caller)):
        if "bird_id" in fields:
            fields["bird"] = bird_held(caller, fields.pop("bird_id"))
        bird = fields.get("bird", before)
        told = {field.name: fields.get(field.name, getattr(record, field.name)) for field in model._meta.fields}
        _refuse_instants(model, bird, told)
        check(told)
        if not record_change(record, **fields):
            return
        event = f"{model.KIND}.corrected"
        changed(record, event=event, site_id=bird.site.uid, data=about(bird))
        if bird != before:
            happened(event, record_id=record.uid, version=record.version, href=href(record), data=about(before))
            if bird.site_id != before.site_id:
                left_site([record], left=before.site.uid, joined=bird.site.uid)


def remove(record: Weighing | Feed | CropCheck | Milestone, *, caller: Caller) -> None:
    """Take out a record that should never have been, whose row the caller holds locked."""
    bird = record.bird
    with unit_of_work(by(caller)):
        record_remove(record, event=f"{record.KIND}.removed", site_id=bird.site.uid, data=about(bird))


def _refuse_instants(model: type[Any], bird: Bird, told: Mapping[str, Any]) -> None:
    bounds, now = lifetime(bird), clock.now()
    for name, what in INSTANTS[model].items():
        if told.get(name) is not None:
            refuse_instant(told[name], bird=bounds, what=what, field=f"/{name}", now=now)
