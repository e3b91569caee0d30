"""GET /api/v1/members, and the services behind it."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from rest_framework.test import APIClient

from api.networks.models import Membership
from api.networks.services import member_add, member_change, member_remove, network_create
from api.outbox.models import Change, RecordVersion
from api.tenancy.models import AuditEntry, Network
from api.tenancy.scope import network_scope
from species.domain.errors import ConflictError
from tests.database import at_once, every_value
from tests.factories import bearer, make_member, make_network, make_site, make_token, make_two_networks, make_user

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
        "wants_report": True,
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
    member_change(member=two.member, wants_report=False)
    assert api.get("/api/v1/members", HTTP_IF_NONE_MATCH=tag, **caller).status_code == 200


def test_no_shared_cache_keeps_it(api, two):
    assert "private" in api.get("/api/v1/members", **bearer(make_token(two.member)))["Cache-Control"]


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_the_list_is_only_read(api, two, method):
    answer = getattr(api, method)("/api/v1/members", {}, **bearer(make_token(two.member)))
    assert (answer.status_code, answer["Content-Type"]) == (405, "application/problem+json")


def refused(answer, status, code="", pointer=""):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    if code:
        assert (code, pointer) in [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]]


def change(api, caller, member, body, version=1, **headers):
    return api.patch(f"/api/v1/members/{member.pk}", body, HTTP_IF_MATCH=f'"{version}"', **caller, **headers)


def test_a_coordinator_changes_a_member(api, two):
    caller, member = bearer(make_token(two.member)), make_member(two.own)
    answer = change(api, caller, member, {"role": "vet", "wants_report": False})
    assert (answer.status_code, answer["ETag"]) == (200, '"2"')
    told = answer.json()
    assert (told["role"], told["wants_report"], told["version"]) == ("vet", False, 2)
    assert told in api.get("/api/v1/members", **caller).json()["results"]
    assert change(api, caller, member, {}, 2).json() == told
    assert change(api, caller, member, {"role": "vet"}, 2)["ETag"] == '"2"'
    with network_scope(two.own):
        entry = AuditEntry.objects.get(action="member.changed")
    assert (entry.actor, entry.data) == (two.member.user, {"role": "vet", "wants_report": False})


def test_the_version_that_was_seen_decides(api, two):
    caller, member = bearer(make_token(two.member)), make_member(two.own)
    refused(api.patch(f"/api/v1/members/{member.pk}", {"role": "vet"}, **caller), 428)
    change(api, caller, member, {"role": "vet"})
    late = change(api, caller, member, {"role": "observer"})
    assert (late.status_code, late["ETag"]) == (412, '"2"')


@pytest.mark.parametrize(
    ("body", "status", "code", "pointer"),
    [
        ({"role": "director"}, 400, "invalid_choice", "/role"),
        ({"role": None}, 400, "null", "/role"),
        ({"wants_report": 1}, 400, "wrong_type", "/wants_report"),
        ({"wants_report": None}, 400, "null", "/wants_report"),
        ({"email": "x@example.org"}, 400, "unknown_field", "/email"),
        ([], 400, "not_an_object", ""),
    ],
)
def test_bad_input_is_named_and_leaves_nothing(api, two, body, status, code, pointer):
    caller, member = bearer(make_token(two.member)), make_member(two.own)
    before = every_value()
    refused(change(api, caller, member, body), status, code, pointer)
    assert every_value() == before


def test_a_network_keeps_a_coordinator(api, two):
    caller = bearer(make_token(two.member))
    before = every_value()
    refused(change(api, caller, two.member, {"role": "vet"}), 409, "last_coordinator", "/role")
    assert every_value() == before
    assert change(api, caller, two.member, {"role": "coordinator"}).status_code == 200
    second = make_member(two.own, role="coordinator")
    assert change(api, caller, two.member, {"role": "vet"}).status_code == 200
    refused(change(api, caller, second, {"role": "vet"}), 403)


@pytest.mark.parametrize("role", ["vet", "carer", "observer"])
def test_others_change_no_member(api, two, role):
    member = make_member(two.own, role=role)
    before_token = bearer(make_token(member))
    before = every_value()
    for other in (member, two.member):
        refused(change(api, before_token, other, {"role": "coordinator"}), 403)
    assert every_value() == before


def test_another_networks_member_is_as_unknown_as_none(api, two):
    caller = bearer(make_token(two.member))
    before = every_value()
    refused(change(api, caller, two.stranger, {"role": "vet"}), 404)
    refused(api.patch(f"/api/v1/members/{uuid4()}", {"role": "vet"}, HTTP_IF_MATCH='"1"', **caller), 404)
    assert every_value() == before


@pytest.mark.django_db(transaction=True)
def test_of_two_coordinators_who_step_down_at_once_one_stays(shared_database):
    network = make_network()
    members = [make_member(network, role="coordinator") for _ in range(2)]
    callers = [bearer(make_token(member)) for member in members]

    def step_down(caller, member):
        return change(APIClient(raise_request_exception=False), caller, member, {"role": "observer"}).status_code

    # Each through the other's hand: two requests that lock each other's rows.
    assert sorted(
        at_once(
            *[lambda c=caller, m=member: step_down(c, m) for caller, member in zip(callers, members[::-1], strict=True)]
        )
    ) in ([200, 403], [200, 409])
    with network_scope(network):
        assert Membership.objects.filter(role="coordinator").count() == 1


def test_who_leaves_no_longer_feeds_at_a_site(two):
    member, other = make_member(two.own), make_member(two.own)
    site = make_site(two.own, carers=(member, other))
    member_remove(member=member, actor=two.member.user)
    with network_scope(two.own):
        site.refresh_from_db()
        assert (site.version, site.carer_ids) == (2, [str(other.pk)])
        version = RecordVersion.objects.get(kind="site", version=2)
        assert (version.data["carer_ids"], version.actor) == ([str(other.pk)], two.member.user)
        assert Change.objects.filter(kind="site", version=2).count() == 1


def test_the_last_coordinator_does_not_leave(two):
    with pytest.raises(ConflictError):
        member_remove(member=two.member)
    with network_scope(two.own):
        assert Membership.objects.filter(pk=two.member.pk).exists()


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
