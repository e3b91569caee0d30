"""``GET /birds/{id}/growth``: how a stored bird grows, as figures, chart and table."""

import csv
import io
import xml.etree.ElementTree as ET
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.growth.rules.record import MOST_WEIGHINGS
from api.growth.selectors.records import with_growth
from api.growth.selectors.stored import growth_of
from api.tenancy.scope import network_scope
from tests.factories import bearer, make_bird, make_site, make_token, make_two_networks, make_weighing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species")]

#: A cockatiel on the curve of growth.md section 3, its days 3 to 12; then standing still.
GRAMS = (8.3, 10.1, 12.3, 14.9, 18.0, 21.5, 25.5, 29.9, 34.7, 39.8)
STALLED = (8.3, 10.1, 12.3, 14.9, 18.0, 21.5, 21.5, 21.4, 21.4, 21.4)


@pytest.fixture
def two(standing_clock):
    return make_two_networks()


@pytest.fixture
def caller(two):
    return bearer(make_token(two.member, "plans:read"))


def weighed(network, grams, *, now, **bird):
    """A bird of the network, weighed every morning until now; more than ten times, within nine days."""
    bird = make_bird(make_site(network), **bird)
    apart = min(1.0, 9 / max(len(grams) - 1, 1))
    for n, gram in enumerate(grams):
        make_weighing(bird, gram, at=now - timedelta(days=apart * (len(grams) - 1 - n)))
    return bird


def url(bird, kind=""):
    return f"/api/v1/birds/{bird.uid}/growth{kind}"


def test_every_field_of_an_assessment_with_the_ids_of_bird_and_weighings(api, two, caller, standing_clock):
    bird = weighed(two.own, STALLED, now=standing_clock)
    response = api.get(url(bird), **caller)
    assert response.status_code == 200, response.content
    answer = response.json()
    assert set(answer) == {
        "bird_id", "age", "curve", "points", "status", "findings", "forecast", "cautions", "basis", "computed_by",
    }  # fmt: skip
    assert answer["bird_id"] == str(bird.uid)
    assert answer["age"] == {"basis": "hatched_on", "estimate": None}
    assert [point["mass_g"] for point in answer["points"]] == list(STALLED)
    with network_scope(two.own):
        assert [point["weighing_id"] for point in answer["points"]] == [
            str(uid) for uid in bird.weighings.order_by("at").values_list("uid", flat=True)
        ]
    assert {point["weighing_state"] for point in answer["points"]} == {"accepted"}
    assert answer["status"] == "falling_behind"
    assert "no_gain" in [finding["code"] for finding in answer["findings"]]
    assert response["Cache-Control"] == "private, no-cache"


def test_it_is_sent_once_until_it_changes(api, two, caller, standing_clock):
    bird = weighed(two.own, GRAMS[:9], now=standing_clock - timedelta(days=1))
    for kind in ("", ".svg", ".csv"):
        etag = api.get(url(bird, kind), **caller)["ETag"]
        assert api.get(url(bird, kind), HTTP_IF_NONE_MATCH=etag, **caller).status_code == 304
    make_weighing(bird, GRAMS[9])
    changed = api.get(url(bird, ".csv"), HTTP_IF_NONE_MATCH=etag, **caller)
    assert changed.status_code == 200
    assert len(list(csv.DictReader(io.StringIO(changed.content.decode())))) == 10


def test_a_weight_that_cannot_be_is_shown_and_named_by_its_id(api, two, caller, standing_clock):
    bird = weighed(two.own, (*GRAMS[:9], 398.0), now=standing_clock)
    answer = api.get(url(bird), **caller).json()
    slip = answer["points"][-1]
    assert (slip["mass_g"], slip["state"]) == (398.0, "questioned")
    finding = next(one for one in answer["findings"] if one["code"] == "implausible_weight")
    assert finding["evidence"]["weighing_id"] == slip["weighing_id"]


