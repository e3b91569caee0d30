"""What is wrong is refused with its place, and leaves no row of any table changed."""

import json
from uuid import uuid4

import pytest

from tests.api.birds.conftest import match, refused
from tests.api.birds.kinds import KINDS
from tests.database import every_value

pytestmark = pytest.mark.django_db

WEIGHINGS, FEEDS, CROP_CHECKS, MILESTONES = (kind.address for kind in KINDS)
BIRDS = "/api/v1/birds"
WRITTEN = {kind.address: {**kind.whole, **kind.least} for kind in KINDS}
LEAST = {kind.address: kind.least for kind in KINDS} | {BIRDS: {"name": "Pip", "species": "columba-livia"}}
GARDEN_WARBLER = {
    "scientific_name": "Sylvia borin",
    "order": "Passeriformes",
    "adult_mass_g": 18.5,
    "developmental_mode": "altricial",
}

#: Of what every record of a bird has: (body, status, code, pointer).
ALIKE = [
    ({"id": "pip"}, 400, "malformed", "/id"),
    ({"id": 7}, 400, "wrong_type", "/id"),
    ({"id": None}, 400, "null", "/id"),
    ({"bird_id": ...}, 400, "required", "/bird_id"),
    ({"bird_id": None}, 400, "null", "/bird_id"),
    ({"bird_id": ["0196a1f0-5c3b-7e21-9d4a-3f6f0c2b8e17"]}, 400, "wrong_type", "/bird_id"),
    ({"bird_id": "0196a1f05c3b7e219d4a3f6f0c2b8e17"}, 400, "malformed", "/bird_id"),
    ({"bird_id": str(uuid4())}, 422, "unknown_bird", "/bird_id"),
    ({"note": None}, 400, "null", "/note"),
    ({"note": 7}, 400, "wrong_type", "/note"),
    ({"note": "a\u0000b"}, 422, "control_character", "/note"),
    ({"note": "x" * 2001}, 422, "max_length", "/note"),
    ({"version": 3}, 400, "unknown_field", "/version"),
    ({"recorded_at": "2027-05-02T05:00:00Z"}, 400, "unknown_field", "/recorded_at"),
    ({"network_id": str(uuid4())}, 400, "unknown_field", "/network_id"),
]
#: Of the instant of each: (value, status, code).
INSTANTS = [
    (None, 400, "null"),
    (..., 400, "required"),
    (1777698000, 400, "wrong_type"),
    ("now", 400, "malformed"),
    ("2027-05-02T05:00:00", 400, "offset_missing"),
    ("2027-02-30T05:00:00Z", 422, "impossible_date"),
    ("1899-12-31T23:00:00Z", 422, "date_out_of_range"),
    ("2300-01-01T00:00:00Z", 422, "date_out_of_range"),
    ("2027-05-02T05:05:01Z", 422, "in_the_future"),
    ("2027-05-03T04:00:00Z", 422, "in_the_future"),
    ("2027-04-19T22:59:59Z", 422, "before_hatching"),
    ("1987-05-02T05:00:00Z", 422, "before_hatching"),
]
#: A number of each kind of column: (value, status, code).
NUMBERS = [
    ("36.2", 400, "wrong_type"),
    (True, 400, "wrong_type"),
    ([36.2], 400, "wrong_type"),
    ({"value": 36.2}, 400, "wrong_type"),
    (10**400, 422, "max_value"),
    (1e308, 422, "max_value"),
    (-1e308, 422, "BELOW"),
    (36.1234, 422, "too_precise"),
    (1e-300, 422, "too_precise"),
]
OWN = [
    (WEIGHINGS, {"mass_g": ...}, 400, "required", "/mass_g"),
    (WEIGHINGS, {"mass_g": None}, 400, "null", "/mass_g"),
    (WEIGHINGS, {"mass_g": 0}, 422, "greater_than", "/mass_g"),
    (WEIGHINGS, {"mass_g": -36.2}, 422, "greater_than", "/mass_g"),
    (WEIGHINGS, {"mass_g": 200_001}, 422, "max_value", "/mass_g"),
    (WEIGHINGS, {"mass_gr": 36.2}, 400, "unknown_field", "/mass_gr"),
    (WEIGHINGS, {"context": "morning"}, 400, "invalid_choice", "/context"),
    (WEIGHINGS, {"context": None}, 400, "null", "/context"),
    (WEIGHINGS, {"scale_step_g": 0}, 422, "greater_than", "/scale_step_g"),
    (WEIGHINGS, {"scale_step_g": 0.0005}, 422, "too_precise", "/scale_step_g"),
    (WEIGHINGS, {"question": {"expected_g": 36}}, 400, "unknown_field", "/question"),
    (FEEDS, {"volume_ml": ...}, 422, "nothing_given", "/volume_ml"),
    (FEEDS, {"volume_ml": -0.1}, 422, "min_value", "/volume_ml"),
    (FEEDS, {"volume_ml": 2000.5}, 422, "max_value", "/volume_ml"),
    (FEEDS, {"mass_g": -1}, 422, "min_value", "/mass_g"),
    (FEEDS, {"dry_matter_fraction": 25}, 422, "max_value", "/dry_matter_fraction"),
    (FEEDS, {"dry_matter_fraction": 0}, 422, "greater_than", "/dry_matter_fraction"),
    (FEEDS, {"temperature_c": 104}, 422, "max_value", "/temperature_c"),
    (FEEDS, {"temperature_c": 39.455}, 422, "too_precise", "/temperature_c"),
    (FEEDS, {"count": 12}, 422, "until_missing", "/until"),
    (FEEDS, {"count": 0}, 422, "min_value", "/count"),
    (FEEDS, {"count": 2.5}, 400, "wrong_type", "/count"),
    (FEEDS, {"count": 1e300}, 422, "too_large", "/count"),
    (FEEDS, {"count": 12, "until": "2027-05-02T04:49:00Z"}, 422, "until_before_at", "/until"),
    (FEEDS, {"count": 12, "until": "2027-05-02T05:06:00Z"}, 422, "in_the_future", "/until"),
    (FEEDS, {"purpose": "snack"}, 400, "invalid_choice", "/purpose"),
    (FEEDS, {"method": "bottle"}, 400, "invalid_choice", "/method"),
    (FEEDS, {"response": "happy"}, 400, "invalid_choice", "/response"),
    (FEEDS, {"food": ""}, 422, "blank", "/food"),
    (FEEDS, {"food": "x" * 81}, 422, "max_length", "/food"),
    (CROP_CHECKS, {"crop": ...}, 400, "required", "/crop"),
    (CROP_CHECKS, {"crop": "fullish"}, 400, "invalid_choice", "/crop"),
    (CROP_CHECKS, {"crop_content": "worms"}, 400, "invalid_choice", "/crop_content"),
    (CROP_CHECKS, {"crop_wall": 1}, 400, "wrong_type", "/crop_wall"),
    (CROP_CHECKS, {"last_feed_at": "2027-05-02T04:51:00Z"}, 422, "later_than_record", "/last_feed_at"),
    (CROP_CHECKS, {"last_feed_at": "2027-04-01T04:51:00Z"}, 422, "before_hatching", "/last_feed_at"),
    (MILESTONES, {"key": "eyes_opn"}, 400, "invalid_choice", "/key"),
    (MILESTONES, {"key": ...}, 400, "required", "/key"),
    (MILESTONES, {"seen": "yes"}, 400, "wrong_type", "/seen"),
    (MILESTONES, {"seen": 1}, 400, "wrong_type", "/seen"),
    (MILESTONES, {"last_absent_at": "2027-05-02T04:51:00Z"}, 422, "later_than_record", "/last_absent_at"),
]
OF_BIRDS = [
    ({"name": ...}, 400, "required", "/name"),
    ({"name": ""}, 422, "blank", "/name"),
    ({"name": "x" * 101}, 422, "max_length", "/name"),
    ({"name": ["Pip"]}, 400, "wrong_type", "/name"),
    ({"site_id": ...}, 400, "required", "/site_id"),
    ({"site_id": str(uuid4())}, 422, "unknown_site", "/site_id"),
    ({"species": "columba-livea"}, 422, "unknown_species", "/species"),
    ({"species": "Columba livia\u0085"}, 422, "control_character", "/species"),
    ({"species": ...}, 422, "species_missing", "/species"),
    ({"species": None}, 400, "null", "/species"),
    ({"unlisted_species": GARDEN_WARBLER}, 422, "one_of_two", "/unlisted_species"),
    (
        {"species": ..., "unlisted_species": GARDEN_WARBLER | {"adult_mass_g": 0}},
        422,
        "min_value",
        "/unlisted_species/adult_mass_g",
    ),
    ({"species": ..., "unlisted_species": {}}, 400, "required", "/unlisted_species/order"),
    ({"species_certainty": "sure"}, 400, "invalid_choice", "/species_certainty"),
    ({"mark": {}}, 400, "required", "/mark/kind"),
    ({"mark": "blue ring"}, 400, "invalid", "/mark"),
    ({"mark": {"color": "blue"}}, 400, "unknown_field", "/mark/color"),
    ({"adult_mass_g": 30_000}, 422, "adult_mass_disagrees", "/adult_mass_g"),
    ({"adult_mass_g": 0}, 422, "greater_than", "/adult_mass_g"),
    ({"hatched_on": "2027-05-03"}, 422, "hatched_in_the_future", "/hatched_on"),
    ({"hatched_on": "1899-05-01"}, 422, "date_out_of_range", "/hatched_on"),
    ({"hatched_on": "2027-05-02T05:00:00Z"}, 400, "malformed", "/hatched_on"),
    ({"hatched_at": "2027-05-02T05:06:00Z"}, 422, "hatched_in_the_future", "/hatched_at"),
    ({"hatched_on": "2027-04-20", "hatched_at": "2027-04-20T05:00:00Z"}, 422, "one_of_two", "/age_estimate"),
    ({"age_estimate": {"days": 9}}, 400, "required", "/age_estimate/on"),
    ({"age_estimate": {"on": "2027-05-03", "days": 9}}, 422, "in_the_future", "/age_estimate/on"),
    ({"age_estimate": {"on": "2027-05-01", "days": -1}}, 422, "min_value", "/age_estimate/days"),
    ({"age_estimate": {"on": "2027-05-01", "days": 1001}}, 422, "max_value", "/age_estimate/days"),
    ({"intake": {"at": "2027-05-02T05:06:00Z"}}, 422, "in_the_future", "/intake/at"),
    ({"intake": {"at": None}}, 400, "null", "/intake/at"),
    ({"intake": {"reason": "x" * 201}}, 422, "max_length", "/intake/reason"),
    ({"intake": {"by": "Ana"}}, 400, "unknown_field", "/intake/by"),
    ({"brood_size": 0}, 422, "min_value", "/brood_size"),
    ({"brood_size": 1.5}, 400, "wrong_type", "/brood_size"),
    ({"formula_key": "nobodys-powder"}, 422, "unknown_formula", "/formula_key"),
    ({"formula_key": ""}, 422, "blank", "/formula_key"),
    ({"isolation": True}, 400, "wrong_type", "/isolation"),
    ({"outcome": {"kind": "died"}}, 400, "unknown_field", "/outcome"),
    ({"note": "x" * 2001}, 422, "max_length", "/note"),
]

