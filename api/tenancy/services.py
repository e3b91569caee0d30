"""Writes of tenancy."""

from typing import Any

from django.db.models import Model

from api.tenancy.models import ApiClient, AuditEntry, User
from api.web import request_ids


def audit_record(
    *,
    action: str,
    subject: Model,
    actor: User | None = None,
    client: ApiClient | None = None,
    data: dict[str, Any] | None = None,
) -> AuditEntry:
    """Note an act in the network in scope; ``data`` holds what changed, never a secret."""
    entry = AuditEntry(
        action=action,
        object_kind=subject._meta.model_name or "",
        object_id=str(subject.pk),
        actor=actor,
        client=client,
        request_id=request_ids.current(),
        data=data or {},
    )
    entry.save(force_insert=True)
    return entry
