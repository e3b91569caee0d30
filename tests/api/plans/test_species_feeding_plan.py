"""``GET /species/{key}/feeding-plan``: the same plan by a link, and how long it may be kept."""

from datetime import timedelta

import pytest

from api.web import clock
from tests.examples import example

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "standing_clock")]

URL = "/api/v1/species/nymphicus-hollandicus/feeding-plan"
ASKED = {"age_days": "10", "mass_g": "35", "on": "2027-05-02", "time_zone": "Europe/Lisbon"}


def test_link_and_body_give_the_same_plan(api):
    by_link = api.get(URL, ASKED | {"first": "06:00", "last": "00:00"})
    by_body = api.post(
        "/api/v1/feeding-plans",
        {
            "species": "nymphicus-hollandicus",
            "age_days": 10,
            "mass_g": 35,
            "on": "2027-05-02",
            "time_zone": "Europe/Lisbon",
            "feeding_day": {"first": "06:00", "last": "00:00"},
        },
    )
    assert by_link.status_code == by_body.status_code == 200
    assert by_link.json() == by_body.json()
    example("species_feeding_plan_retrieve", "cockatiel-on-day-10", "A cockatiel of ten days", None, by_link)


def test_plan_of_a_named_day_may_be_kept_for_a_day(api):
    response = api.get(URL, ASKED)
    assert response["Cache-Control"] == "public, max-age=86400"
    again = api.get(URL, ASKED, headers={"If-None-Match": response["ETag"]})
    assert again.status_code == 304
    assert again.content == b""
    assert again["ETag"] == response["ETag"]


def test_named_day_gives_the_same_answer_tomorrow(api, standing_clock):
    today = api.get(URL, ASKED)
    with clock.standing_at(standing_clock + timedelta(days=1, hours=7)):
        tomorrow = api.get(URL, ASKED)
    assert today["Cache-Control"].startswith("public")
    assert (today.content, today["ETag"]) == (tomorrow.content, tomorrow["ETag"])


def test_plan_of_today_is_asked_for_again(api, standing_clock):
    asked = {name: value for name, value in ASKED.items() if name != "on"}
    today = api.get(URL, asked)
    assert today["Cache-Control"] == "no-cache"
    with clock.standing_at(standing_clock + timedelta(days=1)):
        tomorrow = api.get(URL, asked, headers={"If-None-Match": today["ETag"]})
    assert tomorrow.status_code == 200
    assert tomorrow.json()["on"] == "2027-05-03"


def test_answer_that_counts_from_now_is_not_kept(api):
    # A parrot of two hours waits for its yolk: `look_again_at` is an hour of today.
    response = api.get(URL, {"age_days": "0.08", "on": "2027-05-02"})
    assert response.json()["look_again_at"] is not None
    assert response["Cache-Control"] == "no-cache"


def test_head_is_the_answer_without_its_body(api):
    asked, head = api.get(URL, ASKED), api.head(URL, ASKED)
    assert head.status_code == 200
    assert head.content == b""
    assert head["ETag"] == asked["ETag"]


def test_options_tell_the_methods(api):
    response = api.options(URL)
    assert response.status_code == 204
    assert set(response["Allow"].split(", ")) == {"GET", "HEAD", "OPTIONS"}


def test_unknown_species_is_404_with_near_names(api):
    response = api.get("/api/v1/species/nymphicus-holandicus/feeding-plan", ASKED)
    assert response.status_code == 404
    assert "nymphicus-hollandicus" in response.json()["detail"]
    assert "nymphicus-hollandicus" in response.json()["near"]


def test_renamed_species_leads_on_with_its_question(api):
    from species.models import FormerKey, SpeciesProfile

    FormerKey.objects.create(
        key="psittacus-hollandicus", profile=SpeciesProfile.objects.get(key="nymphicus-hollandicus")
    )
    response = api.get("/api/v1/species/psittacus-hollandicus/feeding-plan", ASKED)
    assert response.status_code == 308
    assert response["Location"].startswith(f"{URL}?age_days=10")


REFUSED = {
    "age -1": ({"age_days": "-1"}, 422, "?age_days", "min_value"),
    "an age in words": ({"age_days": "ten"}, 400, "?age_days", "wrong_type"),
    "NaN": ({"mass_g": "NaN"}, 400, "?mass_g", "wrong_type"),
    "mass 0": ({"mass_g": "0"}, 422, "?mass_g", "greater_than"),
    "mass twice": ({"mass_g": ["35", "36"]}, 400, "?mass_g", "repeated_parameter"),
    "unknown parameter": ({"mass": "35"}, 400, "?mass", "unknown_parameter"),
    "unknown formula": ({"formula_key": "dust"}, 422, "?formula_key", "unknown_formula"),
    "half a feeding day": ({"first": "06:30"}, 400, "?last", "required"),
    "zone without clock changes": ({"time_zone": "MST"}, 422, "?time_zone", "time_zone_without_rules"),
    "hatched tomorrow": ({"age_days": None, "hatched_on": "2027-05-03"}, 422, "?hatched_on", "hatched_in_the_future"),
    "no age": ({"age_days": None, "mass_g": None}, 400, "?age_days", "required"),
    "a day without length": ({"first": "06:30", "last": "06:30"}, 422, "?last", "no_feeding_day"),
}


@pytest.mark.parametrize(("change", "status", "pointer", "code"), REFUSED.values(), ids=REFUSED.keys())
def test_bad_parameters_are_refused_by_name(api, change, status, pointer, code):
    asked = {name: value for name, value in (ASKED | change).items() if value is not None}
    response = api.get(URL, asked)
    problem = response.json()
    assert response.status_code == status, problem
    assert (pointer, code) in [(fault["pointer"], fault["code"]) for fault in problem["errors"]]
