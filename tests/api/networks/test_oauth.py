"""OAuth 2.0 as third-party apps use it: RFC 6749, 7636, 7009, 8252, 8414, 9207, 9728."""

import base64
import hashlib
import json
from urllib.parse import parse_qs, urlsplit

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.test import Client

from api.networks.services import member_add, member_remove
from api.tenancy.models import AccessToken, ApiClient, Grant, RefreshToken
from tests.database import every_value
from tests.factories import bearer, make_member, make_two_networks

pytestmark = pytest.mark.django_db

REDIRECT = "https://app.example/back"
# RFC 7636, appendix B.
VERIFIER = "dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk"
CHALLENGE = "E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM"


@pytest.fixture
def two():
    return make_two_networks()


def make_app(**fields) -> ApiClient:
    app = ApiClient(
        **{
            "name": "Round sheet",
            "client_type": ApiClient.CLIENT_PUBLIC,
            "authorization_grant_type": ApiClient.GRANT_AUTHORIZATION_CODE,
            "redirect_uris": REDIRECT,
            "allowed_scopes": "members:read plans:read",
            "client_secret": "",
            **fields,
        }
    )
    app.full_clean()
    app.save()
    return app


def ask(app, **changes):
    return {
        "response_type": "code",
        "client_id": app.client_id,
        "redirect_uri": REDIRECT,
        "scope": "members:read",
        "state": "xyz",
        "code_challenge": CHALLENGE,
        "code_challenge_method": "S256",
        **changes,
    }


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def grant(client, app, network, **changes):
    return client.post("/oauth/authorize", {**ask(app, **changes), "network": network.pk, "allow": "true"})


def code_of(answer) -> str:
    assert answer.status_code == 302, answer.content.decode()
    return parse_qs(urlsplit(answer["Location"]).query)["code"][0]


def exchange(app, code, **changes):
    # Apps bring no cookie of this site, so nothing may depend on one.
    return Client(enforce_csrf_checks=True).post(
        "/oauth/token",
        {
            "grant_type": "authorization_code",
            "code": code,
            "redirect_uri": REDIRECT,
            "client_id": app.client_id,
            "code_verifier": VERIFIER,
            **changes,
        },
    )


def test_the_challenge_of_the_rfc():
    digest = hashlib.sha256(VERIFIER.encode()).digest()
    assert base64.urlsafe_b64encode(digest).rstrip(b"=").decode() == CHALLENGE


def test_a_person_of_two_networks_chooses_one_and_the_token_works_for_that_one(api, two):
    user = two.member.user
    member_add(network=two.other, user=user, role="vet")
    app, client = make_app(), signed_in(user)

    page = client.get("/oauth/authorize", ask(app))
    assert page.status_code == 200
    assert two.own.name in page.content.decode()
    assert two.other.name in page.content.decode()
    assert "See who belongs to the network" in page.content.decode()

    answer = grant(client, app, two.other)
    back = parse_qs(urlsplit(answer["Location"]).query)
    assert (back["state"], back["iss"]) == (["xyz"], ["http://testserver"])
    tokens = exchange(app, code_of(answer)).json()
    assert tokens["scope"] == "members:read"

    listed = api.get("/api/v1/members", **bearer(tokens["access_token"])).json()["results"]
    assert {member["id"] for member in listed} >= {str(two.stranger.pk)}
    assert str(two.member.pk) not in {member["id"] for member in listed}

    renewed = (
        Client()
        .post(
            "/oauth/token",
            {"grant_type": "refresh_token", "refresh_token": tokens["refresh_token"], "client_id": app.client_id},
        )
        .json()
    )
    assert AccessToken.objects.get().network == two.other
    assert api.get("/api/v1/members", **bearer(renewed["access_token"])).status_code == 200
    assert api.get("/api/v1/members", **bearer(tokens["access_token"])).status_code == 401

    stored = every_value()
    for secret in (tokens["access_token"], tokens["refresh_token"], renewed["access_token"], renewed["refresh_token"]):
        assert secret not in stored


