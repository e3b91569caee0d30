"""Founding a network, and its settings."""

from datetime import time

from django.db import transaction
from django.utils.text import slugify

from api.tenancy.models import Network, User
from api.tenancy.scope import network_scope
from api.tenancy.services import audit_record


@transaction.atomic
def network_create(
    *,
    name: str,
    time_zone: str = "Etc/UTC",
    slug: str = "",
    report_at: time = time(7),
    actor: User | None = None,
) -> Network:
    """Found a network; raises ``ValidationError`` on a slug that is taken or an unknown zone."""
    network = Network(name=name, slug=slug or slugify(name)[:63], time_zone=time_zone, report_at=report_at)
    network.full_clean()
    network.save(force_insert=True)
    with network_scope(network):
        audit_record(action="network.created", subject=network, actor=actor, data={"name": name})
    return network


@transaction.atomic
def network_change(
    *, network: Network, name: str, slug: str, time_zone: str, report_at: time, actor: User | None = None
) -> Network:
    """Set what a network is called, its clock, and when its daily report leaves by it.

    Raises
    ------
    ValidationError
        Of a slug that is taken or an unknown zone.
    """
    told = {"name": name, "slug": slug, "time_zone": time_zone, "report_at": report_at}
    stored = Network.objects.select_for_update(no_key=True).get(pk=network.pk)
    other = {field: value for field, value in told.items() if getattr(stored, field) != value}
    for field, value in other.items():
        setattr(stored, field, value)
    stored.full_clean()
    if other:
        stored.save(update_fields=list(other))
        with network_scope(stored):
            shown = {field: f"{value:%H:%M}" if isinstance(value, time) else value for field, value in other.items()}
            audit_record(action="network.changed", subject=stored, actor=actor, data=shown)
    return stored