#: What is wrong in a correction too: nothing is missing there, and a null takes back what need not be told.
CORRECTIONS = [
    *(row for row in OWN if ... not in row[1].values()),
    *(
        (kind.address, {kind.instant: value}, status, code, f"/{kind.instant}")
        for kind in KINDS
        for value, status, code in INSTANTS
        if value is not ...
    ),
    *((kind.address, {"id": str(uuid4())}, 400, "unknown_field", "/id") for kind in KINDS),
]
#: Of two species the one that is told anew stands; a site is not corrected, but moved to.
CORRECTIONS_OF_BIRDS = [
    *(
        row
        for row in OF_BIRDS
        if ... not in row[0].values() and not row[0].keys() & {"site_id", "unlisted_species"} and row[3] != "/species"
    ),
    ({"species": "columba-livea"}, 422, "unknown_species", "/species"),
    ({"species": None}, 422, "species_missing", "/species"),
    ({"species": "columba-livia", "unlisted_species": GARDEN_WARBLER}, 422, "one_of_two", "/unlisted_species"),
    ({"site_id": str(uuid4())}, 400, "unknown_field", "/site_id"),
]


def complete(address, bird, told):
    where = {"site_id": str(bird.site.uid)} if address == BIRDS else {"bird_id": str(bird.uid)}
    body = {"id": str(uuid4()), **where, **LEAST[address], **told}
    return {name: value for name, value in body.items() if value is not ...}


