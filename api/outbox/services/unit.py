"""The unit of work: a change and everything it leaves are committed together, or not at all."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

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
    network_id: UUID
    failed: bool = False
    versions: list[RecordVersion] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)


_unit: ContextVar[_Unit | None] = ContextVar("unit_of_work", default=None)


@contextmanager
def unit_of_work(by: By = THE_SERVICE) -> Iterator[None]:
    """One transaction in the network in scope, with what it leaves written last.

    A unit inside a unit is part of it: the outer one's author stands, and if the inner one fails, the outer one does,
    for half of what the inner one noted would be left.
    """
    if _unit.get() is not None:
        with _inner(_open_unit()):
            yield
        return
    unit = _Unit(by, current_network_id())
    with transaction.atomic():
        token = _unit.set(unit)
        try:
            yield
            if unit.failed:
                raise RuntimeError("A unit of work inside this one has failed: let its exception pass.")
            _write(unit)
        finally:
            _unit.reset(token)


@contextmanager
def _inner(unit: _Unit) -> Iterator[None]:
    try:
        yield
    except BaseException:
        unit.failed = True
        raise


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
    if unit.network_id != current_network_id():
        raise RuntimeError("A unit of work is one network's: the scope has been changed inside it.")
    return unit


def _write(unit: _Unit) -> None:
    RecordVersion.objects.bulk_create(unit.versions)
    Event.objects.bulk_create(unit.events)
    deliveries = [
        Delivery(network_id=unit.network_id, event=event, subscriber=subscriber.name)
        for subscriber, event in _to_deliver(unit.events)
    ]
    Delivery.objects.bulk_create(deliveries)
    enqueue(DELIVERIES, deliveries)
    if unit.changes:
        first = _positions(unit.network_id, len(unit.changes))
        for position, change in enumerate(unit.changes, start=first):
            change.position = position
        Change.objects.bulk_create(unit.changes)


def _to_deliver(events: list[Event]) -> Iterator[tuple[Subscriber, Event]]:
    chosen: dict[tuple[str, str], tuple[Subscriber, Event]] = {}
    for event in events:
        for subscriber in subscribers_of(event.name):
            same = event.data.get(subscriber.once_per, event.pk) if subscriber.once_per else event.pk
            chosen[subscriber.name, str(same)] = (subscriber, event)
    yield from chosen.values()


def _positions(network_id: UUID, count: int) -> int:
    """Take positions of the network's feed; gives the first.

    The counter's row stays locked until the commit, so that positions become visible in their order: a reader who
    has seen one has seen all before it. Taken last, so that the lock is held for the moment of the commit only.
    """
    counter = ChangeCounter.objects.filter(network_id=network_id)
    if not counter.update(position=F("position") + count):
        ChangeCounter.objects.get_or_create(network_id=network_id)
        counter.update(position=F("position") + count)
    return counter.values_list("position", flat=True).get() - count + 1
