"""The admin shows rows of networks to operators only, and logs each look."""

import logging
import re
from datetime import time

import pytest
from django.contrib.auth.models import Permission
from django.test import Client

from api.networks.models import Membership
from api.tenancy.models import AccessToken, ApiClient, AuditEntry, Network
from api.tenancy.scope import all_networks, network_scope
from tests.database import every_value
from tests.factories import bearer, make_member, make_token, make_two_networks, make_user

pytestmark = pytest.mark.django_db

PAGES = [
    "/admin/tenancy/network/",
    "/admin/tenancy/apiclient/",
    "/admin/tenancy/accesstoken/",
    "/admin/tenancy/auditentry/",
    "/admin/networks/membership/",
]


@pytest.fixture
def two():
    return make_two_networks()


@pytest.fixture
def operator():
    client = Client()
    client.force_login(make_user(is_staff=True, is_superuser=True))
    return client


@pytest.fixture
def curator():
    """Someone who may open the admin, with every permission there is, but who is no operator."""
    user = make_user(is_staff=True)
    user.user_permissions.set(Permission.objects.all())
    client = Client()
    client.force_login(user)
    return client


@pytest.mark.parametrize("page", PAGES)
def test_operators_see_every_network_and_it_is_logged(operator, two, caplog, page):
    make_token(two.member)
    with caplog.at_level(logging.INFO, logger="api.tenancy.scope"):
        answer = operator.get(page)
    assert answer.status_code == 200
    assert page in caplog.text


@pytest.mark.parametrize("page", PAGES)
def test_others_in_the_admin_do_not(curator, two, page):
    assert curator.get(page).status_code == 403
    assert page not in curator.get("/admin/").content.decode()


def test_both_networks_are_listed(operator, two):
    page = operator.get("/admin/networks/membership/").content.decode()
    assert two.own.name in page
    assert two.other.name in page


def test_an_operator_takes_a_person_in_and_lets_them_go(operator, two):
    user = make_user()
    answer = operator.post(
        "/admin/networks/membership/add/", {"network": two.own.pk, "user": user.pk, "role": "observer"}
    )
    assert answer.status_code == 302, re.findall(r"errorlist.*", answer.content.decode())
    with network_scope(two.own):
        member = Membership.objects.get(user=user)
    assert not member.wants_report  # an unticked box is not sent
    operator.post(f"/admin/networks/membership/{member.pk}/change/", {"role": "vet", "wants_report": "on"})
    with network_scope(two.own):
        member.refresh_from_db()
        assert (member.role, member.wants_report, member.version) == ("vet", True, 2)
    operator.post(f"/admin/networks/membership/{member.pk}/delete/", {"post": "yes"})
    with network_scope(two.own):
        assert not Membership.objects.filter(user=user).exists()
        acts = list(AuditEntry.objects.filter(object_id=member.pk).order_by("id").values_list("action", flat=True))
    assert acts == ["member.added", "member.changed", "member.removed"]


def test_the_last_coordinator_neither_steps_down_nor_leaves(operator, two):
    address = f"/admin/networks/membership/{two.member.pk}"
    before = every_value()
    refused = operator.post(f"{address}/change/", {"role": "vet"})
    assert (refused.status_code, "without a coordinator" in refused.content.decode()) == (200, True)
    asked = operator.get(f"{address}/delete/").content.decode()
    assert "without a coordinator" in asked
    operator.post(f"{address}/delete/", {"post": "yes"})
    every = {"action": "delete_selected", "_selected_action": [two.member.pk, two.stranger.pk], "post": "yes"}
    assert "without a coordinator" in operator.post("/admin/networks/membership/", every).content.decode()
    assert every_value() == before
    make_member(two.own, role="coordinator")
    assert operator.post(f"{address}/delete/", {"post": "yes"}).status_code == 302
    with network_scope(two.own):
        assert not Membership.objects.filter(pk=two.member.pk).exists()


