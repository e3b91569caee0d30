"""``POST /feeding-plans``: the shape of the contract, what it keeps to itself, and how it refuses."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.web import clock
from tests.examples import example

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "standing_clock")]

URL = "/api/v1/feeding-plans"
PIGEON = {
    "species": "columba-livia",
    "age_days": 9,
    "mass_g": 118.0,
    "on": "2027-05-02",
    "time_zone": "Europe/Lisbon",
    "feeding_day": {"first": "06:30", "last": "20:30"},
    "formula": {
        "dry_matter_fraction": 0.92,
        "energy_kj_per_g_dm": 16.9,
        "bulk_density_g_per_ml": 0.55,
        "composition": {
            "water": 0.08,
            "protein": 0.20,
            "fat": 0.10,
            "carbohydrate": 0.55,
            "fibre": 0.03,
            "ash": 0.04,
        },
    },
    "condition": {"body": "warm", "hydration": "normal", "crop": "empty"},
    "given": {"dry_matter_fraction": 0.25, "temperature_c": 39.5, "volume_ml": 9.0, "feeds_per_day": 5},
}

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


# --- what is refused, how, and with what would do: (body, status, pointer, code, words)

REFUSED = {
    "unknown species": ({"species": "columba-livea"}, 422, "/species", "unknown_species", "columba-livia"),
    "species by its English name": (
        {"species": "Mourning dove"},
        422,
        "/species",
        "unknown_species",
        "zenaida-macroura",
    ),
    "mass 0": ({"mass_g": 0}, 422, "/mass_g", "greater_than", "greater than 0"),
    "negative mass": ({"mass_g": -118}, 422, "/mass_g", "greater_than", "greater than 0"),
    "mass of an elephant": ({"mass_g": 4_000_000}, 422, "/mass_g", "max_value", "200000"),
    "age -1": ({"age_days": -1}, 422, "/age_days", "min_value", "at least 0"),
    "age of a century": ({"age_days": 36_500}, 422, "/age_days", "max_value", "1000"),
    "hatched tomorrow": (
        {"age_days": ..., "hatched_on": "2027-05-03"},
        422,
        "/hatched_on",
        "hatched_in_the_future",
        "year",
    ),
    "hatched in an hour": (
        {"age_days": ..., "hatched_at": "2027-05-02T06:01:00Z"},
        422,
        "/hatched_at",
        "hatched_in_the_future",
        "year",
    ),
    "hatched long ago": ({"age_days": ..., "hatched_on": "1999-05-03"}, 422, "/hatched_on", "too_old", "year"),
    "two ages": ({"hatched_on": "2027-04-01"}, 422, "/hatched_on", "ages_disagree", "agree within a day"),
    "no age at all": ({"age_days": ..., "mass_g": ...}, 400, "/age_days", "required", "hatched_on"),
    "no species": ({"species": ...}, 400, "/species", "required", "unlisted_species"),
    "two species": (
        {
            "unlisted_species": {
                "scientific_name": "Columba palumbus",
                "order": "Columbiformes",
                "adult_mass_g": 490,
                "developmental_mode": "altricial",
            }
        },
        422,
        "/unlisted_species",
        "one_of_two",
        "not both",
    ),
    "unlisted without order": (
        {
            "species": ...,
            "unlisted_species": {
                "scientific_name": "Columba palumbus",
                "adult_mass_g": 490,
                "developmental_mode": "altricial",
            },
        },
        400,
        "/unlisted_species/order",
        "required",
        "required",
    ),
    "unlisted elephant": (
        {
            "species": ...,
            "unlisted_species": {
                "scientific_name": "Loxodonta africana",
                "order": "Proboscidea",
                "adult_mass_g": 6_000_000,
                "developmental_mode": "precocial",
            },
        },
        422,
        "/unlisted_species/adult_mass_g",
        "max_value",
        "200000",
    ),
    "unknown field": ({"mass_gr": 118}, 400, "/mass_gr", "unknown_field", "mass_g"),
    "unknown field within": (
        {"condition": {"hydratation": "mild"}},
        400,
        "/condition/hydratation",
        "unknown_field",
        "hydration",
    ),
    "true for a number": ({"mass_g": True}, 400, "/mass_g", "wrong_type", "A number is needed, not true"),
    "text for a number": ({"mass_g": "118.0"}, 400, "/mass_g", "wrong_type", "not text"),
    "a list for a number": ({"age_days": [9]}, 400, "/age_days", "wrong_type", "not a list"),
    "null for a number": ({"mass_g": None}, 400, "/mass_g", "null", "null"),
    "a number for text": ({"species": 7}, 400, "/species", "wrong_type", "not a number"),
    "half a feed": ({"given": {"feeds_per_day": 4.5}}, 400, "/given/feeds_per_day", "wrong_type", "whole number"),
    "an unknown word": ({"condition": {"body": "warmish"}}, 400, "/condition/body", "invalid_choice", "warm"),
    "an unknown sign": ({"condition": {"signs": ["oild"]}}, 400, "/condition/signs/0", "invalid_choice", "oiled"),
    "an unknown milestone": (
        {"milestones": [{"key": "eyes_opn"}]},
        400,
        "/milestones/0/key",
        "invalid_choice",
        "eyes_open",
    ),
    "dried to death": (
        {"condition": {"dehydration_fraction": 0.5}},
        422,
        "/condition/dehydration_fraction",
        "max_value",
        "0.15",
    ),
    "per cent for a fraction": (
        {"given": {"dry_matter_fraction": 25}},
        422,
        "/given/dry_matter_fraction",
        "max_value",
        "at most 1",
    ),
    "a mix hotter than water": ({"given": {"temperature_c": 180}}, 422, "/given/temperature_c", "max_value", "100"),
    "fed in the future": (
        {"condition": {"last_feed": {"at": "2027-05-02T12:00:00+01:00"}}},
        422,
        "/condition/last_feed/at",
        "in_the_future",
        "offset",
    ),
    "fed without an offset": (
        {"condition": {"last_feed": {"at": "2027-05-02T05:00:00"}}},
        400,
        "/condition/last_feed/at",
        "offset_missing",
        "offset",
    ),
    "composition of 130 per cent": (
        {"formula": {"composition": PIGEON["formula"]["composition"] | {"protein": 0.5}}},
        422,
        "/formula/composition",
        "composition_sum",
        "add up to 1",
    ),
    "composition without fat": (
        {"formula": {"composition": {k: v for k, v in PIGEON["formula"]["composition"].items() if k != "fat"}}},
        400,
        "/formula/composition/fat",
        "required",
        "required",
    ),
    "powder of which nothing is known": (
        {"formula": {}},
        422,
        "/formula/dry_matter_fraction",
        "dry_matter_missing",
        "composition",
    ),
    "unknown formula": (
        {"formula": ..., "formula_key": "dust"},
        422,
        "/formula_key",
        "unknown_formula",
        "parrot-rearing-powder",
    ),
    "two formulas": ({"formula_key": "parrot-rearing-powder"}, 422, "/formula_key", "one_of_two", "not both"),
    "a zone without clock changes": ({"time_zone": "EST"}, 422, "/time_zone", "time_zone_without_rules", "New_York"),
    "a fixed offset": ({"time_zone": "Etc/GMT+5"}, 422, "/time_zone", "time_zone_without_rules", "Europe/Lisbon"),
    "an offset for a zone": ({"time_zone": "+01:00"}, 422, "/time_zone", "time_zone_without_rules", "Europe/Lisbon"),
    "a zone that is nowhere": ({"time_zone": "Europe/Lisboa"}, 422, "/time_zone", "unknown_time_zone", "Europe/Lisbon"),
    "half a feeding day": ({"feeding_day": {"first": "06:30"}}, 400, "/feeding_day/last", "required", "required"),
    "a feeding day without length": (
        {"feeding_day": {"first": "06:30", "last": "06:30"}},
        422,
        "/feeding_day/last",
        "no_feeding_day",
        "next day",
    ),
    "midnight as 24:00": (
        {"feeding_day": {"first": "06:30", "last": "24:00"}},
        422,
        "/feeding_day/last",
        "impossible_time",
        "23:59",
    ),
    "a day that is not": ({"on": "2027-02-30"}, 422, "/on", "impossible_date", "calendar"),
    "a date in the American manner": ({"on": "05/02/2027"}, 400, "/on", "malformed", "2027-05-02"),
    "seen and not seen": (
        {"milestones": [{"key": "stands"}, {"key": "stands", "seen": False}]},
        422,
        "/milestones/1",
        "milestones_disagree",
        "once",
    ),
    "text where an object belongs": ({"condition": "fine"}, 400, "/condition", "invalid", "object"),
    "a control character": ({"strain": "wild\u0007type"}, 422, "/strain", "control_character", "leave it out"),
}


@pytest.mark.parametrize(("change", "status", "pointer", "code", "says"), REFUSED.values(), ids=REFUSED.keys())
def test_bad_input_is_refused_where_it_stands_with_what_would_do(api, change, status, pointer, code, says):
    body = {name: value for name, value in (PIGEON | change).items() if value is not ...}
    response = api.post(URL, body)
    problem = response.json()
    assert response.status_code == status, problem
    assert response["Content-Type"] == "application/problem+json"
    fault = next((f for f in problem["errors"] if f["pointer"] == pointer), None)
    assert fault is not None, problem
    assert fault["code"] == code
    assert says in fault["detail"]


RAW = {
    "NaN": (b'{"species": "columba-livia", "mass_g": NaN}', 400, "/mass_g"),
    "an infinity": (b'{"species": "columba-livia", "mass_g": -Infinity}', 400, "/mass_g"),
    "1e999": (b'{"species": "columba-livia", "mass_g": 1e999}', 400, "/mass_g"),
    "a duplicate field": (b'{"species": "columba-livia", "mass_g": 1, "mass_g": 118}', 400, "/mass_g"),
    "a duplicate within": (b'{"condition": {"body": "cold", "body": "warm"}}', 400, "/condition/body"),
    "half an object": (b'{"species": "columba-livia"', 400, ""),
    "a list": (b'["columba-livia"]', 400, ""),
    "nothing": (b"", 400, "/species"),
    "bytes that are no UTF-8": (b'{"species": "\xff"}', 400, ""),
    "no end of brackets": (b'{"a":' * 5000 + b"1" + b"}" * 5000, 400, ""),
}


@pytest.mark.parametrize(("raw", "status", "pointer"), RAW.values(), ids=RAW.keys())
def test_json_is_read_strictly(api, raw, status, pointer):
    response = api.generic("POST", URL, raw, content_type="application/json")
    problem = response.json()
    assert response.status_code == status, problem
    assert pointer in [fault["pointer"] for fault in problem["errors"]]
    assert problem["detail"]


def test_ten_megabytes_are_too_much(api):
    response = api.generic("POST", URL, b'{"strain": "' + b"x" * 10_000_000 + b'"}', content_type="application/json")
    assert response.status_code == 413
    assert "bytes" in response.json()["detail"]


@pytest.mark.parametrize("content_type", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_other_media_types_are_not_read(api, content_type):
    response = api.generic("POST", URL, json.dumps(PIGEON).encode(), content_type=content_type)
    assert response.status_code == 415
    assert "application/json" in response.json()["detail"]


def test_a_query_string_is_no_place_for_a_bird(api):
    response = api.post(f"{URL}?mass_g=118", PIGEON)
    assert response.status_code == 400
    assert response.json()["errors"][0]["pointer"] == "?mass_g"


def test_trailing_slash_is_another_address_and_the_hint_names_the_right_one(api):
    response = api.post(f"{URL}/", PIGEON)
    assert response.status_code == 404
    assert URL in response.json()["detail"]


@pytest.mark.parametrize("method", ["get", "put", "patch", "delete"])
def test_other_methods_are_refused_with_the_one_that_would_do(api, method):
    response = getattr(api, method)(URL)
    assert response.status_code == 405
    assert "POST" in response["Allow"]
    assert response["Content-Type"] == "application/problem+json"


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
