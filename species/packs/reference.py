"""The fields of a pack as Markdown tables, made from the domain's records: the second half of docs/packs/format.md.

``python -m species.packs.reference`` prints them.
"""

import inspect
import sys
from collections.abc import Iterator
from typing import Any

from species.packs.check import NOTING_RULES, PACK_RULES, PROFILE_RULES
from species.packs.schema import FILE_RECORDS, build_schema

_START = [record.__name__ for record in FILE_RECORDS.values()] + ["Profile"]


def field_tables() -> str:
    """A section for each record and each list of words, in the order in which a reader meets them."""
    definitions = build_schema()["$defs"]
    return "\n".join(line for name in _reading_order(definitions) for line in _section(name, definitions[name]))


def rule_list() -> str:
    """Every rule that a pack is held to, by the name that a finding carries."""
    return "\n".join(
        f"- `{rule.__name__}`: {inspect.getdoc(rule) or ''}".replace("``", "`")
        for rule in (*PROFILE_RULES, *PACK_RULES, *NOTING_RULES)
    )


def _reading_order(definitions: dict[str, Any]) -> list[str]:
    order: list[str] = []
    waiting = list(_START)
    while waiting:
        name = waiting.pop(0)
        if name not in order:
            order.append(name)
            waiting += [used for part in definitions[name].get("properties", {}).values() for used in _used(part)]
    return order


def _used(part: dict[str, Any]) -> Iterator[str]:
    if "$ref" in part:
        yield part["$ref"].rsplit("/", 1)[-1]
    if "items" in part:
        yield from _used(part["items"])


def _section(name: str, definition: dict[str, Any]) -> Iterator[str]:
    yield f"### {name}"
    yield ""
    yield from inspect.cleandoc(definition.get("description", "")).replace("``", "`").splitlines()
    yield ""
    if "enum" in definition:
        yield ", ".join(f"`{word}`" for word in definition["enum"])
        yield ""
        return
    required = definition.get("required", [])
    yield "| field | holds | needed | meaning |"
    yield "| --- | --- | --- | --- |"
    for field, part in definition["properties"].items():
        needed = "yes" if field in required else ""
        meaning = part.get("description", "").replace("|", "\\|")
        yield f"| `{field}` | {_holds(part)} | {needed} | {meaning} |"
    yield ""


def _holds(part: dict[str, Any]) -> str:
    if "$ref" in part:
        name = part["$ref"].rsplit("/", 1)[-1]
        return f"[{name}](#{name.lower()})"
    if part.get("type") == "array":
        return f"list of {_holds(part['items'])}"
    words = {"string": "text", "number": "number", "integer": "whole number", "boolean": "true or false"}
    return words[part["type"]]


def main() -> None:
    sys.stdout.write(f"{rule_list()}\n\n{field_tables()}")


if __name__ == "__main__":
    main()
