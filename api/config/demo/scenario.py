"""The invented network of ``fixtures/demo``, and its rows: made once, found again every time after."""

import tomllib
from datetime import timedelta
from pathlib import Path
from typing import Any

import msgspec
from django.conf import settings

from api.networks import selectors, services
from api.networks.models import Role
from api.tenancy.models import Network, User
from api.tenancy.scope import network_scope
from api.web import clock

SCENARIO_FILE = Path("fixtures/demo/network.toml")
LABEL = "demo"
TOKEN_SCOPES = ("members:read",)


class Bird(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A bird at the site; what is not its name is asked of the API as it stands."""

    name: str
    species: str
    age_days: float
    mass_g: float
    condition: dict[str, Any]
    origin: str = "captive"
    first_feed_in_care: bool = False

    def request(self) -> dict[str, Any]:
        """The body of a request for its plan."""
        return {
            "species": self.species,
            "age_days": self.age_days,
            "mass_g": self.mass_g,
            "condition": self.condition,
            "origin": self.origin,
            "first_feed_in_care": self.first_feed_in_care,
        }


class Scenario(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The network, its coordinator, one site with its kitchen, and the birds there."""

    network: dict[str, str]
    coordinator: dict[str, str]
    site: dict[str, str]
    kitchen: dict[str, Any]
    bird: tuple[Bird, ...]


def scenario_read() -> Scenario:
    """Read the scenario."""
    text = (settings.BASE_DIR / SCENARIO_FILE).read_text(encoding="utf-8")
    return msgspec.convert(tomllib.loads(text), Scenario)


def network_and_token(scenario: Scenario) -> str:
    """Make the network and its coordinator where they are missing; give a token of one day.

    A token is stored as its hash, so an earlier one cannot be shown again: every run issues its own.
    """
    network = Network.objects.filter(slug=scenario.network["slug"]).first()
    if network is None:
        network = services.network_create(**scenario.network)
    user, _ = User.objects.get_or_create(
        email=scenario.coordinator["email"], defaults={"name": scenario.coordinator["name"]}
    )
    with network_scope(network):
        member = selectors.members().filter(user=user).first()
    if member is None:
        member = services.member_add(network=network, user=user, role=Role.COORDINATOR)
    return services.token_issue(
        member=member, scopes=TOKEN_SCOPES, label=LABEL, expires_at=clock.now() + timedelta(days=1)
    )