def test_a_network_is_founded_and_its_settings_changed(operator):
    form = {"name": "Stork Watch", "slug": "stork-watch", "time_zone": "Europe/Lisbon", "report_at": "06:45"}
    answer = operator.post("/admin/tenancy/network/add/", form)
    assert answer.status_code == 302, re.findall(r"errorlist.*", answer.content.decode())
    network = Network.objects.get()
    assert (network.name, network.time_zone, network.report_at) == ("Stork Watch", "Europe/Lisbon", time(6, 45))
    address = f"/admin/tenancy/network/{network.pk}/change/"
    wrong = operator.post(address, form | {"time_zone": "Europe/Lisboa"})
    assert (wrong.status_code, "Europe/Lisbon" in wrong.content.decode()) == (200, True)
    assert operator.post(address, form | {"time_zone": "Atlantic/Azores", "report_at": "07:15"}).status_code == 302
    assert operator.post(address, form | {"time_zone": "Atlantic/Azores", "report_at": "07:15"}).status_code == 302
    network.refresh_from_db()
    assert (network.name, network.time_zone, network.report_at) == ("Stork Watch", "Atlantic/Azores", time(7, 15))
    with network_scope(network):
        acts = list(AuditEntry.objects.order_by("id").values_list("action", "data"))
    assert acts == [
        ("network.created", {"name": "Stork Watch"}),
        ("network.changed", {"time_zone": "Atlantic/Azores", "report_at": "07:15"}),
    ]


def test_a_personal_token_is_shown_once(operator, api, two):
    address = f"/admin/networks/membership/{two.member.pk}/token/"
    assert operator.get(address).status_code == 200
    answer = operator.post(address, {"label": "tablet", "scopes": ["members:read"], "days": 30})
    assert "no-store" in answer["Cache-Control"]
    raw = re.search(r"hrp_[\w-]+", answer.content.decode())[0]
    assert api.get("/api/v1/members", **bearer(raw)).status_code == 200
    assert raw not in operator.get("/admin/tenancy/accesstoken/").content.decode()
    token = AccessToken.objects.get()
    shown = operator.get(f"/admin/tenancy/accesstoken/{token.pk}/change/").content.decode()
    assert raw not in shown
    assert token.token_checksum not in shown


def test_a_curator_issues_no_token(curator, two):
    address = f"/admin/networks/membership/{two.member.pk}/token/"
    assert curator.post(address, {"label": "x", "scopes": ["members:read"], "days": 1}).status_code == 403
    assert not AccessToken.objects.exists()


def test_deleting_a_token_revokes_it(operator, api, two):
    raw = make_token(two.member)
    operator.post(f"/admin/tenancy/accesstoken/{AccessToken.objects.get().pk}/delete/", {"post": "yes"})
    assert api.get("/api/v1/members", **bearer(raw)).status_code == 401


def test_an_app_is_registered_with_its_secret_hashed(operator, two):
    form = {
        "name": "Scale bridge",
        "network": two.own.pk,
        "client_id": "scale-bridge",
        "client_secret": "shown once to copy",
        "client_type": "confidential",
        "authorization_grant_type": "client-credentials",
        "redirect_uris": "",
        "allowed_scopes": ["birds:write", "members:read"],
    }
    answer = operator.post("/admin/tenancy/apiclient/add/", form)
    assert answer.status_code == 302, re.findall(r"errorlist.*", answer.content.decode())
    app = ApiClient.objects.get()
    assert app.allowed_scopes == "birds:write members:read"
    assert "shown once" not in app.client_secret


def test_the_audit_trail_is_only_read(operator, two):
    with all_networks("a test"):
        entry = AuditEntry.objects.first()
    assert operator.get("/admin/tenancy/auditentry/add/").status_code == 403
    assert operator.post(f"/admin/tenancy/auditentry/{entry.pk}/delete/", {"post": "yes"}).status_code == 403


def test_a_user_is_made_in_the_admin(operator):
    form = {
        "email": "New@Example.org",
        "name": "New",
        "usable_password": "true",
        "password1": "a long enough secret",
        "password2": "a long enough secret",
    }
    assert operator.post("/admin/tenancy/user/add/", form).status_code == 302
    client = Client()
    assert client.login(username="new@example.org", password="a long enough secret")
