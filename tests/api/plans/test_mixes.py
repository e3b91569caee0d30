"""``POST /mixes``: the shape of the contract, worked examples through the door, and how it refuses."""

import json
import re

import pytest

from tests.examples import example
from tests.pure.plans.mix_requests import C20_KITCHEN, FORMULA_X, POWDER_X

pytestmark = [pytest.mark.django_db]

URL = "/api/v1/mixes"
ROUND = {
    "portions": [
        {"label": "Pip", "volume_ml": 9.0, "dry_matter_fraction": 0.25, "group": "well"},
        {"label": "Moss", "volume_ml": 6.5, "count": 3, "dry_matter_fraction": 0.25, "group": "well"},
        {"label": "Rook", "volume_ml": 20.0, "dry_matter_fraction": 0.30, "group": "new arrivals"},
    ],
    "formula": FORMULA_X,
    "hot_water_c": 85.0,
    "cool_water_c": 20.0,
    "scoop_g": 4.1,
    "prepared_at": "2027-05-02T02:05:00+01:00",
}
# The fields of the contract, copied from design page 3: names fixed, more may be added.
BATCH = {"dry_matter_fraction", "group", "labels", "volume_ml", "powder_g", "water_g", "hot_water_g", "hot_water_ml",
         "cool_water_g", "cool_water_ml", "scoops", "blend_c", "final_c", "steps"}  # fmt: skip
MIX = {"batches", "minutes_above_low_c", "keep_at_most_min", "discard_by", "cautions", "basis", "computed_by"}


def ask(api, body=None, **changes):
    """Ask with the round above, or the body given, changed; ``...`` takes a field away."""
    told = {name: value for name, value in {**(body or ROUND), **changes}.items() if value is not ...}
    return api.post(URL, told, format="json", HTTP_X_REQUEST_ID="a-carer-at-night")


def test_a_round_for_two_groups(api):
    answer = ask(api)
    assert answer.status_code == 200, answer.content
    assert answer["Cache-Control"] == "no-store"
    mix = answer.json()
    assert set(mix) >= MIX
    assert all(set(batch) >= BATCH for batch in mix["batches"])
    assert [(batch["group"], batch["labels"]) for batch in mix["batches"]] == [
        ("well", ["Pip", "Moss"]),
        ("new arrivals", ["Rook"]),
    ]
    assert mix["discard_by"] == "2027-05-02T03:05:00+01:00"
    assert (mix["keep_at_most_min"], mix["computed_by"]["revision"]) == (60, None)
    assert mix["computed_by"]["build"]
    example("mixes_create", "round", "Two groups at one round, by night", ROUND, answer)


def test_c20_and_c41_through_the_door(api):
    """energetics-and-mixing.md C20: 500 g take 135.87 g powder, 140.08 g hot and 224.05 g cool water; 0.1 g."""
    body = {**C20_KITCHEN, "formula": FORMULA_X}
    (batch,) = ask(api, body).json()["batches"]
    assert batch["powder_g"] == pytest.approx(135.87, abs=0.1)
    assert batch["hot_water_g"] == pytest.approx(140.08, abs=0.1)
    assert batch["cool_water_g"] == pytest.approx(224.05, abs=0.1)
    assert batch["final_c"] == pytest.approx(40.0, abs=0.05)
    # C41: a quarter of powder as sold is 23.0 % dry matter.
    as_sold = {**body, "portions": [{"volume_ml": 100.0, "dry_matter_fraction": 0.23}]}
    (batch,) = ask(api, as_sold).json()["batches"]
    assert batch["powder_g"] / batch["mass_g"] == pytest.approx(0.25, abs=0.0005)


def test_c21_with_a_cold_vessel(api):
    body = {**C20_KITCHEN, "formula": FORMULA_X, "vessel": {"heat_capacity_j_per_k": 200.0, "temperature_c": 22.0}}
    assert ask(api, body).json()["batches"][0]["hot_water_g"] == pytest.approx(154.42, abs=0.1)


def test_thinned_in_steps(api):
    one_group = [{**portion, "group": None} for portion in ROUND["portions"]]
    answer = ask(api, portions=one_group, thin_in_steps=True)
    (batch,) = answer.json()["batches"]
    assert (batch["dry_matter_fraction"], batch["labels"]) == (0.30, ["Rook", "Pip", "Moss"])
    assert [step["labels"] for step in batch["thinning"]] == [["Pip", "Moss"]]


