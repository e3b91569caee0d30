"""GET /api/v1/alerts, one alert, its versions; what the report reads; the operators' pages."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api.alerts import selectors
from api.outbox.models import Change
from api.tenancy.scope import network_scope
from tests.api.alerts.conftest import FALTERING, make_chick, morning, up_to
from tests.factories import make_site, make_user


@pytest.fixture
def several(api, two, chick, django_capture_on_commit_callbacks):
    """Three alerts: a loss that is over, a loss and a burnt crop of another bird at another site."""
    chick.grow(up_to(11))
    chick.grow({12: FALTERING[12], 13: FALTERING[13]})
    other = make_chick(api, two, make_site(two.own, name="Home"), django_capture_on_commit_callbacks)
    other.grow(up_to(11))
    other.record("crop-checks", 11.5, crop="empty", crop_wall="blistered")
    return chick, other


def test_those_that_have_not_ended_newest_first(several):
    chick, other = several
    assert [alert["code"] for alert in chick.alerts()] == ["crop_injury", "weight_loss"]
    assert {alert["bird_id"] for alert in chick.alerts()} == {str(other.bird.uid)}


@pytest.mark.parametrize(
    ("query", "codes"),
    [
        ("?state=any", ["crop_injury", "weight_loss", "weight_loss"]),
        ("?state=resolved", ["weight_loss"]),
        ("?state=open", ["crop_injury", "weight_loss"]),
        ("?state=acknowledged", []),
        ("?severity=urgent", ["crop_injury"]),
        ("?code=weight_loss", ["weight_loss"]),
        ("?code=weight_loss&state=any", ["weight_loss", "weight_loss"]),
        ("?bird_id={first}&state=any", ["weight_loss"]),
        ("?bird_id={first}", []),
        ("?site_id={home}&severity=act_today", ["weight_loss"]),
        ("?bird_id=0b5f3a52-2f0e-4c52-9d0c-7a1c6a3f9e10&state=any", []),
    ],
)
def test_narrowed(several, query, codes):
    chick, other = several
    assert chick.codes(query.format(first=chick.bird.uid, home=other.site.uid)) == codes


@pytest.mark.parametrize(
    ("query", "code", "pointer"),
    [
        ("?state=snoozed", "invalid_choice", "?state"),
        ("?severity=high", "invalid_choice", "?severity"),
        ("?bird_id=7", "malformed", "?bird_id"),
        ("?limit=201", "page_out_of_range", "?limit"),
        ("?cursor=abc", "invalid_cursor", "?cursor"),
        ("?birdid=7", "unknown_parameter", "?birdid"),
    ],
)
def test_a_bad_query_says_what_would_do(chick, query, code, pointer):
    answer = chick.api.get(f"/api/v1/alerts{query}", **chick.caller)
    assert answer.status_code == 400
    assert [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]] == [(code, pointer)]


def test_page_by_page_none_is_missed(several):
    chick, _ = several
    seen, cursor = [], ""
    for _ in range(3):
        page = chick.api.get(f"/api/v1/alerts?state=any&limit=1{cursor}", **chick.caller).json()
        seen += [alert["id"] for alert in page["results"]]
        cursor = f"&cursor={page['next']}"
    assert page["next"] is None
    assert seen == [alert["id"] for alert in chick.alerts("?state=any")]


def test_unchanged_it_is_not_sent_again(chick, alert):
    first = chick.api.get(f"/api/v1/alerts/{alert['id']}", **chick.caller)
    assert (first["ETag"], first["Cache-Control"]) == ('"1"', "private, no-cache")
    again = chick.api.get(f"/api/v1/alerts/{alert['id']}", HTTP_IF_NONE_MATCH='"1"', **chick.caller)
    assert again.status_code == 304


def test_its_versions_say_who_did_what(chick, alert):
    chick.say(alert, "acknowledge", {"note": "Seen."})
    chick.weigh(12, FALTERING[12])
    chick.weigh(13, FALTERING[13])
    results = chick.api.get(f"/api/v1/alerts/{alert['id']}/versions", **chick.caller).json()["results"]
    told = [(one["version"], one["data"]["state"], one["by"]) for one in results]
    assert told == [
        (1, "open", None),
        (2, "acknowledged", str(chick.two.member.user)),
        (3, "resolved", None),
    ]


def test_it_stands_in_the_feed_of_changes_at_its_site(chick, alert):
    with network_scope(chick.two.own):
        (change,) = Change.objects.filter(kind="alert")
    assert (str(change.record_id), change.op, change.site_id) == (alert["id"], "put", chick.site.uid)
    assert change.data == alert


def count_of(chick, address):
    chick.api.get(address, **chick.caller)
    with CaptureQueriesContext(connection) as queries:
        assert chick.api.get(address, **chick.caller).status_code == 200
    return len(queries)


def test_a_longer_list_takes_no_more_queries(several, api, two, django_capture_on_commit_callbacks):
    chick, _ = several
    before = count_of(chick, "/api/v1/alerts?state=any")
    for _ in range(3):
        another = make_chick(api, two, make_site(two.own), django_capture_on_commit_callbacks)
        another.grow(up_to(11))
        another.say(another.alerts()[0], "acknowledge")
    assert count_of(chick, "/api/v1/alerts?state=any") == before


def test_a_look_at_a_long_record_takes_no_more_queries_than_at_a_short_one(chick):
    def queries(weigh):
        with CaptureQueriesContext(connection) as caught:
            weigh()
        return len(caught)

    chick.grow(up_to(8))
    short = queries(lambda: chick.weigh(9, FALTERING[9]))
    for quarter in range(1, 12):
        chick.weigh(9 + quarter / 24, 25.0, context="after_feed")
    assert queries(lambda: chick.weigh(10, FALTERING[10])) == short


def test_what_the_report_reads(several):
    chick, other = several
    with network_scope(chick.two.own):
        standing = list(selectors.alerts_not_resolved())
        opened = list(selectors.alerts_opened_between(morning(11), morning(11.5)))
        with CaptureQueriesContext(connection) as queries:
            told = [(alert.bird.name, alert.site.name) for alert in [*standing, *opened]]
    assert [alert.code for alert in standing] == ["crop_injury", "weight_loss"]
    assert [alert.code for alert in opened] == [
        "weight_loss",
        "weight_loss",
    ]  # the crop's at the end of the time is not
    assert len(queries) == 0
    assert told[0] == (other.bird.name, "Home")
    with network_scope(chick.two.other):
        assert not selectors.alerts_not_resolved().exists()


def test_operators_read_alerts_and_change_none(chick, alert):
    client = Client()
    client.force_login(make_user(is_staff=True, is_superuser=True))
    listed = client.get("/admin/alerts/alert/")
    assert (listed.status_code, b"weight_loss" in listed.content) == (200, True)
    (row,) = chick.rows()
    page = client.get(f"/admin/alerts/alert/{row.pk}/change/")
    assert page.status_code == 200
    assert row.text.encode() in page.content
    assert b'name="_save"' not in page.content
    assert client.get("/admin/alerts/alert/add/").status_code == 403
    assert client.post(f"/admin/alerts/alert/{row.pk}/delete/", {"post": "yes"}).status_code == 403


def test_who_is_no_operator_has_no_page_of_alerts(chick, alert):
    client = Client()
    client.force_login(make_user(is_staff=True))
    assert client.get("/admin/alerts/alert/").status_code == 403