def test_a_replayed_refresh_token_ends_the_whole_family(api, two):
    """RFC 9700, section 4.14.2."""
    app = make_app()
    tokens = exchange(app, code_of(grant(signed_in(two.member.user), app, two.own))).json()
    send = {"grant_type": "refresh_token", "refresh_token": tokens["refresh_token"], "client_id": app.client_id}
    renewed = Client().post("/oauth/token", send).json()
    replayed = Client().post("/oauth/token", send)
    assert (replayed.status_code, replayed.json()["error"]) == (400, "invalid_grant")
    assert api.get("/api/v1/members", **bearer(renewed["access_token"])).status_code == 401


def test_the_code_is_stored_as_a_hash_and_serves_once(two):
    app = make_app()
    code = code_of(grant(signed_in(two.member.user), app, two.own))
    assert Grant.objects.get().network == two.own
    assert code not in every_value()
    stored_hash = hashlib.sha256(code.encode()).hexdigest()
    assert exchange(app, stored_hash).status_code == 400
    assert exchange(app, code).status_code == 200
    assert exchange(app, code).json() == {"error": "invalid_grant"}


@pytest.mark.parametrize(
    ("changes", "error"),
    [
        ({"code_challenge": ""}, "invalid_request"),
        ({"code_challenge_method": "plain"}, "invalid_request"),
        ({"response_type": "token"}, "unauthorized_client"),
        ({"scope": "birds:write"}, "invalid_scope"),
        ({"scope": "everything"}, "invalid_scope"),
    ],
)
def test_what_is_not_granted(two, changes, error):
    app = make_app()
    answer = signed_in(two.member.user).post(
        "/oauth/authorize", {**ask(app, **changes), "network": two.own.pk, "allow": "true"}
    )
    told = answer["Location"] if answer.status_code == 302 else answer.content.decode()
    assert f"error={error}" in told, (answer.status_code, told)
    assert not Grant.objects.exists()


def test_a_wrong_verifier_is_refused(two):
    app = make_app()
    code = code_of(grant(signed_in(two.member.user), app, two.own))
    assert exchange(app, code, code_verifier="x" * 43).json()["error"] == "invalid_grant"


def test_no_one_grants_access_to_a_network_that_is_not_theirs(two):
    app = make_app()
    answer = grant(signed_in(two.member.user), app, two.other)
    assert answer.status_code == 200
    assert not Grant.objects.exists()


def test_an_app_of_one_network_gets_no_other(two):
    user = two.member.user
    member_add(network=two.other, user=user, role="vet")
    app = make_app(network=two.own)
    page = signed_in(user).get("/oauth/authorize", ask(app)).content.decode()
    assert two.own.name in page
    assert two.other.name not in page
    assert grant(signed_in(user), app, two.other).status_code == 200
    assert not Grant.objects.exists()


def test_allowing_without_a_network_asks_again(two):
    user = two.member.user
    member_add(network=two.other, user=user, role="vet")
    answer = signed_in(user).post("/oauth/authorize", {**ask(make_app()), "allow": "true"})
    assert answer.status_code == 200
    assert "Choose the network" in answer.content.decode()


def test_refusing_tells_the_app(two):
    answer = signed_in(two.member.user).post("/oauth/authorize", ask(make_app()))
    assert answer.status_code == 302
    assert "error=access_denied" in answer["Location"]


def test_without_the_page_a_single_network_is_meant_and_two_are_asked_about(two):
    app = make_app(skip_authorization=True)
    user = two.member.user
    assert "code=" in signed_in(user).get("/oauth/authorize", ask(app))["Location"]
    assert Grant.objects.get().network == two.own
    member_add(network=two.other, user=user, role="vet")
    answer = signed_in(user).get("/oauth/authorize", ask(app))
    assert "error=interaction_required" in answer["Location"]


def test_who_is_not_signed_in_signs_in_first(client, two):
    answer = client.get("/oauth/authorize", ask(make_app()))
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in?next=")
    signed = client.post(
        answer["Location"], {"username": two.member.user.email.upper(), "password": "a long enough secret"}
    )
    assert signed.status_code == 302
    assert signed["Location"].startswith("/oauth/authorize?")


