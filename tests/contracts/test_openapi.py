"""docs/openapi.yaml: committed, what the code says, and what the OpenAPI specification allows."""

import os
import re
import warnings
from pathlib import Path

import pytest
import yaml
from openapi_spec_validator import OpenAPIV31SpecValidator

from api.config import enum_names
from api.plans.serializers.feeding_plans import FeedingPlanIn
from api.plans.serializers.mixes import MixIn
from api.web.problem import faults_of
from tests import openapi

ROOT = Path(__file__).resolve().parents[2]
COMMITTED = ROOT / "docs" / "openapi.yaml"

# The open part of the contract, design page 3: addresses and methods that may not change.
FIXED = {
    ("/api/v1/age-estimates", "post"),
    ("/api/v1/feeding-plans", "post"),
    ("/api/v1/mixes", "post"),
    ("/api/v1/species", "get"),
    ("/api/v1/species/{key}", "get"),
    ("/api/v1/species/{key}/feeding-plan", "get"),
    ("/api/v1/health", "get"),
    ("/api/v1/ready", "get"),
}


def test_committed_document_is_what_the_code_says():
    from api.web.views import openapi_document

    if os.environ.get("UPDATE_EXAMPLES") == "1":
        openapi_document.cache_clear()  # examples may have been recorded since
        COMMITTED.write_bytes(openapi_document())
    assert COMMITTED.is_file(), "docs/openapi.yaml is missing: run with UPDATE_EXAMPLES=1."
    told = "docs/openapi.yaml is not what the code says: run tests/contracts with UPDATE_EXAMPLES=1."
    assert COMMITTED.read_bytes() == openapi_document(), told


def test_document_is_the_same_for_every_request_and_at_every_address(client, settings):
    from api.web.views import openapi_document

    settings.PUBLIC_URL = "https://rehab.example"
    client.get("/api/v1/health", headers={"X-Request-Id": "asked-just-now"})
    assert openapi_document.__wrapped__() == COMMITTED.read_bytes()


def test_document_follows_the_openapi_specification_without_a_warning(capsys):
    from drf_spectacular.drainage import GENERATOR_STATS

    GENERATOR_STATS.reset()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        from api.web.views import openapi_document

        document = yaml.safe_load(openapi_document.__wrapped__())
        assert [str(error) for error in OpenAPIV31SpecValidator(document).iter_errors()] == []
    assert not GENERATOR_STATS, capsys.readouterr().err
    assert document["openapi"].startswith("3.1.")


def test_fixed_addresses_stand():
    told = {(path, method) for path, operations in openapi.document()["paths"].items() for method in operations}
    assert told >= FIXED


def test_every_number_with_a_unit_says_so_in_ucum():
    schemas = openapi.document()["components"]["schemas"]
    feed = schemas["FeedOut"]["properties"]
    assert feed["volume_ml"]["x-ucum"] == "mL"
    assert feed["interval_min"]["x-ucum"] == "min"
    assert schemas["EnergyOut"]["properties"]["need_kj_per_day"]["x-ucum"] == "kJ/d"
    assert schemas["TemperatureOut"]["properties"]["target_c"]["x-ucum"] == "Cel"


@pytest.mark.parametrize(
    ("schema", "field", "words"),
    [
        # Closed lists of design page 3 ("closed enums") and 5 ("values of the contract's words").
        (
            "FeedingPlanOut",
            "decision",
            "see_vet identify_first warm_first cool_first rest_first fluids_first wait_for_yolk wait_for_crop "
            "return_to_parents self_feeding weigh_first top_up feed",
        ),
        ("CautionOut", "severity", "note act_today urgent"),
        ("FeedOut", "portion", "slurry solid mixed"),
    ],
)
def test_closed_lists_are_those_of_the_contract(schema, field, words):
    document = openapi.document()
    told = document["components"]["schemas"][schema]["properties"][field]
    if "$ref" in str(told):
        name = re.search(r"#/components/schemas/(\w+)", str(told))[1]
        told = document["components"]["schemas"][name]
    assert sorted(told["enum"]) == sorted(words.split())


