"""The ledger: a number enters a plan by being computed here, so that its reason cannot drift from its value."""

from collections.abc import Callable
from typing import Any, TypeVar

import msgspec

from species.domain.record import Record

T = TypeVar("T")

#: Rooms of the service are named without it: ``plans.rules.intake.feed_volume_ml``.
SERVICE_PREFIX = "api."


class BasisEntry(Record, frozen=True, kw_only=True):
    """Why a field has its value: the rule, called with ``inputs``, gives ``value``."""

    field: str
    rule: str
    inputs: dict[str, Any]
    value: Any
    sources: tuple[str, ...] = ()


class Ledger:
    """Computes values by named rules and keeps, for each field of the plan, which rule and with what."""

    def __init__(self) -> None:
        self._entries: dict[str, BasisEntry] = {}

    def derive(self, field: str, rule: Callable[..., T], /, *, sources: tuple[str, ...] = (), **inputs: Any) -> T:
        """Call ``rule`` with ``inputs``, note it for ``field`` and give back its value.

        Parameters
        ----------
        field
            JSON pointer of the plan's field.
        rule
            A public function of a rules or biology module; its inputs must be plain JSON values.
        sources
            Where the figures in it come from.
        **inputs
            Keyword arguments of the rule.

        Returns
        -------
        The rule's value.
        """
        value = rule(**inputs)
        name = f"{rule.__module__}.{rule.__qualname__}".removeprefix(SERVICE_PREFIX)
        self._entries[field] = BasisEntry(
            field=field,
            rule=name,
            inputs=msgspec.to_builtins(inputs),
            value=msgspec.to_builtins(value),
            sources=tuple(dict.fromkeys(sources)),
        )
        return value

    def entries(self) -> tuple[BasisEntry, ...]:
        """The notes, in the order the fields were last derived."""
        return tuple(self._entries.values())
