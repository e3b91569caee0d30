"""GET /api/v1/members, and the services behind it."""

import pytest
from django.core.exceptions import ValidationError

from api.networks.models import Membership
from api.networks.services import member_add, member_role_set, network_create
from api.tenancy.models import AuditEntry, Network
from api.tenancy.scope import network_scope
from tests.factories import bearer, make_member, make_network, make_token, make_two_networks, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def two():
    return make_two_networks()


def test_a_member_as_told(api, two, standing_clock):
    vet = make_member(two.own, role="vet", name="Ana Reis", email="ana@example.org")
    answer = api.get("/api/v1/members", **bearer(make_token(two.member, "members:read")))
    assert answer.json()["next"] is None
    assert answer.json()["results"][0]["id"] != answer.json()["results"][1]["id"]
    told = next(member for member in answer.json()["results"] if member["id"] == str(vet.pk))
    assert told == {
        "id": str(vet.pk),
        "version": 1,
        "name": "Ana Reis",
        "email": "ana@example.org",
        "role": "vet",
        "joined_at": "2027-05-02T05:00:00Z",
    }


def test_pages_by_cursor(api, two):
    for _ in range(4):
        make_member(two.own)
    caller = bearer(make_token(two.member))
    first = api.get("/api/v1/members?limit=3", **caller).json()
    second = api.get(f"/api/v1/members?limit=3&cursor={first['next']}", **caller).json()
    assert [len(first["results"]), len(second["results"]), second["next"]] == [3, 2, None]
    assert len({member["id"] for member in first["results"] + second["results"]}) == 5


def test_the_list_is_sent_again_only_when_it_has_changed(api, two):
    caller = bearer(make_token(two.member))
    tag = api.get("/api/v1/members", **caller)["ETag"]
    assert api.get("/api/v1/members", HTTP_IF_NONE_MATCH=tag, **caller).status_code == 304
    member_role_set(member=two.member, role="vet")
    assert api.get("/api/v1/members", HTTP_IF_NONE_MATCH=tag, **caller).status_code == 200


def test_no_shared_cache_keeps_it(api, two):
    assert "private" in api.get("/api/v1/members", **bearer(make_token(two.member)))["Cache-Control"]


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_members_are_only_read_here(api, two, method):
    answer = getattr(api, method)("/api/v1/members", {}, **bearer(make_token(two.member)))
    assert (answer.status_code, answer["Content-Type"]) == (405, "application/problem+json")


def test_one_person_joins_a_network_once(two):
    with pytest.raises(ValidationError, match="already"):
        member_add(network=two.own, user=two.member.user, role="vet")


def test_an_unknown_role_stores_nothing(two):
    user = make_user()
    with pytest.raises(ValidationError, match="director"):
        member_add(network=two.own, user=user, role="director")
    with network_scope(two.own):
        assert not Membership.objects.filter(user=user).exists()
        assert not AuditEntry.objects.filter(data__user_id=str(user.pk)).exists()


@pytest.mark.parametrize("zone", ["Europe/Lisboa", "", "GMT+1", "EST", "Etc/GMT-1"])
def test_a_network_needs_a_time_zone_that_exists(zone):
    with pytest.raises(ValidationError):
        network_create(name="Nowhere", time_zone=zone)
    assert not Network.objects.exists()


def test_two_networks_do_not_share_an_address_name():
    make_network(name="Stork Watch")
    with pytest.raises(ValidationError, match=r"[Ss]lug"):
        make_network(name="Stork watch")


def test_founding_and_joining_are_noted(two):
    with network_scope(two.own):
        assert sorted(AuditEntry.objects.values_list("action", flat=True)) == ["member.added", "network.created"]
