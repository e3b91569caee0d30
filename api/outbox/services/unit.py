"""The unit of work: a change and everything it leaves are committed together, or not at all."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import transaction

from api.jobs.services import enqueue
from api.outbox.models import Change, ChangeCounter, Delivery, Event, Op, RecordVersion
from api.outbox.registry import Subscriber, subscribers_of
from api.tenancy.models import NetworkRecord
from api.tenancy.scope import current_network_id

#: The queue of ``jobs`` that deliveries go through.
DELIVERIES = "outbox.deliveries"


@dataclass(frozen=True)
class By:
    """Who makes a change: a person, an app, or both; neither where the service does it by itself."""

    user_id: UUID | None = None
    client_id: int | None = None


THE_SERVICE = By()


@dataclass
class _Unit:
    by: By
    versions: list[RecordVersion] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)


_unit: ContextVar[_Unit | None] = ContextVar("unit_of_work", default=None)


@contextmanager
def unit_of_work(by: By = THE_SERVICE) -> Iterator[None]:
    """One transaction in the network in scope, with what it leaves written last.

    A unit inside a unit is part of it: the outer one's author stands. Who catches a failure within has to fail as a
    whole.
    """
    if _unit.get() is not None:
        yield
        return
    with transaction.atomic():
        unit = _Unit(by)
        token = _unit.set(unit)
        try:
            yield
            _write(unit)
        finally:
            _unit.reset(token)


def changed(
    record: NetworkRecord,
    *,
    event: str | None = None,
    op: Op = Op.PUT,
    site_id: UUID | None = None,
    data: dict[str, Any] | None = None,
) -> None:
    """Note that a record is new, changed or gone: a version, a line of the feed and, where named, an event.

    Parameters
    ----------
    site_id
        Public id of the site that it concerns; none for what concerns the whole network.
    data
        Members of the event besides id, network_id, href and version.
    """
    unit = _open_unit()
    told = record.told()
    about = {"kind": record.KIND, "record_id": record.uid, "version": record.version, "op": op}
    unit.versions.append(RecordVersion(**about, data=told, actor_id=unit.by.user_id, client_id=unit.by.client_id))
    unit.changes.append(Change(**about, site_id=site_id, data=None if op == Op.GONE else told))
    if event:
        happened(event, record_id=record.uid, version=record.version, href=href(record), data=data)


def left_site(records: Iterable[NetworkRecord], *, left: UUID, joined: UUID) -> None:
    """Note that records are seen at another site from now on, such as a bird and all that was recorded of it.

    They are gone for who sees the site they left, and put for who sees the one they joined. Besides, ``changed`` notes
    the record that was itself changed by the move.

    Parameters
    ----------
    left, joined
        Public ids of the sites.
    """
    changes = _open_unit().changes
    for record in records:
        about = {"kind": record.KIND, "record_id": record.uid, "version": record.version, "sight_only": True}
        changes.append(Change(**about, op=Op.GONE, site_id=left, data=None))
        changes.append(Change(**about, op=Op.PUT, site_id=joined, data=record.told()))


def happened(name: str, *, record_id: UUID, version: int, href: str, data: dict[str, Any] | None = None) -> None:
    """Note an event: little more than where to look, for its reader may no longer be allowed to see the rest."""
    told = {
        "id": str(record_id),
        "network_id": str(current_network_id()),
        "href": href,
        "version": version,
        **(data or {}),
    }
    _open_unit().events.append(Event(name=name, record_id=record_id, version=version, data=told))


def href(record: NetworkRecord) -> str:
    """The record's address: /api/v1/crop-checks/{id} of a ``crop_check``."""
    return f"/api/v1/{record.KIND.replace('_', '-')}s/{record.uid}"


def _open_unit() -> _Unit:
    unit = _unit.get()
    if unit is None:
        raise RuntimeError("A change is noted inside unit_of_work(), so that it is committed with what it leaves.")
    return unit


def _write(unit: _Unit) -> None:
    RecordVersion.objects.bulk_create(unit.versions)
    Event.objects.bulk_create(unit.events)
    deliveries = [
        Delivery(network_id=event.network_id, event=event, subscriber=subscriber.name)
        for subscriber, event in _to_deliver(unit.events)
    ]
    Delivery.objects.bulk_create(deliveries)
    for delivery in deliveries:
        enqueue(DELIVERIES, delivery)
    if unit.changes:
        last = _positions(len(unit.changes))
        for position, change in enumerate(unit.changes, start=last - len(unit.changes) + 1):
            change.position = position
        Change.objects.bulk_create(unit.changes)


def _to_deliver(events: list[Event]) -> Iterator[tuple[Subscriber, Event]]:
    chosen: dict[tuple[str, str], tuple[Subscriber, Event]] = {}
    for event in events:
        for subscriber in subscribers_of(event.name):
            same = str(event.data[subscriber.once_per]) if subscriber.once_per else str(event.pk)
            chosen[subscriber.name, same] = (subscriber, event)
    yield from chosen.values()


def _positions(count: int) -> int:
    """Take positions of the network's feed; returns the last.

    The counter's row stays locked until the commit, so that positions become visible in their order: a reader who
    has seen one has seen all before it.
    """
    network_id = current_network_id()
    ChangeCounter.objects.get_or_create(network_id=network_id)
    counter = ChangeCounter.objects.select_for_update().get(network_id=network_id)
    counter.position += count
    counter.save(update_fields=["position"])
    return counter.position
