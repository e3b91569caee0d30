"""Signing in: one page for people and for operators, and slow to be guessed at."""

from datetime import UTC, datetime

import pytest

from api.web import clock
from tests.factories import make_user

PASSWORD = "a long enough secret"
PAGES = ["/sign-in", "/admin/login/"]


def sign_in(client, page, user, password=PASSWORD, **more):
    return client.post(page, {"username": user.email, "password": password}, **more)


@pytest.fixture
def two_attempts(settings, standing_clock):
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "sign_in": (2, 600)}


@pytest.mark.parametrize("page", PAGES)
def test_after_the_quota_even_the_right_word_is_refused_until_the_window_ends(client, db, two_attempts, page):
    operator = make_user(is_staff=True, is_superuser=True)
    assert [sign_in(client, page, operator, "wrong").status_code for _ in range(2)] == [200, 200]
    refused = sign_in(client, page, operator)
    assert (refused.status_code, refused["Retry-After"]) == (429, "600")
    assert refused["RateLimit-Policy"] == '"sign_in";q=2;w=600'
    assert "Try again in 600 s" in refused.content.decode()
    assert PASSWORD not in refused.content.decode()
    assert "_auth_user_id" not in client.session
    assert sign_in(client, page, operator, REMOTE_ADDR="192.0.2.9").status_code == 302
    with clock.standing_at(datetime(2027, 5, 2, 5, 10, tzinfo=UTC)):
        assert sign_in(client, page, operator).status_code == 302


def test_both_pages_share_the_quota(client, db, two_attempts):
    operator = make_user(is_staff=True, is_superuser=True)
    assert [sign_in(client, page, operator, "wrong").status_code for page in [*PAGES, *PAGES]] == [200, 200, 429, 429]


def test_looking_at_the_page_costs_nothing(client, db, two_attempts):
    assert {client.get("/sign-in").status_code for _ in range(5)} == {200}


def test_the_admin_sends_an_operator_to_the_page_and_back(client, db):
    sent = client.get("/admin/species/", follow=True)
    page, _ = sent.redirect_chain[-1]
    assert page == "/admin/login/?next=/admin/species/"
    operator = make_user(is_staff=True, is_superuser=True)
    assert sign_in(client, page, operator)["Location"] == "/admin/species/"
    assert client.get("/admin/").status_code == 200


def test_who_is_no_operator_is_told_so(client, db):
    answer = sign_in(client, "/admin/login/", make_user())
    assert answer.status_code == 200
    assert "staff account" in answer.content.decode()


def test_who_comes_from_an_app_is_told_why(client, db):
    told = "An app asks for access"
    assert told in client.get("/sign-in?next=/oauth/authorize%3Fclient_id%3Dx").content.decode()
    assert told not in client.get("/sign-in").content.decode()
    assert told not in client.get("/sign-in?next=https://evil.example/oauth/authorize").content.decode()
