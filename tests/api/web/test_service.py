"""What belongs to no room: probes, CORS, the document and its viewer."""

import re

import pytest
import yaml
from django.core.management import call_command
from django.db import DatabaseError, connection
from openapi_spec_validator import OpenAPIV31SpecValidator

from api.web import probes


def test_health_asks_nobody(api):
    assert api.get("/api/v1/health").json() == {"status": "ok"}


@pytest.mark.django_db
def test_ready_tells_of_each_thing_it_stands_on(api):
    call_command("packs_load", verbosity=0)
    answer = api.get("/api/v1/ready")
    assert answer.status_code == 200
    found = {name: check["ok"] for name, check in answer.json()["checks"].items()}
    assert found.pop("broker", True) is True  # asked where there is one
    assert found == {"cache": True, "database": True, "outbox": True, "packs": True}


@pytest.mark.django_db
def test_without_species_the_service_is_not_ready(api):
    answer = api.get("/api/v1/ready")
    assert answer.status_code == 503
    assert "packs_load" in answer.json()["checks"]["packs"]["detail"]


@pytest.mark.django_db
def test_not_ready_is_503_and_says_what_fails(api, monkeypatch):
    def broken():
        raise DatabaseError("password of the database")

    monkeypatch.setattr(connection, "cursor", broken)
    answer = api.get("/api/v1/ready")
    assert (answer.status_code, answer["Content-Type"]) == (503, "application/problem+json")
    assert answer.json()["checks"]["database"]["ok"] is False
    assert {"pointer": "", "code": "database", "detail": "The database does not answer."} in answer.json()["errors"]
    assert b"password" not in answer.content


def test_a_room_adds_its_probe(monkeypatch):
    monkeypatch.setattr(probes, "_probes", {})
    probes.register_probe("packs", lambda: "8 profiles")
    assert probes.ask_all()["packs"].detail == "8 profiles"


def test_any_page_may_ask_and_reads_the_headers_it_needs(api):
    answer = api.get("/api/v1/health", HTTP_ORIGIN="https://app.example")
    assert answer["Access-Control-Allow-Origin"] == "*"
    assert "Access-Control-Allow-Credentials" not in answer
    exposed = {name.strip() for name in answer["Access-Control-Expose-Headers"].split(",")}
    assert exposed >= {"RateLimit", "RateLimit-Policy", "Retry-After", "ETag", "Location", "Link", "X-Request-Id"}
    assert "Idempotency-Replayed" in exposed


def test_a_preflight_is_answered(api):
    answer = api.options(
        "/api/v1/members",
        HTTP_ORIGIN="https://app.example",
        HTTP_ACCESS_CONTROL_REQUEST_METHOD="PATCH",
        HTTP_ACCESS_CONTROL_REQUEST_HEADERS="authorization, if-match, idempotency-key",
    )
    assert answer.status_code == 200
    assert "if-match" in answer["Access-Control-Allow-Headers"]
    assert "PATCH" in answer["Access-Control-Allow-Methods"]


def test_other_pages_get_no_cors(api):
    assert "Access-Control-Allow-Origin" not in api.get("/admin/login/", HTTP_ORIGIN="https://app.example")


@pytest.fixture(scope="module")
def document():
    from api.web.views import openapi_document

    return yaml.safe_load(openapi_document())


def test_the_document_is_openapi_3_1(document):
    assert document["openapi"] == "3.1.0"
    OpenAPIV31SpecValidator(document).validate()


def test_every_operation_tells_its_problems_and_has_a_name(document):
    names = []
    unlimited = {"/api/v1/health", "/api/v1/ready"}
    rooms = {tag["name"] for tag in document["tags"]}
    for address, operations in document["paths"].items():
        for method, operation in operations.items():
            names.append(operation["operationId"])
            told = set(operation["responses"])
            assert {"400", "406", "500"} <= told
            assert ("429" in told) is (address not in unlimited)
            assert ("404" in told) is ("{" in address)
            assert ("requestBody" in operation) is (method in ("post", "put", "patch"))
            assert {"413", "415", "422"} <= told or "requestBody" not in operation
            assert ({"401", "403"} <= told) is bool(operation.get("security", [{}])[0])
            assert len(operation["tags"]) == 1
            assert operation["tags"][0] in rooms
            for status, answer in operation["responses"].items():
                if status >= "400":
                    assert answer == {"$ref": f"#/components/responses/Problem{status}"}
    assert len(names) == len(set(names))


def test_every_problem_comes_with_an_example(document):
    for answer in document["components"]["responses"].values():
        example = answer["content"]["application/problem+json"]["example"]
        assert {"type", "title", "status", "detail", "instance", "errors"} <= set(example)


def test_the_viewer_asks_no_other_host(api):
    page = api.get("/api/v1/docs", HTTP_ACCEPT="text/html").content.decode()
    assert "/api/v1/openapi.yaml" in page
    assert not re.findall(r"(?:src|href)=\"(?:https?:)?//", page)
    for asset in re.findall(r'(?:src|href)="(/static/[^"]+)"', page):
        assert api.get(asset).status_code == 200


@pytest.mark.parametrize("query", ["lang=de", "version=2"])
def test_the_document_takes_no_parameters(api, query):
    assert api.get(f"/api/v1/openapi.yaml?{query}").status_code == 400
