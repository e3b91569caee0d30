"""The JSON Schema of a pack's files, generated from the domain's records, and its errors in plain words."""

import json
import reprlib
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import msgspec
from rapidfuzz import process

from species.domain.food import Food, Formula
from species.domain.pack import PackHeader
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Source

#: The version of the pack format that this service reads.
CONTRACT = 1


class SourcesFile(Record, frozen=True, kw_only=True):
    """SOURCES.toml: one [[source]] table for each source."""

    source: tuple[Source, ...] = ()


class FormulasFile(Record, frozen=True, kw_only=True):
    """formulas.toml: one [[formula]] table for each powder."""

    formula: tuple[Formula, ...] = ()


class FoodsFile(Record, frozen=True, kw_only=True):
    """foods.toml: one [[food]] table for each food."""

    food: tuple[Food, ...] = ()


#: Which record each kind of file holds.
FILE_RECORDS: dict[str, type[Record]] = {
    "pack.toml": PackHeader,
    "SOURCES.toml": SourcesFile,
    "formulas.toml": FormulasFile,
    "foods.toml": FoodsFile,
}


def build_schema() -> dict[str, Any]:
    """The schema of every file of a pack, made from the domain's records.

    TOML has no null: a blank is a field that is left out. So "or null" is taken out, and each error
    speaks of one shape only.
    """
    _, definitions = msgspec.json.schema_components([*FILE_RECORDS.values(), Profile])
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Handrear pack, contract {CONTRACT}",
        "description": "Definitions: PackHeader for pack.toml, SourcesFile, FormulasFile, FoodsFile, "
        "Profile for <order>/<key>.toml.",
        "$defs": {name: _without_null(part) for name, part in sorted(definitions.items())},
    }


def schema_text() -> str:
    """The schema as it is committed."""
    return json.dumps(build_schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def _without_null(part: Any) -> Any:
    if isinstance(part, list):
        return [_without_null(item) for item in part]
    if not isinstance(part, dict):
        return part
    kept = {name: _without_null(value) for name, value in part.items()}
    if "default" in kept and kept["default"] is None:
        del kept["default"]
    if "anyOf" in kept:
        shapes = [shape for shape in kept["anyOf"] if shape != {"type": "null"}]
        if len(shapes) == 1:
            del kept["anyOf"]
            kept = shapes[0] | kept
    return kept


@cache
def _committed_schema() -> dict[str, Any]:
    schema: dict[str, Any] = json.loads((files("species.packs") / "pack-schema.json").read_text("utf-8"))
    return schema


@cache
def _validator(definition: str) -> Any:
    schema = _committed_schema()
    return jsonschema.Draft202012Validator(
        {"$schema": schema["$schema"], "$ref": f"#/$defs/{definition}", "$defs": schema["$defs"]}
    )


def shape_faults(document: dict[str, Any], record: type[Record]) -> Iterator[tuple[str, str]]:
    """Every departure of a document from its record's shape, as (JSON pointer, message)."""
    found = _validator(record.__name__).iter_errors(document)
    for error in sorted(found, key=lambda error: [str(step) for step in error.absolute_path]):
        pointer = "".join(f"/{_escaped(step)}" for step in error.absolute_path)
        yield from _in_words(pointer, error)


def _escaped(step: str | int) -> str:
    return str(step).replace("~", "~0").replace("/", "~1")


def _in_words(pointer: str, error: Any) -> Iterator[tuple[str, str]]:
    if error.validator == "additionalProperties":
        known = list(error.schema["properties"])
        for name in sorted(set(error.instance) - set(known)):
            yield f"{pointer}/{_escaped(name)}", _unknown_field(name, known)
    elif error.validator == "required":
        # jsonschema reports each missing name as an error of its own.
        missing = next(name for name in error.validator_value if f"{name!r} is a required" in error.message)
        yield f"{pointer}/{missing}", f"{missing} is missing; every {error.schema['title']} needs it."
    elif error.validator == "type":
        wanted = _TYPE_WORDS[error.validator_value]
        yield pointer, f"should be {wanted}, but is {_described(error.instance)}."
    elif error.validator == "enum":
        words = ", ".join(str(word) for word in error.validator_value)
        yield pointer, f"{_SHORT.repr(error.instance)} is not one of the words allowed here: {words}."
    elif error.validator == "pattern":
        meaning = error.schema.get("description") or f"the form {error.validator_value}"
        yield pointer, f"{_SHORT.repr(error.instance)} is not written as wanted. {meaning}"
    elif error.validator in _LIMIT_WORDS:
        yield (
            pointer,
            f"{_SHORT.repr(error.instance)} must be {_LIMIT_WORDS[error.validator]} {error.validator_value}.",
        )
    else:
        yield pointer, f"{error.message}."


#: Units that authors write at the end of a name, ours and others.
_UNITS = frozenset(
    ["g", "kg", "mg", "oz", "ml", "l", "kj", "kcal", "c", "f", "k", "h", "hours", "min", "minutes", "s"]
    + ["d", "day", "days", "mm", "cm", "fraction", "percent"]
)
#: A hostile text of megabytes is quoted by its ends.
_SHORT = reprlib.Repr()
_SHORT.maxstring = 60
_TYPE_WORDS = {
    "string": "text in quotation marks",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "array": "a list in square brackets",
    "object": "a table",
}
_LIMIT_WORDS = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
    "minLength": "text of a length of at least",
    "minItems": "a list of a length of at least",
}


def _described(value: Any) -> str:
    if isinstance(value, bool):
        return f"{str(value).lower()} (true or false)"
    if isinstance(value, str):
        return f"the text {_SHORT.repr(value)}"
    if isinstance(value, (int, float)):
        return f"the number {value}"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return f"a date or a time ({value})"


def _unknown_field(name: str, known: list[str]) -> str:
    stem, _, unit = name.rpartition("_")
    other_unit = [field for field in known if field.rpartition("_")[::2] in {(stem, unit) for unit in _UNITS}]
    if stem and unit in _UNITS and other_unit:
        return f"there is no field {name}; the unit is part of the name: convert the value and call it {other_unit[0]}."
    near = process.extractOne(name, known, score_cutoff=70)
    hint = f" Did you mean {near[0]}?" if near else f" Fields here: {', '.join(known)}."
    return f"there is no field {name}.{hint}"


def main() -> None:
    """``python -m species.packs.schema``: write the schema beside this file, after a change of the domain."""
    (files("species.packs") / "pack-schema.json").write_text(schema_text(), "utf-8")  # type: ignore[attr-defined]


if __name__ == "__main__":
    main()
