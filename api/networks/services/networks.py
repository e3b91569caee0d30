"""Founding a network."""

from django.db import transaction
from django.utils.text import slugify

from api.tenancy.models import Network, User
from api.tenancy.scope import network_scope
from api.tenancy.services import audit_record


@transaction.atomic
def network_create(*, name: str, time_zone: str = "Etc/UTC", slug: str = "", actor: User | None = None) -> Network:
    """Found a network; raises ``ValidationError`` on a slug that is taken or an unknown zone."""
    network = Network(name=name, slug=slug or slugify(name)[:63], time_zone=time_zone)
    network.full_clean()
    network.save(force_insert=True)
    with network_scope(network):
        audit_record(action="network.created", subject=network, actor=actor, data={"name": name})
    return network