def test_every_closed_list_has_a_name_that_no_new_field_changes():
    told = {name for name in openapi.document()["components"]["schemas"] if name.endswith("Enum")}
    told -= {"NullEnum"}  # how the generator writes that a word may be missing: its list is null alone
    assert told == set(enum_names.NAMES), "give the list its name in api/config/enum_names.py"


BIRD = {"species": "passer-domesticus", "age_days": 4}
POWDER = {"dry_matter_fraction": 0.92, "energy_kj_per_g_dm": 17}
UNLISTED = {
    "scientific_name": "Fictus fictus",
    "order": "Passeriformes",
    "adult_mass_g": 20,
    "developmental_mode": "altricial",
}
PORTIONS = {"portions": [{"volume_ml": 5, "dry_matter_fraction": 0.25}]}


@pytest.mark.parametrize(
    ("path", "serializer", "body", "code"),
    [
        ("feeding-plans", FeedingPlanIn, BIRD, None),
        ("feeding-plans", FeedingPlanIn, {"species": "x", "mass_g": 5, "hatched_on": "2027-04-30"}, None),
        ("feeding-plans", FeedingPlanIn, {"unlisted_species": UNLISTED, "hatched_on": "2027-04-30"}, None),
        ("feeding-plans", FeedingPlanIn, BIRD | {"formula": POWDER}, None),
        ("feeding-plans", FeedingPlanIn, {"age_days": 4}, "required"),
        ("feeding-plans", FeedingPlanIn, {"species": "x"}, "required"),
        ("feeding-plans", FeedingPlanIn, {"species": "x", "peak_mass_g": 5}, "required"),
        ("feeding-plans", FeedingPlanIn, BIRD | {"unlisted_species": UNLISTED}, "one_of_two"),
        ("feeding-plans", FeedingPlanIn, BIRD | {"formula": POWDER, "formula_key": "x"}, "one_of_two"),
        ("mixes", MixIn, PORTIONS | {"formula_key": "x"}, None),
        ("mixes", MixIn, PORTIONS | {"formula": POWDER}, None),
        ("mixes", MixIn, PORTIONS, "required"),
        ("mixes", MixIn, PORTIONS | {"formula": POWDER, "formula_key": "x"}, "one_of_two"),
    ],
)
def test_fields_that_stand_for_each_other_are_told_as_they_are_checked(path, serializer, body, code):
    asked = serializer(data=body)
    assert asked.is_valid() is (code is None)
    assert {fault.code for fault in faults_of(asked.errors)} == ({code} if code else set())
    assert (openapi.request_faults(f"/api/v1/{path}", "post", body) == []) is (code is None)


def test_what_may_be_null_says_so_and_nothing_may_be_missing():
    schemas = openapi.document()["components"]["schemas"]
    plan = schemas["FeedingPlanOut"]
    assert sorted(plan["required"]) == sorted(plan["properties"])
    for name in ("stage", "feed", "formula", "temperature", "brooder"):
        assert "null" in str(plan["properties"][name]), name
    assert "null" in schemas["FeedOut"]["properties"]["volume_ml"]["type"]
    assert "null" not in str(schemas["FeedOut"]["properties"]["items"])


def test_examples_were_captured_by_tests_and_fit_their_schemas():
    names = 0
    for path, operations in openapi.document()["paths"].items():
        for method, operation in operations.items():
            for status, response in operation["responses"].items():
                for media in response.get("content", {}).values():
                    for name, shown in media.get("examples", {}).items():
                        names += 1
                        recorded = ROOT / "docs" / "examples" / f"{operation['operationId']}.{name}.json"
                        assert recorded.is_file()
                        faults = openapi.response_faults(path, method, int(status), shown["value"])
                        assert faults == [], (path, name)
    assert names >= 4
