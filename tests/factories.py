"""Rows that tests start from; always two networks, so that one can be looked for in the other."""

from dataclasses import dataclass
from itertools import count

from api.networks.models import Membership
from api.networks.services import member_add, network_create, token_issue
from api.tenancy.models import Network, User
from api.tenancy.scopes import SCOPES

_numbers = count(1)


def make_user(**fields) -> User:
    number = next(_numbers)
    return User.objects.create_user(
        **{
            "email": f"carer{number}@example.org",
            "name": f"Carer {number}",
            "password": "a long enough secret",
            **fields,
        }
    )


def make_network(**fields) -> Network:
    return network_create(**{"name": f"Network {next(_numbers)}", "time_zone": "Europe/Lisbon", **fields})


def make_member(network: Network, *, role: str = "carer", **user) -> Membership:
    return member_add(network=network, user=make_user(**user), role=role)


def make_token(member: Membership, *scopes: str, **options) -> str:
    return token_issue(member=member, scopes=scopes or SCOPES, **options)


@dataclass(frozen=True)
class TwoNetworks:
    """One network that is asked about, and another that must stay out of sight."""

    own: Network
    other: Network
    member: Membership
    stranger: Membership


def make_two_networks() -> TwoNetworks:
    own, other = make_network(), make_network()
    return TwoNetworks(own, other, make_member(own, role="coordinator"), make_member(other, role="coordinator"))


def bearer(raw: str) -> dict[str, str]:
    return {"HTTP_AUTHORIZATION": f"Bearer {raw}"}