def test_the_chart_and_the_table(api, two, caller, standing_clock):
    bird = weighed(two.own, GRAMS, now=standing_clock)
    chart = api.get(url(bird, ".svg"), HTTP_ACCEPT="image/svg+xml", **caller)
    assert chart.status_code == 200
    assert chart["Content-Type"].startswith("image/svg+xml")
    assert ET.fromstring(chart.content).tag == "{http://www.w3.org/2000/svg}svg"
    table = api.get(url(bird, ".csv"), HTTP_ACCEPT="text/csv", **caller)
    rows = list(csv.DictReader(io.StringIO(table.content.decode())))
    assert [float(row["mass_g"]) for row in rows] == list(GRAMS)
    assert chart["Cache-Control"] == table["Cache-Control"] == "private, no-cache"


@pytest.mark.parametrize("kind", ["", ".svg", ".csv"])
def test_a_bird_that_was_never_weighed_is_to_be_weighed_first(api, two, caller, kind):
    response = api.get(url(make_bird(make_site(two.own)), kind), **caller)
    assert response.status_code == 409
    assert response["Content-Type"] == "application/problem+json"
    (error,) = response.json()["errors"]
    assert (error["code"], error["pointer"]) == ("no_weighings", "")
    assert "Weigh it" in error["detail"]


def test_an_age_that_nobody_told_is_estimated_and_that_is_said(api, two, caller, standing_clock):
    bird = weighed(two.own, GRAMS, now=standing_clock, hatched_on=None)
    answer = api.get(url(bird), **caller).json()
    assert answer["age"]["basis"] == "estimated"
    assert answer["age"]["estimate"]["low_days"] < 3.0 < answer["age"]["estimate"]["high_days"]
    assert answer["age"]["estimate"]["used"] == ["mass"]
    assert "age_estimated" in [caution["code"] for caution in answer["cautions"]]


def test_a_bad_day_is_refused(api, two, caller, standing_clock):
    bird = weighed(two.own, GRAMS, now=standing_clock)
    assert api.get(f"{url(bird)}?on=tomorrow", **caller).status_code == 400
    assert api.get(f"{url(bird)}?of=2027-05-02", **caller).status_code == 400
    ahead = api.get(f"{url(bird)}?on=2027-05-09", **caller).json()
    assert ahead["forecast"][0]["on"] == "2027-05-10"


def test_birds_of_others_are_not_there(api, two, standing_clock):
    bird = weighed(two.own, GRAMS, now=standing_clock)
    stranger = bearer(make_token(two.stranger, "plans:read"))
    assert api.get(url(bird), **stranger).status_code == 404
    assert api.get(url(bird), **bearer(make_token(two.member, "birds:read"))).status_code == 403
    assert api.get(url(bird)).status_code == 401


def test_queries_do_not_grow_with_the_weighings(api, two, caller, standing_clock):
    counts = []
    for grams in (GRAMS[:3], GRAMS * 3):
        bird = weighed(two.own, sorted(grams), now=standing_clock)
        api.get(url(bird), **caller)
        with CaptureQueriesContext(connection) as queries:
            assert api.get(url(bird), **caller).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_many_birds_take_as_many_queries_as_one(two, standing_clock):
    counts = []
    for number in (1, 4):
        birds = [weighed(two.own, GRAMS[:3], now=standing_clock) for _ in range(number)]
        with network_scope(two.own), CaptureQueriesContext(connection) as queries:
            with_growth(birds)
            assert all(len(growth_of(bird).assessment.points) == 3 for bird in birds)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 6


def test_nothing_stale_stays_with_a_bird(two, standing_clock):
    bird = weighed(two.own, GRAMS[:9], now=standing_clock - timedelta(days=1))
    with network_scope(two.own):
        assert len(growth_of(bird).assessment.points) == 9
        make_weighing(bird, GRAMS[9])
        assert len(growth_of(bird).assessment.points) == 10


def test_of_a_long_record_the_last_are_fetched(two, standing_clock, monkeypatch):
    assert MOST_WEIGHINGS == 400
    monkeypatch.setattr("api.growth.selectors.records.MOST_WEIGHINGS", 4)
    bird = weighed(two.own, GRAMS, now=standing_clock)
    with network_scope(two.own):
        growth = growth_of(bird)
    assert [point.mass_g for point in growth.assessment.points] == list(GRAMS[-4:])
    assert "older_weighings_left_out" in [caution.code for caution in growth.assessment.cautions]