@pytest.mark.usefixtures("built_in_species")
def test_a_formula_of_the_catalogue(api):
    named = ask(api, formula=..., formula_key="parrot-rearing-powder")
    assert named.status_code == 200, named.content
    assert named.json()["batches"] == ask(api).json()["batches"]


@pytest.mark.usefixtures("built_in_species")
def test_an_unknown_formula_names_those_there_are(api):
    answer = ask(api, formula=..., formula_key="no-such-powder")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/formula_key")
    assert "parrot-rearing-powder" in answer.json()["detail"]


@pytest.mark.usefixtures("built_in_species")
def test_a_severity_leaves_the_same_time_in_a_mix_as_in_a_plan(api):
    """Design page 5: a note waits for the next routine look, act_today until the last feed, urgent for an hour."""
    thin = [{"volume_ml": 20.0, "dry_matter_fraction": 0.10}]
    bird = {"species": "nymphicus-hollandicus", "age_days": 10, "mass_g": 29.5, "condition": {"body": "warm"}}
    plan = api.post("/api/v1/feeding-plans", {**bird, "given": {"dry_matter_fraction": 0.22, "temperature_c": 44}})
    cautions = ask(api, portions=thin).json()["cautions"] + plan.json()["cautions"]
    hours = {"note": None, "act_today": 8.0, "urgent": 1.0}
    assert {caution["severity"] for caution in cautions} == set(hours)
    assert [told["code"] for told in cautions if told["act_within_h"] != hours[told["severity"]]] == []
    assert "act_today" in {told["severity"] for told in ask(api, portions=thin).json()["cautions"]}


def test_same_input_same_bytes(api):
    assert ask(api).content == ask(api).content


def test_the_needed_temperature_works_when_asked_again(api):
    refused = ask(api, hot_water_c=40.0)
    assert refused.status_code == 422
    (fault,) = refused.json()["errors"]
    assert (fault["pointer"], fault["code"]) == ("/hot_water_c", "water_not_hot_enough")
    needed_c = float(re.search(r"at least (\d+\.\d)", fault["detail"])[1])
    assert ask(api, hot_water_c=needed_c).status_code == 200
    assert ask(api, hot_water_c=needed_c - 0.1).status_code == 422
    example("mixes_create", "not_hot_enough", "Water that cannot reach the target", ROUND | {"hot_water_c": 40.0},
            refused)  # fmt: skip


def one(**changes):
    return [{"label": "Pip", "volume_ml": 9.0, "dry_matter_fraction": 0.25, **changes}]


