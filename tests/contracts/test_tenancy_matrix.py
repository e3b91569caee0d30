"""Every address under /api/v1 is either open to all, for a stated reason, or walks through the matrix."""

import re
from datetime import timedelta

import pytest
from django.urls import URLPattern, get_resolver

from api.tenancy.models import AccessToken
from api.tenancy.scopes import SCOPES
from api.web import clock
from tests.factories import bearer, make_token, make_two_networks

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

# (method, address) -> the scope that it needs.
MATRIX = {
    ("GET", "members"): "members:read",
}


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
    asked_for = {address for _, address in MATRIX}
    assert set(addresses()) - set(OPEN) - asked_for == set()
    assert set(OPEN) & asked_for == set()


def test_what_needs_a_token_is_closed_and_what_is_open_asks_for_none():
    for address, view in addresses().items():
        assert bool(view.authentication_classes) is (address not in OPEN), address


def test_each_method_of_a_closed_view_stands_in_the_matrix():
    for address, view in addresses().items():
        if address not in OPEN:
            methods = {m.upper() for m in view.http_method_names if hasattr(view, m)} - {"HEAD", "OPTIONS"}
            assert methods == {method for method, known in MATRIX if known == address}, address


@pytest.fixture
def two(db):
    return make_two_networks()


rows = pytest.mark.parametrize(("method", "address", "scope"), [(*key, scope) for key, scope in MATRIX.items()])


def send(api, method, address, **caller):
    return api.generic(method, f"/api/v1/{address}", "{}", content_type="application/json", **caller)


def check_refusal(answer, status):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json")


@rows
def test_the_right_token_is_let_in(api, two, method, address, scope):
    assert send(api, method, address, **bearer(make_token(two.member, scope))).status_code < 300


@rows
def test_another_networks_token_sees_nothing_of_this_one(api, two, method, address, scope):
    answer = send(api, method, address, **bearer(make_token(two.stranger, scope)))
    assert answer.status_code in (200, 404)
    for secret in (two.member.pk, two.member.user.pk, two.member.user.email, two.own.pk, two.own.name):
        assert str(secret) not in answer.content.decode()


@rows
def test_no_token(api, two, method, address, scope):
    check_refusal(send(api, method, address), 401)


@rows
def test_a_token_with_every_scope_but_the_one_needed(api, two, method, address, scope):
    answer = send(api, method, address, **bearer(make_token(two.member, *(set(SCOPES) - {scope}))))
    check_refusal(answer, 403)
    assert f'scope="{scope}"' in answer["WWW-Authenticate"]
    assert scope in answer.json()["detail"]


@rows
def test_an_expired_token(api, two, method, address, scope):
    raw = make_token(two.member, scope)
    with clock.standing_at(clock.now() + timedelta(days=366)):
        check_refusal(send(api, method, address, **bearer(raw)), 401)


@rows
def test_a_revoked_token(api, two, method, address, scope):
    raw = make_token(two.member, scope)
    AccessToken.objects.get().revoke()
    check_refusal(send(api, method, address, **bearer(raw)), 401)
