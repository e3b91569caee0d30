"""Fields that stand for each other: at least one, at most one, or exactly one of them is to be given."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from rest_framework.exceptions import ErrorDetail


@dataclass(frozen=True)
class OneOf:
    """What a serializer asks of some of its fields, for the check and for the OpenAPI document.

    Parameters
    ----------
    names
        The fields; a fault is told at the first where none is given, at the last where too many are.
    missing
        What to say where none is given; empty where none is needed.
    several
        Whether more than one may be given.

    A null, where a field takes one, gives nothing: it takes back what was told.
    """

    names: tuple[str, ...]
    missing: str = ""
    several: bool = False

    def faults(self, given: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
        count = sum(given.get(name) is not None for name in self.names)
        if not count and self.missing:
            return {self.names[0]: [ErrorDetail(self.missing, "required")]}
        if count > 1 and not self.several:
            return {self.names[-1]: [ErrorDetail(f"Give either {' or '.join(self.names)}, not both.", "one_of_two")]}
        return {}

    def schema(self, *, nullable: bool = False) -> dict[str, Any]:
        """The same in JSON Schema; ``nullable`` where the fields take a null."""
        each = [_given(name, nullable) for name in self.names]
        if self.missing:
            return {"anyOf" if self.several else "oneOf": each}
        if len(each) == 2 and not nullable:
            return {"not": {"required": list(self.names)}}
        return {"not": {"anyOf": [{"allOf": list(pair)} for pair in combinations(each, 2)]}}


def _given(name: str, nullable: bool) -> dict[str, Any]:
    told = {"properties": {name: {"not": {"type": "null"}}}} if nullable else {}
    return {"required": [name], **told}
