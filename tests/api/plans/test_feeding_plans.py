"""``POST /feeding-plans``: the shape of the contract, and what it keeps to itself."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.web import clock
from tests.api.plans.asked import PIGEON, URL
from tests.examples import example

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "standing_clock")]

# The fields of the contract, copied from design page 3: names fixed, more may be added.
SHAPE = {
    "decision": None,
    "look_again_at": None,
    "vet": {"needed", "within_h", "reasons"},
    "species": {"key", "scientific_name", "vernacular_name", "evidence"},
    "on": None,
    "time_zone": None,
    "age": {"days", "basis", "low_days", "high_days"},
    "mass": {"value_g", "basis", "expected_g", "low_g", "high_g", "centile"},
    "stage": {"key", "name"},
    "energy": {"need_kj_per_day", "low_kj_per_day", "high_kj_per_day", "planned_kj_per_day"},
    "feed": {
        "portion",
        "provisional",
        "volume_ml",
        "low_ml",
        "high_ml",
        "mass_g",
        "low_g",
        "high_g",
        "percent_of_mass",
        "feeds_per_day",
        "interval_min",
        "interval_low_min",
        "interval_high_min",
        "night_feeds",
        "max_wait_min",
        "daily_ml",
        "daily_g",
        "stop_when",
        "methods",
        "method_details",
        "syringe_ml",
        "items",
        "supplements",
    },
    "formula": {
        "dry_matter_fraction",
        "low_fraction",
        "high_fraction",
        "energy_kj_per_ml",
        "powder_g_per_feed",
        "water_ml_per_feed",
        "consistency",
    },
    "temperature": {"target_c", "low_c", "high_c", "never_above_c"},
    "brooder": {"target_c", "low_c", "high_c", "humidity_low_fraction", "humidity_high_fraction"},
    "timetable": None,
    "expected_gain": {"next_day_g", "low_g", "high_g"},
    "weaning": {"phase", "earliest_day", "usual_day", "drop_feed", "criteria"},
    "release": {"criteria"},
    "checks": None,
    "first_steps": None,
    "cautions": None,
    "basis": None,
    "computed_by": {"revision", "build"},
}


def without(*names: str, **other: object) -> dict:
    return {name: value for name, value in (PIGEON | other).items() if name not in names}


def test_every_field_of_the_contract_is_there(api):
    response = api.post(URL, PIGEON)
    plan = response.json()
    assert response.status_code == 200
    assert plan.keys() >= SHAPE.keys()
    for name, inner in SHAPE.items():
        if inner is not None and plan[name] is not None:
            assert plan[name].keys() >= inner, name
    assert plan["species"]["key"] == "columba-livia"
    assert plan["time_zone"] == "Europe/Lisbon"
    assert plan["on"] == "2027-05-02"
    assert plan["age"]["days"] == 9.0
    assert plan["mass"]["value_g"] == 118.0
    assert plan["computed_by"] == {"revision": 1, "build": "0.1.0"}
    for entry in plan["basis"]:
        assert entry.keys() == {"field", "rule", "inputs", "value", "sources"}
    for caution in plan["cautions"]:
        assert caution.keys() >= {"code", "severity", "act_within_h", "text", "sources"}
    example(
        "feeding_plans_create", "pigeon-on-day-9", "A feral pigeon of nine days, warm, crop empty", PIGEON, response
    )


def test_timetable_is_in_the_carers_zone_within_the_feeding_day(api):
    plan = api.post(URL, PIGEON).json()
    times = plan["timetable"]
    assert len(times) == plan["feed"]["feeds_per_day"]
    assert times[0] == "2027-05-02T06:30:00+01:00"  # Lisbon's summer is an hour ahead of UTC
    assert all(time <= "2027-05-02T20:30:00+01:00" for time in times)


def test_what_is_left_out_is_filled_in_and_said(api):
    plan = api.post(URL, {"species": "columba-livia", "age_days": 9, "mass_g": 118}).json()
    assert plan["time_zone"] == "Etc/UTC"
    assert plan["on"] == "2027-05-02"  # the standing clock's day
    assert plan["formula"]["dry_matter_fraction"] > 0


def test_an_empty_object_is_no_plan_and_names_all_that_is_missing(api):
    response = api.post(URL, {})
    assert response.status_code == 400
    assert {fault["pointer"] for fault in response.json()["errors"]} == {"/species", "/age_days"}


@pytest.mark.parametrize(
    ("name", "title", "told", "decision"),
    [
        (
            "cold-songbird",
            "A cold sparrow nestling: warmth before food",
            {"species": "passer-domesticus", "age_days": 5, "mass_g": 14, "condition": {"body": "cold"}},
            "warm_first",
        ),
        (
            "not-weighed",
            "A cockatiel that was not weighed",
            {"species": "nymphicus-hollandicus", "age_days": 12, "condition": {"body": "warm", "crop": "empty"}},
            "weigh_first",
        ),
        (
            "duckling",
            "A duckling feeds itself",
            {"species": "anas-platyrhynchos", "age_days": 3, "mass_g": 45},
            "self_feeding",
        ),
        (
            "unlisted-warbler",
            "A songbird without a profile and without a told diet",
            {
                "unlisted_species": {
                    "scientific_name": "Sylvia atricapilla",
                    "order": "Passeriformes",
                    "adult_mass_g": 18,
                    "developmental_mode": "altricial",
                },
                "age_days": 6,
                "mass_g": 11,
            },
            "identify_first",
        ),
    ],
)
def test_other_decisions_have_the_same_shape(api, name, title, told, decision):
    asked = told | {"on": "2027-05-02", "time_zone": "Europe/Lisbon"}
    response = api.post(URL, asked)
    plan = response.json()
    assert response.status_code == 200, plan
    assert plan["decision"] == decision
    assert plan.keys() >= SHAPE.keys()
    fed = decision in {"feed", "top_up", "weigh_first"}
    assert (plan["feed"] is not None) == fed
    assert plan["formula"] is None or fed
    assert fed or plan["timetable"] == []
    example("feeding_plans_create", name, title, asked, response)


def test_same_question_same_bytes(api):
    assert api.post(URL, PIGEON).content == api.post(URL, PIGEON).content


def test_nothing_is_stored(api):
    api.post(URL, PIGEON)  # profiles are decoded once a process
    with CaptureQueriesContext(connection) as queries:
        response = api.post(URL, PIGEON)
    assert response["Cache-Control"] == "no-store"
    assert [query["sql"] for query in queries if not query["sql"].lstrip("(").startswith("SELECT")] == []
    assert len(queries) <= 4


def test_midnight_of_the_carer_is_not_ours(api):
    # 22:30 in UTC on 1 May is already 2 May in Auckland (+12), still 1 May in Lisbon (+1): 23:30.
    late = datetime(2027, 5, 1, 22, 30, tzinfo=UTC)
    with clock.standing_at(late):
        for zone, day in (("Pacific/Auckland", "2027-05-02"), ("Europe/Lisbon", "2027-05-01")):
            plan = api.post(URL, without("on", time_zone=zone)).json()
            assert plan["on"] == day


def test_browsers_may_ask_from_anywhere_without_credentials(api):
    asked = api.options(
        URL,
        headers={
            "Origin": "https://app.example",
            "Access-Control-Request-Method": "POST",
            "Access-Control-Request-Headers": "content-type",
        },
    )
    assert asked.status_code == 200
    assert asked["Access-Control-Allow-Origin"] == "*"
    assert "content-type" in asked["Access-Control-Allow-Headers"]
    answer = api.post(URL, PIGEON, headers={"Origin": "https://app.example"})
    assert answer["Access-Control-Allow-Origin"] == "*"
    assert "Access-Control-Allow-Credentials" not in answer
    assert "RateLimit" in answer["Access-Control-Expose-Headers"]


def test_the_document_lets_through_what_the_service_takes():
    from tests import openapi

    assert openapi.request_faults(URL, "post", PIGEON) == []
    assert openapi.request_faults(URL, "post", PIGEON | {"mass_g": "118"}) != []


def test_hatching_day_is_noon_give_or_take_half_a_day(api):
    plan = api.post(URL, without("age_days", hatched_on="2027-04-23")).json()
    assert plan["age"]["days"] == pytest.approx(9, abs=0.5)
    assert plan["age"]["high_days"] - plan["age"]["low_days"] == pytest.approx(1.0)


def test_rest_of_the_day_starts_when_asked(api):
    plan = api.post(URL, PIGEON | {"from": "14:10"}).json()
    assert plan["timetable"][0] == "2027-05-02T14:10:00+01:00"


def test_last_feed_two_minutes_ahead_is_a_clock_not_a_lie(api):
    soon = (datetime(2027, 5, 2, 5, 0, tzinfo=UTC) + timedelta(minutes=2)).isoformat()
    condition = PIGEON["condition"] | {"last_feed": {"at": soon, "volume_ml": 9}}
    assert api.post(URL, PIGEON | {"condition": condition}).status_code == 200


def test_options_tell_the_methods(api):
    response = api.options(URL)
    assert response.status_code == 204
    assert set(response["Allow"].split(", ")) == {"POST", "OPTIONS"}
