"""Reading reports: over the API with a token, in a browser by the link of the mail, in the admin."""

from datetime import timedelta
from html.parser import HTMLParser
from uuid import UUID, uuid4

import pytest

from api.reports import services
from api.reports.services import report_compose
from tests.api.reports.rows import MORNING, ON, alert_of, bird_at, founded, left, site_in, slot
from tests.examples import example
from tests.factories import bearer, make_member, make_token, make_user

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "morning")]


@pytest.fixture
def caller(network):
    return bearer(make_token(make_member(network, role="coordinator"), "reports:read"))


@pytest.fixture
def report(network):
    alert_of(bird_at(site_in(network), "<b>Quill</b>"))
    return report_compose(network=network, slot=slot())


def pictures_of(html: str) -> list[str]:
    class Pictures(HTMLParser):
        found: list[str] = []

        def handle_starttag(self, tag, attrs):
            if tag == "img":
                self.found.append(dict(attrs)["src"])

    reader = Pictures()
    reader.found = []
    reader.feed(html)
    return reader.found


# --- the list


def test_list_has_the_latest_first_in_short(api, network, caller):
    for days in range(3):
        report_compose(network=network, slot=slot(ON - timedelta(days=2 - days)))
    answer = api.get("/api/v1/reports", **caller)
    assert answer.status_code == 200
    results = answer.json()["results"]
    assert [one["on"] for one in results] == ["2027-05-02", "2027-05-01", "2027-04-30"]
    assert results[0]["totals"]["birds"] == 0
    assert "needs_you" not in results[0]


def test_list_goes_on_where_it_stopped(api, network, caller):
    for days in range(3):
        report_compose(network=network, slot=slot(ON - timedelta(days=days)))
    first = api.get("/api/v1/reports?limit=2", **caller).json()
    rest = api.get(f"/api/v1/reports?limit=2&cursor={first['next']}", **caller).json()
    assert [one["on"] for one in first["results"] + rest["results"]] == ["2027-05-02", "2027-05-01", "2027-04-30"]
    assert rest["next"] is None


@pytest.mark.parametrize(
    ("query", "days"),
    [
        ("from=2027-05-01", ["2027-05-02", "2027-05-01"]),
        ("to=2027-05-01", ["2027-05-01", "2027-04-30"]),
        ("from=2027-05-01&to=2027-05-01", ["2027-05-01"]),
        ("from=2028-01-01", []),
    ],
)
def test_list_of_some_days(api, network, caller, query, days):
    for back in range(3):
        report_compose(network=network, slot=slot(ON - timedelta(days=back)))
    assert [one["on"] for one in api.get(f"/api/v1/reports?{query}", **caller).json()["results"]] == days


@pytest.mark.parametrize(("query", "status"), [("on=2027-05-02", 400), ("from=2.5.2027", 400), ("limit=0", 400)])
def test_a_query_that_is_not_understood_is_refused(api, caller, query, status):
    answer = api.get(f"/api/v1/reports?{query}", **caller)
    assert answer.status_code == status
    assert answer.json()["errors"][0]["pointer"].startswith("?")


# --- one report


def test_one_report_tells_all_of_it(api, caller, report):
    answer = api.get(f"/api/v1/reports/{report.pk}", **caller)
    assert answer.status_code == 200
    body = answer.json()
    assert (body["id"], body["version"], body["on"]) == (str(report.pk), 1, "2027-05-02")
    assert body["needs_you"][0]["bird"] == "<b>Quill</b>"
    assert body["totals"]["alerts"] == len(body["alerts"]) == 1
    assert {caution["code"] for caution in body["cautions"]} >= {"ask_a_vet", "law_and_licence"}


def test_examples_of_the_document(api, network, caller, monkeypatch):
    monkeypatch.setattr(services, "new_id", lambda: UUID("01968f2a-7c00-7000-8000-0000000000a1"))
    site = site_in(network)
    quill = bird_at(site, uid=UUID("01968f2a-7c00-7000-8000-0000000000b1"), masses_g=(24.0, 26.1, 26.0))
    alert_of(quill, uid=UUID("01968f2a-7c00-7000-8000-0000000000c1"))
    small = {"uid": UUID("01968f2a-7c00-7000-8000-0000000000b2"), "hatched_on": ON - timedelta(days=3)}
    bird_at(site, "Sedge", masses_g=(), **small)
    left(
        bird_at(site, "Clover", uid=UUID("01968f2a-7c00-7000-8000-0000000000b3"), masses_g=()),
        at=MORNING - timedelta(hours=20),
        recorded_at=MORNING - timedelta(hours=19),
    )
    report = report_compose(network=network, slot=slot())
    many = api.get("/api/v1/reports", **caller)
    example("reports_list", "latest", "The latest mornings, in short", None, many)
    one = api.get(f"/api/v1/reports/{report.pk}", **caller)
    example("reports_retrieve", "morning", "A morning with an alert, a missed weighing and a night feed", None, one)
    assert (one.json()["totals"]["night_feeds"], one.json()["totals"]["missed_weighings"]) == (1, 1)


