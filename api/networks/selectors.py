"""Reads of networks."""

from django.db.models import QuerySet

from api.networks.models import Membership, Role, Site
from api.networks.rules.roles import Caller
from api.tenancy.models import AccessToken, ApiClient, Network, User
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


def caller_of(token: AccessToken) -> Caller | None:
    """Who a token speaks for in its network; None where its person no longer belongs to it. Two queries at most."""
    if token.user_id is None:
        return Caller(role=None, site_ids=None, client_id=token.application_id)
    member = members().filter(user_id=token.user_id).first()
    if member is None:
        return None
    own_sites = None
    if member.role == Role.CARER:
        own_sites = frozenset(Site.objects.filter(carers=member).values_list("uid", flat=True))
    return Caller(role=member.role, site_ids=own_sites, user_id=token.user_id, client_id=token.application_id)


def sites(caller: Caller) -> QuerySet[Site]:
    """The sites that the caller sees."""
    found = Site.objects.prefetch_related("carers")
    return found if caller.site_ids is None else found.filter(uid__in=caller.site_ids)
