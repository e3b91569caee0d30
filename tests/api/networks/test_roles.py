"""Who may see and change sites: by role, by own sites, and an app on its own by its scopes."""

from datetime import timedelta
from uuid import uuid4

import pytest
from oauth2_provider.models import set_token_value

from api.networks.models import Role
from api.networks.rules.roles import WRITES, Part
from api.networks.services import member_change, member_remove
from api.tenancy.models import AccessToken, ApiClient
from api.tenancy.scope import network_scope
from api.web import clock
from tests.database import every_value
from tests.factories import bearer, make_member, make_site, make_token, make_two_networks

pytestmark = pytest.mark.django_db

SITES = "/api/v1/sites"


@pytest.fixture
def two():
    return make_two_networks()


def make_machine(network, *scopes):
    """A token of an app that works for the network on its own."""
    app = ApiClient.objects.create(
        name="Scale bridge",
        network=network,
        client_type=ApiClient.CLIENT_CONFIDENTIAL,
        authorization_grant_type=ApiClient.GRANT_CLIENT_CREDENTIALS,
    )
    with network_scope(network):
        expires = clock.now() + timedelta(hours=1)
        token = AccessToken(application=app, scope=" ".join(scopes), expires=expires)
        set_token_value(token, raw := str(uuid4()))
        token.save()
    return bearer(raw)


def tried(api, caller, site):
    """What each kind of change is answered with."""
    address = f"{SITES}/{site.uid}"
    body = {"id": str(uuid4()), "name": "New", "kind": "home"}
    return [
        api.post(SITES, body, **caller).status_code,
        api.patch(address, {"note": "x"}, HTTP_IF_MATCH='"1"', **caller).status_code,
        api.delete(address, HTTP_IF_MATCH="*", **caller).status_code,
    ]


def test_every_role_has_its_row():
    assert set(WRITES) == set(Role.values)


@pytest.mark.parametrize("role", Role.values)
def test_what_a_role_may_change(api, two, role):
    site, member = make_site(two.own), make_member(two.own, role=role)
    caller = bearer(make_token(member))
    before = every_value()
    writes = role == "coordinator"
    assert tried(api, caller, site) == ([201, 200, 204] if writes else [403, 403, 403])
    assert (every_value() == before) is not writes
    assert (Part.SITES in WRITES[role]) is writes


@pytest.mark.parametrize("role", ["coordinator", "vet", "observer"])
def test_who_sees_every_site(api, two, role):
    sites = {str(make_site(two.own).uid) for _ in range(2)}
    make_site(two.other)
    caller = bearer(make_token(make_member(two.own, role=role)))
    assert {site["id"] for site in api.get(SITES, **caller).json()["results"]} == sites


def test_a_carer_sees_the_own_sites_only_and_of_the_rest_not_even_that_they_are(api, two):
    member = make_member(two.own)
    own, other = make_site(two.own, carers=(member,)), make_site(two.own)
    caller = bearer(make_token(member))
    assert [site["id"] for site in api.get(SITES, **caller).json()["results"]] == [str(own.uid)]
    assert api.get(f"{SITES}/{own.uid}", **caller).status_code == 200
    assert api.get(f"{SITES}/{own.uid}/versions", **caller).status_code == 200
    told = [api.get(f"{SITES}/{uid}{more}", **caller) for uid in (other.uid, uuid4()) for more in ("", "/versions")]
    assert [answer.status_code for answer in told] == [404] * 4
    assert len({answer.json()["detail"] for answer in told}) == 1


def test_a_carer_of_no_site_sees_none(api, two):
    make_site(two.own)
    caller = bearer(make_token(make_member(two.own)))
    assert api.get(SITES, **caller).json()["results"] == []


def test_another_role_is_in_force_with_the_next_request(api, two):
    member, site = make_member(two.own), make_site(two.own)
    caller = bearer(make_token(member))
    assert api.get(f"{SITES}/{site.uid}", **caller).status_code == 404
    member_change(member=member, role="coordinator")
    assert api.patch(f"{SITES}/{site.uid}", {"note": "x"}, HTTP_IF_MATCH='"1"', **caller).status_code == 200


def test_an_app_on_its_own_is_bound_by_its_scopes(api, two):
    site = make_site(two.own)
    reads, writes = make_machine(two.own, "sites:read"), make_machine(two.own, "sites:read", "sites:write")
    assert len(api.get(SITES, **reads).json()["results"]) == 1
    before = every_value()
    assert tried(api, reads, site) == [403, 403, 403]
    assert every_value() == before
    assert tried(api, writes, site) == [201, 200, 204]
    versions = api.get(f"{SITES}/{api.get(SITES, **reads).json()['results'][0]['id']}/versions", **reads).json()
    assert [version["by"] for version in versions["results"]] == ["Scale bridge"]


def test_an_app_of_another_network_sees_nothing(api, two):
    site = make_site(two.own)
    stranger = make_machine(two.other, "sites:read", "sites:write")
    assert api.get(SITES, **stranger).json()["results"] == []
    assert tried(api, stranger, site) == [201, 404, 404]


def test_who_has_left_is_told_so(api, two):
    """A token that outlived the membership, as if its removal had failed half-way."""
    member = make_member(two.own, role="vet")
    raw = make_token(member)
    token = AccessToken.objects.get(user=member.user)
    member_remove(member=member)
    with network_scope(two.own):
        token.pk = None
        token.save(force_insert=True)
    answer = api.get(SITES, **bearer(raw))
    assert answer.status_code == 403
    assert "no longer belongs" in answer.json()["detail"]
