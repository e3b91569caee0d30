"""``POST /feeding-plans``: how it refuses, and what would do."""

import json

import pytest

from tests.api.plans.asked import PIGEON, URL

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("built_in_species", "standing_clock")]

# What is refused, how, and with what would do: (body, status, pointer, code, words)
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
