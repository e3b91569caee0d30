"""Making, correcting and removing records: nothing is overwritten, no one's change is lost."""

import hashlib
import json
from typing import Any, TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Model

from api.outbox.models import Op
from api.outbox.registry import GUARDS
from api.outbox.services.unit import changed
from api.tenancy.models import NetworkRecord, plain
from api.web import clock
from species.domain.errors import ConflictError

R = TypeVar("R", bound=NetworkRecord)


def record_create(
    model: type[R], *, uid: UUID | None = None, sent: dict[str, Any] | None = None, **fields: Any
) -> tuple[R, bool]:
    """Make a record, or find it where it was sent before; True where it is new.

    The caller notes the change (``changed``) where it is new. Inside ``unit_of_work``.

    Parameters
    ----------
    uid
        The client's id for it; the service gives one where it is missing.
    sent
        What the client sent, where that is not what is stored: the hour it came, today's key of a species. Sent again
        it is the same, whatever would be stored by then.
    fields
        Values by the model's names; of a many-to-many field the rows that it links to, in a fixed order.

    Raises
    ------
    ConflictError
        Of an id that the network uses for something else, or has used.
    """
    links, values = _links_apart(model, fields)
    if uid is None:
        return _save(model(**values), links), True
    content = _hash(fields if sent is None else sent)
    found = model.ever.filter(uid=uid).first()
    if found is None:
        try:
            with transaction.atomic():
                return _save(model(uid=uid, content_hash=content, **values), links), True
        except IntegrityError:  # sent twice at once, and the other was faster
            found = model.ever.filter(uid=uid).first()
            if found is None:
                raise
    if found.gone_at is not None:
        raise ConflictError(
            f"The {model.KIND.replace('_', ' ')} of this id was removed.",
            field="/id",
            code="removed",
            remedy="Send it with a new id if it is to be there again.",
        )
    if found.content_hash != content:
        raise ConflictError(
            "This id is taken by a record with another content.",
            field="/id",
            code="id_taken",
            remedy="Correct that record with PATCH, or send this one with an id of its own.",
        )
    return found, False


def record_change(record: R, **fields: Any) -> bool:
    """Correct a record, whose row the caller holds locked; False where it says all that already."""
    links, values = _links_apart(type(record), fields)
    same = all(getattr(record, name) == value for name, value in values.items())
    if same and all(set(getattr(record, name).all()) == set(rows) for name, rows in links.items()):
        return False
    for name, value in values.items():
        setattr(record, name, value)
    for name, rows in links.items():
        getattr(record, name).set(rows)
    record.version += 1
    record.changed_at = clock.now()
    record.save(update_fields=[*values, "version", "changed_at"])
    return True


def record_remove(
    record: NetworkRecord,
    *,
    event: str | None = None,
    site_id: UUID | None = None,
    data: dict[str, Any] | None = None,
) -> None:
    """Take a record, whose row the caller holds locked, out of every list; its versions stay.

    Raises
    ------
    ConflictError
        While something stands on it (:func:`api.outbox.registry.guard_removal`).
    """
    for guard in GUARDS[record.KIND]:
        guard(record)
    record.version += 1
    record.changed_at = record.gone_at = clock.now()
    record.save(update_fields=["version", "changed_at", "gone_at"])
    changed(record, op=Op.GONE, event=event, site_id=site_id, data=data)


def _links_apart(model: type[R], fields: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Many-to-many fields, which are set once the row is there, and all others."""
    many = {field.name for field in model._meta.many_to_many}
    links = {name: value for name, value in fields.items() if name in many}
    return links, {name: value for name, value in fields.items() if name not in many}


def _save(record: R, links: dict[str, Any]) -> R:
    record.save(force_insert=True)
    for name, rows in links.items():
        getattr(record, name).set(rows)
    return record


def _hash(fields: dict[str, Any]) -> str:
    """Of the content as sent, so that a record corrected since still knows its own first sending."""
    told = {name: _named(value) for name, value in fields.items()}
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def _named(value: Any) -> Any:
    """A row by its public id, anything else as JSON has it."""
    if isinstance(value, list):
        return [_named(inner) for inner in value]
    if isinstance(value, Model):
        return plain(value.uid if isinstance(value, NetworkRecord) else value.pk)
    return plain(value)
