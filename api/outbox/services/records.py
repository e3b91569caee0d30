"""Making, correcting and removing records: nothing is overwritten, no one's change is lost."""

import hashlib
import json
from typing import Any, TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction

from api.outbox.models import Op
from api.outbox.services.unit import changed
from api.tenancy.models import NetworkRecord, plain
from api.web import clock
from species.domain.errors import ConflictError

R = TypeVar("R", bound=NetworkRecord)


def record_create(model: type[R], *, uid: UUID | None = None, **fields: Any) -> tuple[R, bool]:
    """Make a record, or find it where it was sent before; True where it is new.

    The caller notes the change (``changed``) where it is new. Inside ``unit_of_work``.

    Parameters
    ----------
    uid
        The client's id for it; the service gives one where it is missing.

    Raises
    ------
    ConflictError
        Of an id that the network uses for something else, or has used.
    """
    if uid is None:
        record = model(**fields)
        record.save(force_insert=True)
        return record, True
    content = _hash(fields)
    found = model.ever.filter(uid=uid).first()
    if found is None:
        record = model(uid=uid, content_hash=content, **fields)
        try:
            with transaction.atomic():
                record.save(force_insert=True)
        except IntegrityError:  # sent twice at once, and the other was faster
            found = model.ever.filter(uid=uid).first()
            if found is None:
                raise
        else:
            return record, True
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
    if all(getattr(record, name) == value for name, value in fields.items()):
        return False
    for name, value in fields.items():
        setattr(record, name, value)
    record.version += 1
    record.changed_at = clock.now()
    record.save(update_fields=[*fields, "version", "changed_at"])
    return True


def record_remove(record: NetworkRecord, *, event: str | None = None, site_id: UUID | None = None, **data: Any) -> None:
    """Take a record, whose row the caller holds locked, out of every list; its versions stay."""
    record.version += 1
    record.changed_at = record.gone_at = clock.now()
    record.save(update_fields=["version", "changed_at", "gone_at"])
    changed(record, op=Op.GONE, event=event, site_id=site_id, data=data)


def _hash(fields: dict[str, Any]) -> str:
    """Of the content as sent, so that a record corrected since still knows its own first sending."""
    told = {name: plain(value.uid if isinstance(value, NetworkRecord) else value) for name, value in fields.items()}
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
