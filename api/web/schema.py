"""How the OpenAPI document is told from the code: problems, units and rooms in one place."""

import inspect
from typing import Any

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_basic_type
from drf_spectacular.types import OpenApiTypes

from api.web import idempotency, problem
from api.web.problem_kinds import BY_STATUS, ProblemKind
from api.web.strict import fields, times
from api.web.units import ucum_code

_FAULTS = {
    400: problem.Fault("/mass_g", "wrong_type", "A number is needed, not text."),
    422: problem.Fault("/mass_g", "greater_than", "Must be greater than 0."),
}


class RoomSchema(AutoSchema):
    """Tags an operation with its room and gives it every problem that it can answer with."""

    def get_tags(self) -> list[str]:
        return [self.view.__class__.__module__.split(".")[1]]

    def get_description(self) -> str:
        """What stands at the method; the docstrings of classes speak to those who write views."""
        return inspect.getdoc(getattr(self.view, self.method.lower(), None)) or ""

    def _map_serializer(self, serializer: Any, *args: Any, **kwargs: Any) -> Any:
        schema = super()._map_serializer(serializer, *args, **kwargs)
        if alternatives := getattr(serializer, "alternatives", ()):
            schema["allOf"] = [
                one.schema(nullable=any(serializer.fields[name].allow_null for name in one.names))
                for one in alternatives
            ]
        return schema

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        operation = super().get_operation(*args, **kwargs)
        if operation is None:
            return None
        for status in self._problem_statuses(operation):
            operation["responses"].setdefault(str(status), {"$ref": f"#/components/responses/Problem{status}"})
        return operation

    def _problem_statuses(self, operation: dict[str, Any]) -> list[int]:
        statuses = {400, 406, 500, *getattr(self.view, "also_answers", ())}
        if self.view.throttle_classes:
            statuses.add(429)
        if "{" in self.path:
            statuses.add(404)
        if "requestBody" in operation:
            statuses |= {413, 415, 422}
        elif operation.get("parameters"):
            statuses.add(422)
        if self.view.get_authenticators():
            statuses |= {401, 403}
        if self.method in ("PATCH", "PUT", "DELETE"):
            statuses |= {409, 412, 428}
        if any(parameter["name"] == idempotency.HEADER for parameter in operation.get("parameters", [])):
            statuses.add(409)
        return sorted(statuses)


def add_problems(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """One problem schema, and for every status one answer with an example."""
    components = result.setdefault("components", {})
    components.setdefault("schemas", {})["Problem"] = _PROBLEM_SCHEMA
    components["responses"] = components.get("responses", {}) | {
        f"Problem{status}": _problem_response(kind) for status, kind in sorted(BY_STATUS.items())
    }
    return result


def add_units(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """``x-ucum`` beside every number whose name tells a unit."""
    for schema in result.get("components", {}).get("schemas", {}).values():
        _units_of(schema)
    for operations in result.get("paths", {}).values():
        for operation in operations.values():
            for parameter in operation.get("parameters", []):
                _mark(parameter["name"], parameter["schema"])
    return result


def _units_of(schema: dict[str, Any]) -> None:
    for name, inner in schema.get("properties", {}).items():
        _mark(name, inner)
        _units_of(inner)
    if isinstance(schema.get("items"), dict):
        _units_of(schema["items"])


def _mark(name: str, schema: dict[str, Any]) -> None:
    kinds = schema.get("type", [])
    numeric = {"number", "integer"} & set([kinds] if isinstance(kinds, str) else kinds)
    if numeric and (code := ucum_code(name)):
        schema["x-ucum"] = code


def _problem_response(kind: ProblemKind) -> dict[str, Any]:
    faults = [_FAULTS[kind.status]] if kind.status in _FAULTS else []
    told = problem.document(kind, faults[0].detail if faults else kind.meaning, request=None, errors=faults)
    # The document is the same at every address and for every request that asks for it.
    example = told | {"type": f"/api/v1/problems/{kind.slug}", "instance": "urn:request:none"}
    return {
        "description": kind.title,
        "content": {problem.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}, "example": example}},
    }


_PROBLEM_SCHEMA = {
    "type": "object",
    "description": "A refusal after RFC 9457.",
    "required": ["type", "title", "status", "detail", "instance", "errors"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference", "description": "Identifies the kind of problem."},
        "title": {"type": "string", "description": "The kind of problem, in fixed words."},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "What was wrong this time."},
        "instance": {"type": "string", "format": "uri-reference", "description": "Names this request in the log."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "code", "detail"],
                "properties": {
                    "pointer": {
                        "type": "string",
                        "description": "JSON pointer into the body, or ?name of a query parameter.",
                    },
                    "code": {"type": "string", "description": "A stable word for programs."},
                    "detail": {"type": "string", "description": "What was wrong and what would do."},
                },
            },
        },
    },
}


class _NumberExtension(OpenApiSerializerFieldExtension):
    target_class = "api.web.strict.fields._Number"
    match_subclasses = True

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        field = self.target
        whole = isinstance(field, fields.StrictIntegerField)
        bounds = {
            "minimum": field.min_value,
            "maximum": field.max_value,
            "exclusiveMinimum": field.greater_than,
            "exclusiveMaximum": field.less_than,
        }
        schema: dict[str, Any] = {"type": "integer" if whole else "number"}
        return schema | {keyword: bound for keyword, bound in bounds.items() if bound is not None}


class _BooleanExtension(OpenApiSerializerFieldExtension):
    target_class = fields.StrictBooleanField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        return build_basic_type(OpenApiTypes.BOOL)


class _UuidExtension(OpenApiSerializerFieldExtension):
    target_class = fields.StrictUuidField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        return build_basic_type(OpenApiTypes.UUID)


class _DateExtension(OpenApiSerializerFieldExtension):
    target_class = times.StrictDateField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        return build_basic_type(OpenApiTypes.DATE)


class _InstantExtension(OpenApiSerializerFieldExtension):
    target_class = times.StrictDateTimeField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        return build_basic_type(OpenApiTypes.DATETIME)


class _TimeExtension(OpenApiSerializerFieldExtension):
    target_class = times.StrictTimeField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^([01]\d|2[0-3]):[0-5]\d$", "example": "06:30"}


class _ZoneExtension(OpenApiSerializerFieldExtension):
    target_class = times.TimeZoneField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        return {"type": "string", "description": "Region/City of the IANA time zones, or UTC."}
