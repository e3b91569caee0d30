"""Every address under /api/v1 is open to all, for a stated reason, or walks through the matrix.

The matrix has one exact status in every cell: for the network's own token, another network's, none, one without the
scope, an expired one, a revoked one, an observer's, and one whose owner has left. What is denied changes nothing.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.urls import URLPattern, get_resolver

from api.networks.models import Membership
from api.tenancy.models import AccessToken
from api.tenancy.scope import network_scope
from api.tenancy.scopes import SCOPES
from api.web import clock
from tests.conftest import MORNING
from tests.contracts.tenancy_world import World, make_world
from tests.database import every_value
from tests.factories import bearer, make_member, make_token, make_two_networks

SPECIES = "reference data, no one's records"
COMPUTED = "computed from what is sent, nothing stored"
OPEN = {
    "health": "says only that the process is alive",
    "ready": "says only whether the parts answer",
    "problems": "documentation",
    "problems/{}": "documentation",
    "openapi.yaml": "documentation",
    "docs": "documentation",
    "species": SPECIES,
    "species/{}": SPECIES,
    "species/{}/revisions": SPECIES,
    "species/{}/growth-curve": SPECIES,
    "species/{}/growth-curve.csv": SPECIES,
    "species/{}/growth-curve.svg": SPECIES,
    "species/{}/feeding-plan": COMPUTED,
    "feeding-plans": COMPUTED,
    "mixes": COMPUTED,
    "age-estimates": COMPUTED,
    "growth-assessments": COMPUTED,
    "growth-assessments.svg": COMPUTED,
}


@dataclass(frozen=True)
class Row:
    """One method of one address: its scope, and what the network's own token and another network's get."""

    method: str
    address: str
    scope: str
    own: int
    stranger: int
    body: Callable[[World], dict] = lambda world: {}
    of: str = ""

    @property
    def writes(self) -> bool:
        return self.method != "GET"

    def path(self, world: World) -> str:
        if "{}" not in self.address:
            return self.address
        return self.address.replace("{}", world.ids[self.of or self.address.split("/")[0]])

    def __str__(self) -> str:
        return f"{self.method} {self.address}"


def at_an_hour_ago(world: World) -> str:
    return (clock.now() - timedelta(minutes=30)).isoformat()


def site(world: World) -> dict:
    return {"id": str(uuid4()), "name": "Loft", "kind": "home"}


def formula(world: World) -> dict:
    return {
        "id": str(uuid4()),
        "key": "our-powder",
        "name": "Our powder",
        "dry_matter_fraction": 0.9,
        "energy_kj_per_g_dm": 17.0,
    }


def bird(world: World) -> dict:
    return {
        "id": str(uuid4()),
        "name": "Another",
        "site_id": world.ids["site in use"],
        "species": "nymphicus-hollandicus",
        "hatched_at": (clock.now() - timedelta(days=3)).isoformat(),
    }


def weighing(world: World) -> dict:
    return {"id": str(uuid4()), "bird_id": world.ids["birds"], "at": at_an_hour_ago(world), "mass_g": 28.7}


def feed(world: World) -> dict:
    return {"id": str(uuid4()), "bird_id": world.ids["birds"], "at": at_an_hour_ago(world), "volume_ml": 2.4}


def crop_check(world: World) -> dict:
    return {"id": str(uuid4()), "bird_id": world.ids["birds"], "at": at_an_hour_ago(world), "crop": "residue"}


def milestone(world: World) -> dict:
    return {
        "id": str(uuid4()),
        "bird_id": world.ids["birds"],
        "key": "pins_visible",
        "observed_at": at_an_hour_ago(world),
    }


def records(address: str, scope: str, make: Callable[[World], dict], change: dict, *, batch: bool, **options) -> list:
    """The rows of one kind of record; ``free`` where a stranger's record names nothing of this network."""
    free, removed = options.get("free", False), options.get("removed", "")
    refused = 201 if free else 422
    rows = [
        Row("GET", address, f"{scope}:read", 200, 200),
        Row("POST", address, f"{scope}:write", 201, refused, make),
        Row("GET", f"{address}/{{}}", f"{scope}:read", 200, 404),
        Row("PATCH", f"{address}/{{}}", f"{scope}:write", 200, 404, lambda world: change),
        Row("DELETE", f"{address}/{{}}", f"{scope}:write", 204, 404, of=removed),
        Row("GET", f"{address}/{{}}/versions", f"{scope}:read", 200, 404),
    ]
    if batch:
        rows.append(Row("POST", f"{address}/batch", f"{scope}:write", 201, 422, lambda w: {"items": [make(w)]}))
    return rows


