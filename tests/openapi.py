"""What the OpenAPI document says, held against what the service does."""

import json
import re
from functools import cache
from typing import Any

import yaml
from django.test import override_settings
from jsonschema import Draft202012Validator, FormatChecker
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

DOCUMENT = "urn:handrear:openapi"


@cache
def document() -> dict[str, Any]:
    """The document as the service tells it now, also where a test that asks first has addresses of its own."""
    from api.web.views import openapi_document

    with override_settings(ROOT_URLCONF="api.config.urls"):
        return yaml.safe_load(openapi_document())


@cache
def _registry() -> Registry:
    return Registry().with_resource(DOCUMENT, Resource.from_contents(document(), DRAFT202012))


@cache
def _patterns() -> list[tuple[re.Pattern[str], str]]:
    """Addresses of the document, those without a variable first; of others the longer, which ends in ``.html``."""
    paths = sorted(document()["paths"], key=lambda path: (path.count("{"), -len(path)))
    return [(re.compile(re.sub(r"\\\{\w+\\\}", "[^/]+", re.escape(path))), path) for path in paths]


def operation_path(path: str) -> str | None:
    return next((known for pattern, known in _patterns() if pattern.fullmatch(path)), None)


@cache
def _validator(*steps: str) -> Draft202012Validator:
    pointer = "/".join(step.replace("~", "~0").replace("/", "~1") for step in steps)
    return Draft202012Validator(
        {"$ref": f"{DOCUMENT}#/{pointer}"}, registry=_registry(), format_checker=FormatChecker()
    )


def _response(path: str, method: str, status: int) -> tuple[str, ...]:
    responses = document()["paths"][path][method]["responses"]
    assert str(status) in responses, f"{method} {path} answers {status}, which the document does not know."
    entry = responses[str(status)]
    if "$ref" in entry:
        return tuple(entry["$ref"].removeprefix("#/").split("/"))
    return ("paths", path, method, "responses", str(status))


def hold(path: str, method: str, status: int, media_type: str, body: bytes) -> None:
    """Fail where an answer is not one that the document describes."""
    known = operation_path(path)
    if known is None or method in {"head", "options"} or status == 405 or not body:
        return
    steps = _response(known, method, status)
    entry = document()
    for step in steps:
        entry = entry[step]
    media = media_type.split(";")[0]
    assert media in entry.get("content", {}), f"{method} {path} answers {status} as {media}, undocumented."
    if not media.endswith("json"):
        return
    faults = _faults(steps, media, json.loads(body))
    assert not faults, f"{method} {path} {status} is not as documented: {faults[:5]}"


def response_faults(path: str, method: str, status: int, body: Any) -> list[str]:
    """What the document finds wrong with a JSON answer."""
    return _faults(_response(path, method, status), "application/json", body)


def _faults(steps: tuple[str, ...], media: str, body: Any) -> list[str]:
    return [
        f"{error.json_path}: {error.message}"
        for error in _validator(*steps, "content", media, "schema").iter_errors(body)
    ]


def request_faults(path: str, method: str, body: Any) -> list[str]:
    """What the document finds wrong with a body, for tests that it is neither stricter nor laxer than the code."""
    steps = ("paths", path, method, "requestBody", "content", "application/json", "schema")
    return [f"{error.json_path}: {error.message}" for error in _validator(*steps).iter_errors(body)]
