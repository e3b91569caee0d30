"""Answers whose shape is one of the domain's records: its definition gives the type, the JSON and the OpenAPI."""

import inspect
from typing import Any, ClassVar

import msgspec
from drf_spectacular.extensions import OpenApiSerializerExtension
from drf_spectacular.plumbing import ComponentIdentity, ResolvedComponent
from rest_framework import serializers

from api.web.units import ucum_code
from species.domain.record import Record


class RecordSerializer(serializers.BaseSerializer[Record]):
    """Tells a record as JSON. A subclass names the record; ``prefix`` keeps its parts apart in the OpenAPI document."""

    record: ClassVar[type[Record]]
    prefix: ClassVar[str] = ""

    def to_representation(self, instance: Record) -> Any:
        return msgspec.to_builtins(instance)


class _RecordExtension(OpenApiSerializerExtension):
    target_class = RecordSerializer
    match_subclasses = True

    def get_name(self, auto_schema: Any, direction: str) -> str:
        return type(_instance(self.target)).__name__

    def map_serializer(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        serializer = _instance(self.target)
        record, prefix = serializer.record, serializer.prefix
        _, parts = msgspec.json.schema_components([record], ref_template=f"#/components/schemas/{prefix}{{name}}")
        whole = parts.pop(record.__name__)
        for name, part in parts.items():
            component = ResolvedComponent(
                name=f"{prefix}{name}",
                type=ResolvedComponent.SCHEMA,
                schema=_told(part),
                object=ComponentIdentity((prefix, name)),
            )
            auto_schema.registry.register_on_missing(component)
        return _told(whole)


def _instance(target: Any) -> RecordSerializer:
    return target() if isinstance(target, type) else target


def _told(part: Any) -> Any:
    """A part of msgspec's schema as an answer has it: every field is there, units are said, null is a type."""
    if isinstance(part, list):
        return [_told(item) for item in part]
    if not isinstance(part, dict):
        return part
    kept = {name: _told(value) for name, value in part.items() if name not in ("default", "title")}
    if isinstance(kept.get("description"), str):
        kept["description"] = inspect.cleandoc(kept["description"])
    if "enum" in kept:
        kept["type"] = "string"
    if "anyOf" in kept:
        kept = _with_null(kept)
    if kept.get("type") == "object" and "properties" in kept:
        kept["required"] = list(kept["properties"])
        for name, value in kept["properties"].items():
            if (code := ucum_code(name)) and _holds_a_number(value):
                value["x-ucum"] = code
    return kept


def _with_null(part: dict[str, Any]) -> dict[str, Any]:
    """``anyOf`` of a plain type and null, written as one type of two names."""
    shapes = [shape for shape in part["anyOf"] if shape != {"type": "null"}]
    if len(shapes) == 1 and len(part["anyOf"]) == 2 and isinstance(shapes[0].get("type"), str):
        rest = {name: value for name, value in part.items() if name != "anyOf"}
        return {**shapes[0], **rest, "type": [shapes[0]["type"], "null"]}
    return part


def _holds_a_number(value: dict[str, Any]) -> bool:
    kinds = value.get("type", [])
    kinds = [kinds] if isinstance(kinds, str) else kinds
    shapes = value.get("anyOf", [value])
    # A quantity or a band is a table of its own; its unit is that of the field which holds it.
    return bool({"number", "integer"} & set(kinds)) or any("$ref" in shape for shape in shapes)