NOTE = {"note": "Looked at again."}
MATRIX = [
    Row("GET", "members", "members:read", 200, 200),
    Row("PATCH", "members/{}", "members:write", 200, 404, lambda world: {"wants_report": False}),
    *records("sites", "sites", site, NOTE, batch=False, free=True),
    Row("GET", "sites/{}/kitchen", "kitchen:read", 200, 404),
    Row("PUT", "sites/{}/kitchen", "kitchen:write", 200, 404, lambda world: {"hot_water_c": 80.0}),
    *records("formulas", "kitchen", formula, NOTE, batch=False, free=True),
    *records("birds", "birds", bird, NOTE, batch=True, removed="bird without records"),
    Row(
        "PUT",
        "birds/{}/outcome",
        "birds:write",
        200,
        404,
        lambda world: {"kind": "released", "at": at_an_hour_ago(world)},
        of="bird without records",
    ),
    Row("DELETE", "birds/{}/outcome", "birds:write", 200, 404, of="bird that left"),
    Row("POST", "birds/{}/move", "birds:write", 200, 404, lambda world: {"site_id": world.ids["sites"]}),
    Row("GET", "birds/{}/feeding-plan", "plans:read", 200, 404),
    Row("GET", "birds/{}/growth", "plans:read", 200, 404),
    Row("GET", "birds/{}/growth.csv", "plans:read", 200, 404),
    Row("GET", "birds/{}/growth.svg", "plans:read", 200, 404),
    *records("weighings", "birds", weighing, NOTE, batch=True),
    *records("feeds", "birds", feed, NOTE, batch=True),
    *records("crop-checks", "birds", crop_check, NOTE, batch=True),
    *records("milestones", "birds", milestone, NOTE, batch=True),
    Row("GET", "alerts", "alerts:read", 200, 200),
    Row("GET", "alerts/{}", "alerts:read", 200, 404),
    Row("GET", "alerts/{}/versions", "alerts:read", 200, 404),
    Row("POST", "alerts/{}/acknowledge", "alerts:write", 200, 404),
    Row("POST", "alerts/{}/snooze", "alerts:write", 200, 404, lambda world: {"hours": 2}),
    Row("POST", "alerts/{}/resolve", "alerts:write", 200, 404, lambda world: {"note": "It ate."}),
    Row("GET", "reports", "reports:read", 200, 200),
    Row("GET", "reports/{}", "reports:read", 200, 404),
    Row("GET", "reports/{}.html", "reports:read", 200, 404),
    Row("GET", "changes", "changes:read", 200, 200),
]


def addresses():
    """(address, view class) of everything under /api/v1, with {} for each part that varies."""

    def walk(patterns, prefix):
        for pattern in patterns:
            route = prefix + re.sub(r"<[^>]+>", "{}", str(pattern.pattern))
            if isinstance(pattern, URLPattern):
                yield route, getattr(pattern.callback, "cls", getattr(pattern.callback, "view_class", None))
            else:
                yield from walk(pattern.url_patterns, route)

    everything = dict(walk(get_resolver().url_patterns, ""))
    return {route.removeprefix("api/v1/"): view for route, view in everything.items() if route.startswith("api/v1/")}


def test_every_address_stands_in_one_of_the_tables():
    asked_for = {row.address for row in MATRIX}
    assert set(addresses()) - set(OPEN) - asked_for == set()
    assert set(OPEN) & asked_for == set()


def test_what_needs_a_token_is_closed_and_what_is_open_asks_for_none():
    for address, view in addresses().items():
        assert bool(view.authentication_classes) is (address not in OPEN), address