def test_what_has_not_changed_is_not_sent_again(api, caller, report):
    for address in ("/api/v1/reports", f"/api/v1/reports/{report.pk}", f"/api/v1/reports/{report.pk}.html"):
        etag = api.get(address, **caller)["ETag"]
        assert api.get(address, HTTP_IF_NONE_MATCH=etag, **caller).status_code == 304


def test_page_is_whole_and_fetches_nothing(api, caller, report):
    answer = api.get(f"/api/v1/reports/{report.pk}.html", **caller)
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/html; charset=utf-8")
    html = answer.content.decode()
    assert "&lt;b&gt;Quill&lt;/b&gt;" in html
    assert "<b>Quill" not in html
    assert all(src.startswith("data:image/png;base64,") for src in pictures_of(html))
    assert len(pictures_of(html)) == 1
    assert "default-src 'none'" in answer["Content-Security-Policy"]


def test_page_is_had_by_who_asks_for_html(api, caller, report):
    assert api.get(f"/api/v1/reports/{report.pk}.html", HTTP_ACCEPT="text/html", **caller).status_code == 200


@pytest.mark.parametrize("ending", ["", ".html"])
def test_another_networks_report_is_as_unknown_as_none(api, caller, ending):
    foreign = report_compose(network=founded(name="Another", slug="another"), slot=slot())
    for unknown in (foreign.pk, uuid4()):
        assert api.get(f"/api/v1/reports/{unknown}{ending}", **caller).status_code == 404
    assert api.get("/api/v1/reports", **caller).json()["results"] == []


@pytest.mark.parametrize(("role", "status"), [("coordinator", 200), ("vet", 200), ("observer", 200), ("carer", 403)])
@pytest.mark.parametrize("ending", ["", "/{}", "/{}.html"])
def test_a_report_is_for_those_who_see_every_site(api, network, report, role, status, ending):
    token = bearer(make_token(make_member(network, role=role), "reports:read"))
    answer = api.get(f"/api/v1/reports{ending.format(report.pk)}", **token)
    assert answer.status_code == status


# --- the link of the mail


def test_link_leads_a_member_to_the_whole_report(client, network, report):
    client.force_login(make_member(network, role="coordinator").user)
    answer = client.get(f"/reports/{report.pk}")
    assert answer.status_code == 200
    assert len(pictures_of(answer.content.decode())) == 1
    assert answer["Cache-Control"] == "private, no-cache"


def test_link_asks_to_sign_in_first(client, report):
    answer = client.get(f"/reports/{report.pk}")
    assert (answer.status_code, answer["Location"]) == (302, f"/sign-in?next=/reports/{report.pk}")


def test_link_tells_others_nothing(client, network, report):
    elsewhere = make_member(founded(name="Another", slug="another"), role="coordinator")
    for user in (elsewhere.user, make_member(network, role="carer").user, make_user()):
        client.force_login(user)
        assert client.get(f"/reports/{report.pk}").status_code == 404
    operator = make_user(is_superuser=True, is_staff=True)
    client.force_login(operator)
    assert client.get(f"/reports/{report.pk}").status_code == 404  # operators have the admin, where looks are logged


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_link_takes_nothing(client, network, report, method):
    client.force_login(make_member(network, role="coordinator").user)
    assert getattr(client, method)(f"/reports/{report.pk}").status_code == 405


# --- the admin


@pytest.fixture
def operator(client):
    client.force_login(make_user(is_superuser=True, is_staff=True))
    return client


def test_admin_lists_reports_and_shows_the_mail_as_it_was_sent(operator, network, report):
    make_member(network, role="coordinator")
    assert report.letter.subject in operator.get("/admin/reports/report/").content.decode()
    page = operator.get(f"/admin/reports/report/{report.pk}/change/").content.decode()
    assert 'sandbox=""' in page
    assert "srcdoc=" in page
    assert "&amp;lt;b&amp;gt;Quill" in page  # escaped once as text, once as an attribute
    assert "data:image/png;base64," in page


def test_admin_changes_and_removes_nothing(operator, report):
    for action in ("add", f"{report.pk}/delete"):
        assert operator.get(f"/admin/reports/report/{action}/").status_code == 403
    assert operator.post(f"/admin/reports/report/{report.pk}/change/", {"on": "2020-01-01"}).status_code == 403


def test_admin_is_for_operators(client, network, report):
    client.force_login(make_user(is_staff=True))
    assert client.get("/admin/reports/report/").status_code == 403
