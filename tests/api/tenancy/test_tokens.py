"""Credentials: one network each, found by their hash, gone when they end."""

import hashlib
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from api.networks.services import member_remove, token_issue
from api.tenancy.models import AccessToken, AuditEntry
from api.tenancy.scope import NetworkScopeMissing, current_network_id, network_scope
from api.web import clock
from tests.database import every_value
from tests.factories import bearer, make_member, make_token, make_two_networks

pytestmark = pytest.mark.django_db


@pytest.fixture
def two():
    return make_two_networks()


def test_of_a_personal_token_only_the_hash_is_stored(two):
    raw = make_token(two.member)
    stored = every_value()
    assert raw not in stored
    assert raw.removeprefix("hrp_") not in stored
    assert hashlib.sha256(raw.encode()).hexdigest() in stored


def test_a_token_works_for_its_network_and_the_scope_closes_with_the_request(api, two):
    answer = api.get("/api/v1/members", **bearer(make_token(two.member)))
    assert [member["id"] for member in answer.json()["results"]] == [str(two.member.pk)]
    with pytest.raises(NetworkScopeMissing):
        current_network_id()


def test_the_scope_closes_when_the_view_fails(api, two, monkeypatch):
    from api.networks import selectors

    monkeypatch.setattr(selectors, "members", lambda: 1 / 0)
    assert api.get("/api/v1/members", **bearer(make_token(two.member))).status_code == 500
    with pytest.raises(NetworkScopeMissing):
        current_network_id()


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({}, 401),
        ({"HTTP_AUTHORIZATION": ""}, 401),
        ({"HTTP_AUTHORIZATION": "Bearer"}, 401),
        ({"HTTP_AUTHORIZATION": "Bearer "}, 401),
        ({"HTTP_AUTHORIZATION": "Bearer nonsense"}, 401),
        ({"HTTP_AUTHORIZATION": "Bearer \x00"}, 401),
        ({"HTTP_AUTHORIZATION": "Bearer Käuzchen"}, 401),
        ({"HTTP_AUTHORIZATION": "Basic YTpi"}, 401),
    ],
)
def test_what_is_no_token_is_401_with_a_challenge(api, sent, status):
    answer = api.get("/api/v1/members", **sent)
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json")
    assert answer["WWW-Authenticate"].startswith('Bearer realm="api"')
    assert "/.well-known/oauth-protected-resource" in answer["WWW-Authenticate"]


def test_the_hash_itself_opens_nothing(api, two):
    """Whoever has seen the database has no token."""
    checksum = hashlib.sha256(make_token(two.member).encode()).hexdigest()
    assert api.get("/api/v1/members", **bearer(checksum)).status_code == 401


def test_a_token_in_the_query_is_not_taken(api, two):
    """RFC 9700, section 4.3.2."""
    assert api.get(f"/api/v1/members?access_token={make_token(two.member)}").status_code == 401


def test_a_token_ends_at_its_instant(api, two, standing_clock):
    raw = make_token(two.member, expires_at=standing_clock + timedelta(hours=1))
    with clock.standing_at(standing_clock + timedelta(minutes=59)):
        assert api.get("/api/v1/members", **bearer(raw)).status_code == 200
    with clock.standing_at(standing_clock + timedelta(hours=1)):
        answer = api.get("/api/v1/members", **bearer(raw))
    assert answer.status_code == 401
    assert "expired" in answer.json()["detail"]


def test_a_person_who_may_not_sign_in_has_no_token(api, two):
    raw = make_token(two.member)
    two.member.user.is_active = False
    two.member.user.save()
    assert api.get("/api/v1/members", **bearer(raw)).status_code == 401


def test_who_leaves_a_network_loses_what_was_granted_there_and_nowhere_else(api, two):
    from api.networks.services import member_add

    raw = make_token(two.member)
    elsewhere = make_token(member_add(network=two.other, user=two.member.user, role="vet"))
    make_member(two.own, role="coordinator")
    member_remove(member=two.member)
    assert api.get("/api/v1/members", **bearer(raw)).status_code == 401
    assert api.get("/api/v1/members", **bearer(elsewhere)).status_code == 200


def test_a_token_for_another_resource_is_refused(api, two):
    """RFC 8707: a token granted for one resource does not open another."""
    raw = make_token(two.member)
    AccessToken.objects.update(resource=["https://elsewhere.example/api"])
    assert api.get("/api/v1/members", **bearer(raw)).status_code == 401


@pytest.mark.parametrize("scopes", [[], ["everything"], ["members:read", "birds:eat"]])
def test_a_token_needs_scopes_that_exist(two, scopes):
    with pytest.raises(ValidationError, match="There are: birds:read"):
        token_issue(member=two.member, scopes=scopes)


@pytest.mark.parametrize("days", [-1, 0, 366])
def test_a_token_lives_a_year_at_most(two, standing_clock, days):
    with pytest.raises(ValidationError, match="365 days"):
        token_issue(member=two.member, scopes=["members:read"], expires_at=standing_clock + timedelta(days=days))


def test_issuing_is_noted_without_the_secret(two):
    raw = make_token(two.member, "members:read", label="tablet")
    with network_scope(two.own):
        entry = AuditEntry.objects.get(action="token.issued")
    assert entry.data == {"member_id": str(two.member.pk), "scopes": ["members:read"], "label": "tablet"}
    assert raw not in str(entry.data)


def test_each_token_has_its_own_quota(api, two, settings, standing_clock):
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "read": (1, 60)}
    first, second = make_token(two.member), make_token(make_member(two.own))
    codes = [api.get("/api/v1/members", **bearer(raw)).status_code for raw in (first, second, first)]
    assert codes == [200, 200, 429]
