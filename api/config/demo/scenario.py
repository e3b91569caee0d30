"""The invented network of ``fixtures/demo``: what it says, and its people; made once, found again every time after."""

import tomllib
from datetime import timedelta
from pathlib import Path
from typing import Any

import msgspec
from django.apps import apps
from django.conf import settings
from django.db import connection, transaction

from api.networks import selectors, services
from api.networks.models import Membership, Role, Site
from api.tenancy.models import Network, User
from api.tenancy.scope import network_scope
from api.tenancy.scopes import SCOPES
from api.web import clock

SCENARIO_FILE = Path("fixtures/demo/network.toml")
LABEL = "demo"
OPERATOR = {"email": "operator@long-meadow.example", "name": "Operator of the demonstration"}


class _Told(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Part of the file: what it says and nothing else."""


class Person(_Told, frozen=True):
    """Somebody of the network."""

    email: str
    name: str


class SiteTold(_Told, frozen=True):
    """A site, who feeds there, and what stands in its kitchen."""

    name: str
    kind: str
    feeding_day: dict[str, str]
    kitchen: dict[str, float]
    carers: tuple[str, ...] = ()


class CropTold(_Told, frozen=True):
    """A look at the crop, so many hours before the last morning's weighing."""

    hours_before: float
    crop: str
    fed_hours_before: float


class OutcomeTold(_Told, frozen=True):
    """How a bird left care, so many hours before the last morning's weighing."""

    kind: str
    hours_before: float


class BirdTold(_Told, frozen=True):
    """A bird: one weight a morning, the last ``unweighed_mornings`` days ago."""

    name: str
    site: str
    species: str
    hatched_days_ago: int
    origin: str
    aim: str
    weights_g: tuple[float, ...]
    unweighed_mornings: int = 0
    milestones: dict[str, int] = {}
    crop: tuple[CropTold, ...] = ()
    outcome: OutcomeTold | None = None


class Scenario(_Told, frozen=True):
    """The network, its people, its sites and the birds there."""

    network: dict[str, str]
    coordinator: Person
    carer: tuple[Person, ...]
    site: tuple[SiteTold, ...]
    bird: tuple[BirdTold, ...]

    @property
    def time_zone(self) -> str:
        """Whose mornings are meant."""
        return self.network["time_zone"]


def scenario_read(text: str | None = None) -> Scenario:
    """Read the scenario, from its file where no text is given."""
    told = (settings.BASE_DIR / SCENARIO_FILE).read_text(encoding="utf-8") if text is None else text
    return msgspec.convert(tomllib.loads(told), Scenario)


def network_of(scenario: Scenario) -> Network:
    """The network and its people, made where they are missing."""
    network = Network.objects.filter(slug=scenario.network["slug"]).first()
    if network is None:
        network = services.network_create(**scenario.network)
    _member_of(network, scenario.coordinator, Role.COORDINATOR)
    for person in scenario.carer:
        _member_of(network, person, Role.CARER)
    return network


def token_of(network: Network, person: Person) -> str:
    """A token of one day.

    A token is stored as its hash, so an earlier one cannot be shown again: every run issues its own.
    """
    with network_scope(network):
        member = selectors.members().get(user__email=person.email)
    expires_at = clock.now() + timedelta(days=1)
    return services.token_issue(member=member, scopes=SCOPES, label=LABEL, expires_at=expires_at)


def operator_of(password: str) -> User:
    """Somebody who may open the admin, with this password from now on."""
    user, _ = User.objects.get_or_create(
        email=OPERATOR["email"], defaults={"name": OPERATOR["name"], "is_staff": True, "is_superuser": True}
    )
    user.set_password(password)
    user.save(update_fields=["password"])
    return user


@transaction.atomic
def records_forget(network: Network) -> None:
    """Remove what an earlier day's run recorded, and only that: people and their tokens stay.

    The rows hold each other by foreign keys that are checked at the commit, when all of them are gone.
    """
    kept = {"tenancy", "networks"}
    with connection.cursor() as cursor:
        through = Site.carers.through._meta.db_table
        cursor.execute(
            f"DELETE FROM {through} WHERE site_id IN "  # noqa: S608 - names of tables, none of them told by anybody
            f"(SELECT row FROM {Site._meta.db_table} WHERE network_id = %s)",
            [_stored(network)],
        )
        for model in [*apps.get_models(), Site]:
            of_network = any(field.name == "network" for field in model._meta.fields)
            if model is Site or (of_network and model._meta.app_label not in kept):
                cursor.execute(
                    f"DELETE FROM {model._meta.db_table} WHERE network_id = %s",  # noqa: S608
                    [_stored(network)],
                )


def _stored(network: Network) -> Any:
    """The network's key as its column holds it."""
    return Network._meta.pk.get_db_prep_value(network.pk, connection)


def _member_of(network: Network, person: Person, role: Role) -> Membership:
    user, _ = User.objects.get_or_create(email=person.email, defaults={"name": person.name})
    with network_scope(network):
        member = selectors.members().filter(user=user).first()
    return member or services.member_add(network=network, user=user, role=role)