def refuse(api, caller, address, body, status, code, pointer):
    before = every_value()
    refused(api.post(address, body, **caller), status, code, pointer)
    batch = api.post(f"{address}/batch", {"items": [body]}, **caller)
    refused(batch, status, code, f"/items/0{pointer}")
    assert every_value() == before


@pytest.mark.parametrize("kind", KINDS, ids=str)
@pytest.mark.parametrize(("told", "status", "code", "pointer"), ALIKE)
def test_what_every_record_has(api, caller, bird, kind, told, status, code, pointer):
    refuse(api, caller, kind.address, complete(kind.address, bird, told), status, code, pointer)


@pytest.mark.parametrize("kind", KINDS, ids=str)
@pytest.mark.parametrize(("value", "status", "code"), INSTANTS)
def test_instants(api, caller, bird, kind, value, status, code):
    body = complete(kind.address, bird, {kind.instant: value})
    refuse(api, caller, kind.address, body, status, code, f"/{kind.instant}")


@pytest.mark.parametrize(("address", "name"), [(WEIGHINGS, "mass_g"), (FEEDS, "volume_ml"), (FEEDS, "temperature_c")])
@pytest.mark.parametrize(("value", "status", "code"), NUMBERS)
def test_numbers(api, caller, bird, address, name, value, status, code):
    code = ("greater_than" if name == "mass_g" else "min_value") if code == "BELOW" else code
    code = "not_a_number" if value == 10**400 else code  # beyond any double
    status = 400 if code == "not_a_number" else status
    refuse(api, caller, address, complete(address, bird, {name: value}), status, code, f"/{name}")