def test_an_unregistered_address_gets_nothing(two):
    answer = signed_in(two.member.user).get("/oauth/authorize", ask(make_app(), redirect_uri="https://evil.example/"))
    assert answer.status_code == 400
    assert "Location" not in answer


@pytest.mark.parametrize("address", ["http://127.0.0.1:49152/back", "com.example.app:/back"])
def test_installed_apps_get_their_code_back(two, address):
    """RFC 8252, sections 7.1 and 7.3: a scheme of their own, or a loopback address at any port."""
    app = make_app(redirect_uris="http://127.0.0.1/back com.example.app:/back")
    answer = grant(signed_in(two.member.user), app, two.own, redirect_uri=address)
    assert answer.status_code == 302
    assert answer["Location"].startswith(address)
    assert exchange(app, code_of(answer), redirect_uri=address).status_code == 200


@pytest.mark.parametrize("address", [REDIRECT, "http://127.0.0.1:49152/back", "com.example.app:/back"])
@pytest.mark.parametrize("wrong", ["scope", "code_challenge"])
def test_a_request_refused_at_once_goes_back_with_the_reason(two, address, wrong):
    """RFC 6749, section 4.1.2.1; RFC 9207, section 2: the issuer stands in refusals too."""
    app = make_app(redirect_uris=f"{REDIRECT} http://127.0.0.1/back com.example.app:/back")
    asked = ask(app, redirect_uri=address)
    if wrong == "scope":
        asked["scope"] = "everything"
    else:
        del asked["code_challenge"]
    answer = signed_in(two.member.user).get("/oauth/authorize", asked)
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, address)
    back = parse_qs(urlsplit(answer["Location"]).query)
    error = "invalid_scope" if wrong == "scope" else "invalid_request"
    assert (back["error"], back["state"], back["iss"]) == ([error], ["xyz"], ["http://testserver"])


def test_a_refusal_goes_back_with_the_issuer_and_only_that(two):
    app = make_app(redirect_uris="https://app.example/back?iss=https://evil.example")
    asked = ask(app, redirect_uri="https://app.example/back?iss=https://evil.example")
    answer = signed_in(two.member.user).post("/oauth/authorize", {**asked, "network": two.own.pk})
    back = parse_qs(urlsplit(answer["Location"]).query)
    assert (back["error"], back["iss"]) == (["access_denied"], ["http://testserver"])
    assert not Grant.objects.exists()


def test_of_several_networks_none_is_chosen_beforehand_and_the_only_one_is(two):
    app, client = make_app(), signed_in(two.member.user)
    assert " checked" in client.get("/oauth/authorize", ask(app)).content.decode()
    member_add(network=two.other, user=two.member.user, role="vet")
    page = client.get("/oauth/authorize", ask(app)).content.decode()
    assert page.count('type="radio"') == 2
    assert " checked" not in page
    answer = client.post("/oauth/authorize", {**ask(app), "allow": "true"})
    assert (answer.status_code, "Choose the network" in answer.content.decode()) == (200, True)
    assert "app.example" in answer.content.decode()
    assert not Grant.objects.exists()


@pytest.mark.parametrize(
    "address",
    ["http://app.example/back", "javascript:alert(1)", "data:text/html,x", "myapp://back", "http://localhost/x"],
)
def test_unsafe_addresses_are_not_registered(address):
    with pytest.raises(ValidationError):
        make_app(redirect_uris=address)


def make_machine(network, secret="the secret of the machine"):
    return make_app(
        network=network,
        client_type=ApiClient.CLIENT_CONFIDENTIAL,
        authorization_grant_type=ApiClient.GRANT_CLIENT_CREDENTIALS,
        redirect_uris="",
        client_secret=secret,
    )


def test_an_app_on_its_own_works_for_its_network(api, two):
    app = make_machine(two.other)
    answer = Client().post(
        "/oauth/token",
        {"grant_type": "client_credentials", "scope": "members:read"},
        headers={
            "Authorization": "Basic " + base64.b64encode(f"{app.client_id}:the secret of the machine".encode()).decode()
        },
    )
    assert answer.status_code == 200, answer.content
    assert answer["Cache-Control"] == "no-store"
    raw = answer.json()["access_token"]
    listed = api.get("/api/v1/members", **bearer(raw)).json()["results"]
    assert [member["id"] for member in listed] == [str(two.stranger.pk)]
    stored = every_value()
    assert raw not in stored
    assert "the secret of the machine" not in stored


