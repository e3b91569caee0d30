"""Reads of networks."""

from django.db.models import QuerySet

from api.networks.models import Membership
from api.tenancy.models import ApiClient, Network, User
from api.tenancy.scope import all_networks


def members() -> QuerySet[Membership]:
    """The members of the network in scope, with their people."""
    return Membership.objects.select_related("user")


def networks_of(user: User, *, client: ApiClient | None = None) -> QuerySet[Network]:
    """The networks that a person belongs to; with a client of one network, at most that one."""
    with all_networks("the networks of a person who chooses one"):
        ids = list(Membership.objects.filter(user=user).values_list("network_id", flat=True))
    networks = Network.objects.filter(pk__in=ids)
    return networks if client is None or client.network_id is None else networks.filter(pk=client.network_id)