def test_each_method_of_a_closed_view_stands_in_the_matrix():
    for address, view in addresses().items():
        if address not in OPEN:
            methods = {m.upper() for m in view.http_method_names if hasattr(view, m)} - {"HEAD", "OPTIONS"}
            assert methods == {row.method for row in MATRIX if row.address == address}, address


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker):
    """Made once, outside the tests' transactions, and gone after them: every cell starts from the same rows."""
    with django_db_blocker.unblock(), clock.standing_at(MORNING):
        call_command("packs_load", verbosity=0)
        world = make_world(make_two_networks())
    yield world
    with django_db_blocker.unblock():
        call_command("flush", interactive=False, verbosity=0)


@pytest.fixture
def world(made, db, standing_clock):
    return made


rows = pytest.mark.parametrize("row", MATRIX, ids=str)


def send(api, world, row, **caller):
    if row.method in ("PATCH", "PUT", "DELETE"):
        caller["HTTP_IF_MATCH"] = "*"
    if row.writes:
        caller["HTTP_IDEMPOTENCY_KEY"] = str(uuid4())
    path = f"/api/v1/{row.path(world)}"
    if row.method in ("GET", "DELETE"):
        return api.generic(row.method, path, **caller)
    return getattr(api, row.method.lower())(path, row.body(world), format="json", **caller)


def check_denied(api, world, row, status, **caller):
    """Refused with exactly this status, and nothing in the database is other than before."""
    before = every_value(but="species_")
    answer = send(api, world, row, **caller)
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert every_value(but="species_") == before
    return answer


@rows
def test_the_networks_own_token_is_let_in(api, world, row):
    answer = send(api, world, row, **bearer(make_token(world.two.member, row.scope)))
    assert answer.status_code == row.own, answer.content


@rows
def test_another_networks_token_sees_and_changes_nothing_of_this_one(api, world, row):
    caller = bearer(make_token(world.two.stranger, row.scope))
    if row.stranger >= 400:
        answer = check_denied(api, world, row, row.stranger, **caller)
    else:
        answer = send(api, world, row, **caller)
        assert answer.status_code == row.stranger, answer.content
    told = answer.content.decode()
    for secret in (*world.texts, str(world.two.own.pk), *world.ids.values()):
        # A refusal may repeat the address that was asked for; it says nothing else.
        assert secret not in told.replace(row.path(world), ""), secret


@rows
def test_no_token(api, world, row):
    check_denied(api, world, row, 401)


@rows
def test_a_token_with_every_scope_but_the_one_needed(api, world, row):
    caller = bearer(make_token(world.two.member, *(set(SCOPES) - {row.scope})))
    answer = check_denied(api, world, row, 403, **caller)
    assert f'scope="{row.scope}"' in answer["WWW-Authenticate"]
    assert row.scope in answer.json()["detail"]


@rows
def test_an_expired_token(api, world, row):
    caller = bearer(make_token(world.two.member, row.scope, expires_at=clock.now() + timedelta(minutes=5)))
    with clock.standing_at(clock.now() + timedelta(minutes=6)):
        check_denied(api, world, row, 401, **caller)


@rows
def test_a_revoked_token(api, world, row):
    raw = make_token(world.two.member, row.scope)
    AccessToken.objects.latest("id").revoke()
    check_denied(api, world, row, 401, **bearer(raw))


@rows
def test_an_observer_reads_and_writes_nothing(api, world, row):
    caller = bearer(make_token(make_member(world.two.own, role="observer"), row.scope))
    if row.writes:
        check_denied(api, world, row, 403, **caller)
    else:
        assert send(api, world, row, **caller).status_code == row.own


@rows
def test_who_has_left_the_network_is_let_in_no_more(api, world, row):
    member = make_member(world.two.own, role="coordinator")
    raw = make_token(member, row.scope)
    with network_scope(world.two.own):  # as if the token had outlived the membership
        Membership.objects.filter(pk=member.pk).delete()
    check_denied(api, world, row, 403, **bearer(raw))