def test_an_app_on_its_own_needs_a_network():
    with pytest.raises(ValidationError, match="choose it"):
        make_machine(None)
    with pytest.raises(IntegrityError):
        ApiClient.objects.create(authorization_grant_type="client-credentials", client_type="confidential")


@pytest.mark.parametrize(
    ("sent", "status", "error"),
    [
        ({"grant_type": "client_credentials", "client_secret": "wrong"}, 401, "invalid_client"),
        ({"grant_type": "client_credentials", "scope": "birds:write"}, 400, "invalid_scope"),
        ({"grant_type": "nonsense"}, 400, "unsupported_grant_type"),
        ({}, 400, "unsupported_grant_type"),
    ],
)
def test_oauth_keeps_its_own_form_of_errors(two, sent, status, error):
    """RFC 6749, section 5.2."""
    app = make_machine(two.own)
    credentials = {"client_id": app.client_id, "client_secret": "the secret of the machine"}
    answer = Client().post("/oauth/token", {**credentials, **sent})
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/json")
    assert answer.json()["error"] == error


def test_a_persons_password_buys_no_token(two):
    """RFC 9700, section 2.4."""
    app = make_machine(two.own)
    answer = Client().post(
        "/oauth/token",
        {
            "grant_type": "password",
            "client_id": app.client_id,
            "client_secret": "the secret of the machine",
            "username": two.member.user.email,
            "password": "a long enough secret",
        },
    )
    assert (answer.status_code, answer.json()["error"]) == (400, "unauthorized_client")
    assert not AccessToken.objects.exists()


def test_guessing_a_secret_is_slowed(two, settings, standing_clock):
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "token": (2, 60)}
    codes = [Client().post("/oauth/token", {"grant_type": "nonsense"}).status_code for _ in range(3)]
    assert codes == [400, 400, 429]


def test_a_revoked_token_is_401(api, two):
    """RFC 7009."""
    app = make_app()
    tokens = exchange(app, code_of(grant(signed_in(two.member.user), app, two.own))).json()
    answer = Client(enforce_csrf_checks=True).post(
        "/oauth/revoke", {"token": tokens["access_token"], "client_id": app.client_id}
    )
    assert answer.status_code == 200
    assert api.get("/api/v1/members", **bearer(tokens["access_token"])).status_code == 401


def test_who_leaves_loses_the_refresh_token_too(two):
    app = make_app()
    tokens = exchange(app, code_of(grant(signed_in(two.member.user), app, two.own))).json()
    make_member(two.own, role="coordinator")
    member_remove(member=two.member)
    assert not RefreshToken.objects.exists()
    sent = {"grant_type": "refresh_token", "refresh_token": tokens["refresh_token"], "client_id": app.client_id}
    assert Client().post("/oauth/token", sent).json()["error"] == "invalid_grant"


def test_metadata_of_the_authorization_server(api):
    told = json.loads(api.get("/.well-known/oauth-authorization-server").content)
    assert told["issuer"] == "http://testserver"
    assert told["authorization_endpoint"] == "http://testserver/oauth/authorize"
    assert told["token_endpoint"] == "http://testserver/oauth/token"
    assert told["revocation_endpoint"] == "http://testserver/oauth/revoke"
    assert told["response_types_supported"] == ["code"]
    assert told["grant_types_supported"] == ["authorization_code", "client_credentials", "refresh_token"]
    assert told["code_challenge_methods_supported"] == ["S256"]
    assert "members:read" in told["scopes_supported"]


def test_metadata_of_the_resource(api):
    told = json.loads(api.get("/.well-known/oauth-protected-resource").content)
    assert told["resource"] == "http://testserver"
    assert told["authorization_servers"] == ["http://testserver"]
    assert told["bearer_methods_supported"] == ["header"]
