"""Growth assessments over HTTP: shape, bad input, the chart."""

import json
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta

import pytest

from tests.examples import example

URL = "/api/v1/growth-assessments"
GRAMS = (5.1, 6.0, 7.2, 8.6, 10.2, 12.4, 14.9, 17.5, 20.8, 24.0, 24.1, 23.9, 23.5)


def weighings(grams=GRAMS):
    start = datetime(2027, 4, 23, 6, 0, tzinfo=UTC)
    return [
        {
            "at": (start + timedelta(days=n)).isoformat(),
            "mass_g": g,
            "context": "before_first_feed",
            "scale_step_g": 0.1,
        }
        for n, g in enumerate(grams)
    ]


def told(**changed):
    return {
        "species": "nymphicus-hollandicus",
        "hatched_on": "2027-04-22",
        "time_zone": "Europe/Lisbon",
        "weighings": weighings(),
        **changed,
    }


def test_every_field_of_the_contract_is_there(api, built_in_species):
    response = api.post(URL, told(), format="json")
    assert response.status_code == 200, response.content
    example("growth_assessments_create", "stalled-cockatiel", "A cockatiel that stopped gaining", told(), response)
    answer = response.json()
    assert set(answer) == {
        "curve", "points", "status", "findings", "forecast", "cautions", "basis", "computed_by",
    }  # fmt: skip
    assert answer["status"] == "falling_behind"
    assert [finding["code"] for finding in answer["findings"]] == ["no_gain", "low_for_age"]
    assert [day["on"] for day in answer["forecast"]] == [f"2027-05-{day:02d}" for day in range(6, 13)]
    assert response["Cache-Control"] == "no-store"


def test_an_unlisted_species_is_answered_with_what_it_is_worth(api, built_in_species):
    body = told(
        unlisted_species={
            "scientific_name": "Hirundo rustica",
            "order": "Passeriformes",
            "adult_mass_g": 18,
            "developmental_mode": "altricial",
        },
        weighings=weighings((1.9, 2.8, 4.2, 6.3)),
    )
    del body["species"]
    answer = api.post(URL, body, format="json").json()
    assert answer["computed_by"]["revision"] is None
    assert "inferred_profile" in [caution["code"] for caution in answer["cautions"]]


@pytest.mark.parametrize(
    ("changed", "status", "pointer"),
    [
        pytest.param({"weighings": []}, 422, "/weighings", id="none"),
        pytest.param({"weighings": weighings()[:1] * 401}, 422, "/weighings", id="more-than-400"),
        pytest.param({"weighings": [{"at": "2027-04-23", "mass_g": 5}]}, 400, "/weighings/0/at", id="a-day"),
        pytest.param(
            {"weighings": [{"at": "2027-04-23T06:00:00", "mass_g": 5}]}, 400, "/weighings/0/at", id="no-offset"
        ),
        pytest.param(
            {"weighings": [{"at": "2027-04-23T06:00:00Z", "mass_g": 0}]}, 422, "/weighings/0/mass_g", id="mass-0"
        ),
        pytest.param(
            {"weighings": [{"at": "2027-04-23T06:00:00Z", "mass_g": "5"}]}, 400, "/weighings/0/mass_g", id="text"
        ),
        pytest.param(
            {"weighings": [{"at": "2027-04-01T06:00:00Z", "mass_g": 5}]}, 422, "/weighings/0/at", id="before-hatching"
        ),
        pytest.param({"species": "nymphicus-holandicus"}, 422, "/species", id="unknown-species"),
        pytest.param({"hatched_on": None}, 400, "/hatched_on", id="null"),
        pytest.param({"adult_mass_g": 5000.0}, 422, "/adult_mass_g", id="no-strain-is-so-heavy"),
        pytest.param({"on": "2027-04-01"}, 422, "/on", id="asked-for-a-day-before-hatching"),
        pytest.param({"colour": "grey"}, 400, "/colour", id="unknown-field"),
        pytest.param({"time_zone": "EST"}, 422, "/time_zone", id="zone-without-rules"),
        pytest.param(
            {"age_estimate": {"on": "2027-04-25", "days": 3}}, 422, "/age_estimate", id="two-ways-to-tell-the-age"
        ),
    ],
)
def test_bad_input_is_named(api, built_in_species, changed, status, pointer):
    response = api.post(URL, told(**changed), format="json")
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    assert pointer in [error["pointer"] for error in response.json()["errors"]]


@pytest.mark.parametrize(
    "changed",
    [
        pytest.param({"weighings": weighings()[:1]}, id="one"),
        pytest.param({"weighings": weighings()[:1] * 400}, id="400-at-one-instant"),
        pytest.param({"weighings": list(reversed(weighings()))}, id="unordered"),
        pytest.param({"weighings": weighings((51.0, *GRAMS[1:]))}, id="a-slip-in-the-first"),
        pytest.param({"age_estimate": {"on": "2027-04-25", "days": 3.0}, "hatched_on": ...}, id="age-estimate"),
        pytest.param({"weighings": weighings() * 2}, id="each-twice"),
        pytest.param({"strain": "exhibition", "sex": "female"}, id="strain-and-sex"),
        pytest.param({"weaning": True, "adult_mass_g": 110.0, "on": "2027-05-09"}, id="more-told"),
    ],
)
def test_answered_with_care(api, built_in_species, changed):
    body = {key: value for key, value in told(**changed).items() if value is not ...}
    response = api.post(URL, body, format="json")
    assert response.status_code == 200, response.content
    assert b"NaN" not in response.content
    assert len(json.loads(response.content)["points"]) == len(body["weighings"])


@pytest.mark.parametrize("grams", [GRAMS, GRAMS[:1], (51.0, *GRAMS[1:])], ids=["many", "one", "slip"])
def test_the_chart_is_a_picture(api, built_in_species, grams):
    response = api.post(f"{URL}.svg", told(weighings=weighings(grams)), format="json")
    assert response.status_code == 200
    assert response["Content-Type"].startswith("image/svg+xml")
    assert ET.fromstring(response.content).tag == "{http://www.w3.org/2000/svg}svg"
    assert b"weight in g" in response.content
    again = api.post(f"{URL}.svg", told(weighings=weighings(grams)), format="json")
    assert again.content == response.content


def test_a_fault_of_the_chart_is_a_problem(api, built_in_species):
    response = api.post(f"{URL}.svg", told(weighings=[]), format="json")
    assert response.status_code == 422
    assert response["Content-Type"] == "application/problem+json"


def test_a_species_growth_is_drawn(api, built_in_species):
    response = api.get("/api/v1/species/tyto-alba/growth-curve.svg")
    assert response.status_code == 200
    assert response["Content-Type"].startswith("image/svg+xml")
    assert ET.fromstring(response.content).tag == "{http://www.w3.org/2000/svg}svg"
    again = api.get("/api/v1/species/tyto-alba/growth-curve.svg", HTTP_IF_NONE_MATCH=response["ETag"])
    assert again.status_code == 304
