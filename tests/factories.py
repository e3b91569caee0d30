"""Rows that tests start from; always two networks, so that one can be looked for in the other."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from itertools import count

from api.birds.models import Bird, Weighing
from api.birds.services import bird_admit, weighing_record
from api.networks.models import Membership, Site
from api.networks.rules.roles import Caller
from api.networks.services import member_add, network_create, site_create, token_issue
from api.tenancy.models import Network, User
from api.tenancy.scope import network_scope
from api.tenancy.scopes import SCOPES
from api.web import clock

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


#: Who may do everything in the network in scope, as an app on its own.
ANYONE = Caller(role=None, site_ids=None)


def make_site(network: Network, *, carers: tuple[Membership, ...] = (), **fields) -> Site:
    """A site of the network, with those who feed there."""
    with network_scope(network):
        told = {"name": f"Site {next(_numbers)}", "kind": "centre", "time_zone": "Europe/Lisbon", **fields}
        site, _ = site_create(**told, carer_ids=[carer.pk for carer in carers])
    return site


def make_bird(site: Site, **fields) -> Bird:
    """A cockatiel in care at the site since a week ago, hatched twelve days ago; its species has to be there."""
    now = clock.now()
    known_age = {"hatched_on", "hatched_at", "age_estimate"} & fields.keys()
    told = {
        "name": f"Bird {next(_numbers)}",
        "species": "nymphicus-hollandicus",
        "intake": {"at": now - timedelta(days=7)},
        **({} if known_age else {"hatched_on": (now - timedelta(days=12)).date()}),
        **fields,
    }
    with network_scope(site.network_id):
        bird, _ = bird_admit(caller=ANYONE, site_id=site.uid, **told)
    return bird


def make_weighing(bird: Bird, mass_g: float | str, **fields) -> Weighing:
    """A weighing of the bird, now where no time is told."""
    told = {"at": clock.now(), "context": "before_first_feed", **fields}
    with network_scope(bird.network_id):
        weighing, _ = weighing_record(caller=ANYONE, bird_id=bird.uid, mass_g=Decimal(str(mass_g)), **told)
    return weighing
