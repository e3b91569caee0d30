"""Who within the service hears of which events, and what keeps a record from being removed; said in ``apps.py``."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from api.outbox.models import Event


@dataclass(frozen=True)
class Subscriber:
    """Hears of events, in the scope of their network and in one transaction with the mark that it has.

    ``once_per`` names a member of the event's data: of several events of one transaction that agree in it, only the
    last is delivered, such as one look at a bird after a batch of its weighings.
    """

    name: str
    events: frozenset[str]
    handle: Callable[[Event], None]
    once_per: str | None = None


SUBSCRIBERS: dict[str, Subscriber] = {}


def subscribe(*events: str, name: str, handle: Callable[[Event], None], once_per: str | None = None) -> None:
    SUBSCRIBERS[name] = Subscriber(name, frozenset(events), handle, once_per)


def subscribers_of(event: str) -> list[Subscriber]:
    return [subscriber for subscriber in SUBSCRIBERS.values() if event in subscriber.events]


#: What has to agree before a record of a kind is removed.
GUARDS: defaultdict[str, list[Callable[[Any], None]]] = defaultdict(list)


def guard_removal(kind: str, guard: Callable[[Any], None]) -> None:
    """Have a guard asked before a record of a lower room is removed: it raises ``ConflictError`` to keep it."""
    GUARDS[kind].append(guard)