@pytest.mark.parametrize(("address", "told", "status", "code", "pointer"), OWN)
def test_what_one_kind_has(api, caller, bird, address, told, status, code, pointer):
    refuse(api, caller, address, complete(address, bird, told), status, code, pointer)


@pytest.mark.parametrize(("told", "status", "code", "pointer"), OF_BIRDS)
def test_birds(api, caller, bird, told, status, code, pointer):
    refuse(api, caller, BIRDS, complete(BIRDS, bird, told), status, code, pointer)


@pytest.mark.parametrize(("told", "status", "code", "pointer"), CORRECTIONS_OF_BIRDS)
def test_corrections_of_birds(api, caller, bird, told, status, code, pointer):
    before = every_value()
    refused(api.patch(f"{BIRDS}/{bird.uid}", told, **caller, **match(1)), status, code, pointer)
    assert every_value() == before


@pytest.mark.parametrize(("address", "told", "status", "code", "pointer"), CORRECTIONS)
def test_corrections_of_records(api, caller, bird, address, told, status, code, pointer):
    record = api.post(address, complete(address, bird, {}), **caller).json()
    before = every_value()
    refused(api.patch(f"{address}/{record['id']}", told, **caller, **match(1)), status, code, pointer)
    assert every_value() == before


@pytest.mark.parametrize("address", [WEIGHINGS, FEEDS, CROP_CHECKS, MILESTONES, BIRDS])
@pytest.mark.parametrize(
    ("raw", "status", "code", "pointer"),
    [
        (b"[]", 400, "not_an_object", ""),
        (b"{", 400, "malformed", ""),
        (b'{"note": NaN}', 400, "not_a_number", "/note"),
        (b'{"note": Infinity}', 400, "not_a_number", "/note"),
        (b'{"note": 1e999}', 400, "not_a_number", "/note"),
        (b'{"note": "\\ud800"}', 400, "malformed", "/note"),
        (b'{"note": "a", "note": "b"}', 400, "duplicate_field", "/note"),
        (b'{"note": "\xff"}', 400, "not_utf_8", ""),
        (b'{"note": ' + b"[" * 100 + b"]" * 100 + b"}", 400, "too_deep", "/note" + "/0" * 19),
    ],
)
def test_bodies_that_cannot_be_read(api, caller, bird, address, raw, status, code, pointer):
    before = every_value()
    for where in (address, f"{address}/batch"):
        answer = api.generic("POST", where, raw, content_type="application/json", **caller)
        refused(answer, status, code, pointer)
    assert every_value() == before


def test_a_feed_cannot_be_corrected_to_say_nothing(api, caller, bird):
    feed = api.post(FEEDS, complete(FEEDS, bird, {}), **caller).json()
    answer = api.patch(f"{FEEDS}/{feed['id']}", {"volume_ml": None}, **caller, **match(1))
    refused(answer, 422, "nothing_given", "/volume_ml")


def test_without_a_hatching_the_finder_may_have_weighed_it_but_not_years_before(api, caller, bird):
    found = api.post(BIRDS, complete(BIRDS, bird, {}), **caller).json()
    body = complete(WEIGHINGS, bird, {"bird_id": found["id"]})
    assert api.post(WEIGHINGS, body | {"at": "2027-02-02T05:00:00Z"}, **caller).status_code == 201
    refused(
        api.post(WEIGHINGS, body | {"id": str(uuid4()), "at": "2026-05-02T05:00:00Z"}, **caller),
        422,
        "long_before_intake",
        "/at",
    )


def test_a_body_of_hundreds_of_feeds_is_not_too_large(api, caller, bird):
    items = [complete(FEEDS, bird, {"note": "x" * 100}) for _ in range(500)]
    assert len(json.dumps(items)) > 100_000
    assert api.post(f"{FEEDS}/batch", {"items": items}, **caller).status_code == 201
