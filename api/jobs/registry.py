"""Queues of work and kinds of jobs; rooms register theirs in ``apps.py``. Rows hold names, never dotted paths."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any
from uuid import UUID

from api.jobs.models import Job, Work


@dataclass(frozen=True)
class Turn:
    """A run that is due: of which network, which turn, and what it has to know."""

    network_id: UUID
    slot: str
    due_at: datetime
    told: dict[str, Any] = field(default_factory=dict)


class Lane(StrEnum):
    """The broker's queues. Workers take from both in turn, so that many slow ones do not hold up a quick one."""

    PROMPT = "prompt"
    SLOW = "slow"


@dataclass(frozen=True)
class Queue:
    """Rows of work and what doing one means.

    ``perform`` runs in the scope of the row's network. With ``atomic`` it runs in one transaction with the mark
    "done", so that its effect on the database happens once; without, it is done at least once.
    """

    name: str
    model: type[Work]
    perform: Callable[[Any], None]
    atomic: bool = True
    lane: Lane = Lane.PROMPT


@dataclass(frozen=True)
class Kind:
    """A kind of job. ``due`` names the turns that are due now; they become rows where they are none yet."""

    name: str
    run: Callable[[Job], None]
    due: Callable[[datetime], Iterable[Turn]]


QUEUES: dict[str, Queue] = {}
KINDS: dict[str, Kind] = {}
#: Small sweeps that the dispatcher does at every turn, such as forgetting what has expired.
SWEEPS: dict[str, Callable[[datetime], object]] = {}


def register_queue(queue: Queue) -> None:
    QUEUES[queue.name] = queue


def register_kind(kind: Kind) -> None:
    KINDS[kind.name] = kind


def register_sweep(name: str, sweep: Callable[[datetime], object]) -> None:
    SWEEPS[name] = sweep