BAD = [
    ("no portions", {"portions": []}, 422, "/portions", "At least 1"),
    ("portions missing", {"portions": ...}, 400, "/portions", "required"),
    ("portions no list", {"portions": {"label": "Pip"}}, 400, "/portions", "list"),
    ("portion null", {"portions": [None]}, 400, "/portions/0", ""),
    ("201 portions", {"portions": one() * 201}, 422, "/portions", "200"),
    ("41 batches", {"portions": [one(group=f"g{n}")[0] for n in range(41)]}, 422, "/portions", "40"),
    ("volume nought", {"portions": one(volume_ml=0)}, 422, "/portions/0/volume_ml", "at least"),
    ("volume below nought", {"portions": one(volume_ml=-9)}, 422, "/portions/0/volume_ml", "at least"),
    ("volume of a bucket", {"portions": one(volume_ml=9000)}, 422, "/portions/0/volume_ml", "500"),
    ("a bathtub", {"portions": one(volume_ml=500, count=200)}, 422, "/portions", "5000"),
    ("volume missing", {"portions": [{"dry_matter_fraction": 0.25}]}, 400, "/portions/0/volume_ml", "required"),
    ("per cent for a share", {"portions": one(dry_matter_fraction=25)}, 422, "/portions/0/dry_matter_fraction", "0.4"),
    ("no food in it", {"portions": one(dry_matter_fraction=0.01)}, 422, "/portions/0/dry_matter_fraction", "0.05"),
    ("true for a number", {"portions": one(volume_ml=True)}, 400, "/portions/0/volume_ml", "number"),
    ("text for a number", {"portions": one(volume_ml="9.0")}, 400, "/portions/0/volume_ml", "number"),
    ("half a bird", {"portions": one(count=1.5)}, 400, "/portions/0/count", "whole"),
    ("no bird", {"portions": one(count=0)}, 422, "/portions/0/count", "at least"),
    ("unknown in a portion", {"portions": one(volume=9)}, 400, "/portions/0/volume", "volume_ml"),
    ("unknown field", {"hot_water": 80}, 400, "/hot_water", "hot_water_c"),
    ("neither formula", {"formula": ...}, 400, "/formula", "formula_key"),
    ("both formulas", {"formula_key": "parrot-rearing-powder"}, 422, "/formula_key", "not both"),
    ("formula says nothing", {"formula": {}}, 422, "/formula/dry_matter_fraction", "composition"),
    ("wet powder", {"formula": {"dry_matter_fraction": 0.3}}, 422, "/formula/dry_matter_fraction", "0.92"),
    ("composition short", {"formula": {"composition": {"water": 0.08}}}, 400, "/formula/composition/protein", ""),
    ("composition sums to 0.9", {"formula": {"composition": {**POWDER_X, "carbohydrate": 0.45}}}, 422,
     "/formula/composition", "0.9"),
    ("dry matter disagrees", {"formula": {"dry_matter_fraction": 0.8, "composition": POWDER_X}}, 422,
     "/formula/composition/water", "0.2"),
    ("target that burns", {"target_c": 43.5}, 422, "/target_c", "41"),
    ("target in the wait band", {"target_c": 41.1}, 422, "/target_c", "41"),
    ("target of a corpse", {"target_c": 20}, 422, "/target_c", "35"),
    ("steam", {"hot_water_c": 104}, 422, "/hot_water_c", "100"),
    ("hotter than it boils", {"hot_water_c": 98, "altitude_m": 2000}, 422, "/hot_water_c", "93.3"),
    ("cool water too warm", {"cool_water_c": 50}, 422, "/cool_water_c", "at most"),
    ("ice", {"cool_water_c": -1}, 422, "/cool_water_c", "0"),
    ("frozen powder", {"powder_c": -18}, 422, "/powder_c", "0"),
    ("higher than mountains", {"altitude_m": 9000}, 422, "/altitude_m", "5000"),
    ("oven", {"room_c": 200}, 422, "/room_c", "45"),
    ("spare ten times", {"spare_fraction": 10}, 422, "/spare_fraction", "1"),
    ("spare below nought", {"spare_fraction": -0.1}, 422, "/spare_fraction", "0"),
    ("scoop of nothing", {"scoop_g": 0}, 422, "/scoop_g", "0.05"),
    ("anvil for a pot", {"vessel": {"heat_capacity_j_per_k": 1e6}}, 422, "/vessel/heat_capacity_j_per_k", "5000"),
    ("vessel without its heat", {"vessel": {"temperature_c": 20}}, 400, "/vessel/heat_capacity_j_per_k", "required"),
    ("cold iron", {"vessel": {"heat_capacity_j_per_k": 4000, "temperature_c": 2}}, 422, "/vessel/temperature_c",
     "at least"),
    ("no offset", {"prepared_at": "2027-05-02T02:05:00"}, 400, "/prepared_at", "offset"),
    ("no such day", {"prepared_at": "2027-02-30T02:05:00Z"}, 422, "/prepared_at", "no such"),
    ("order unheard of", {"order": "shaken"}, 400, "/order", "blend_first"),
    ("yes for true", {"thin_in_steps": "yes"}, 400, "/thin_in_steps", "true or false"),
    ("control character", {"portions": one(label="Pip\u0007")}, 422, "/portions/0/label", "control"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "status", "pointer", "says"), [row[1:] for row in BAD], ids=[r[0] for r in BAD])
def test_bad_input_says_what_and_how_to_mend_it(api, changes, status, pointer, says):
    answer = ask(api, **changes)
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    fault = next(fault for fault in answer.json()["errors"] if fault["pointer"] == pointer)
    assert says in fault["detail"] or says in fault["code"]


@pytest.mark.parametrize(
    "raw",
    [
        json.dumps(ROUND).replace("85.0", "NaN"),
        json.dumps(ROUND).replace("85.0", "1e999"),
        json.dumps(ROUND).replace('"hot_water_c"', '"scoop_g": 4.0, "hot_water_c"'),
        "[]",
        "{",
    ],
    ids=["NaN", "infinite", "duplicate field", "a list", "half an object"],
)
def test_a_body_that_is_no_object_of_numbers_is_400(api, raw):
    answer = api.post(URL, raw, content_type="application/json")
    assert (answer.status_code, answer["Content-Type"]) == (400, "application/problem+json")


def test_several_faults_come_at_once(api):
    answer = ask(api, target_c=45, room_c=99, portions=one(volume_ml=0))
    pointers = {fault["pointer"] for fault in answer.json()["errors"]}
    assert pointers == {"/target_c", "/room_c", "/portions/0/volume_ml"}
