"""Whose rows may be read now: closed by default.

A context variable holds the network that the running request or job works for. Reading a network's rows while
none is set raises, so a forgotten filter is an error that tests meet, never another network's data.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Protocol
from uuid import UUID

logger = logging.getLogger(__name__)


class HasId(Protocol):
    """A network's row."""

    pk: UUID


class NetworkScopeMissing(RuntimeError):  # noqa: N818 - says what is the matter
    """Rows of a network were asked for while no network was in scope."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what}: no network is in scope. Work inside network_scope(network), or, where every network is "
            f'meant, inside all_networks("the reason").'
        )


@dataclass(frozen=True)
class _Scope:
    network_id: UUID | None
    every: bool = False


_CLOSED = _Scope(network_id=None)
_scope: ContextVar[_Scope] = ContextVar("network_scope", default=_CLOSED)


@contextmanager
def network_scope(network: HasId | UUID) -> Iterator[None]:
    """Work for one network: its rows are seen, new rows become its own."""
    token = _scope.set(_Scope(network_id=network if isinstance(network, UUID) else network.pk))
    try:
        yield
    finally:
        _scope.reset(token)


@contextmanager
def all_networks(reason: str) -> Iterator[None]:
    """See the rows of every network, for the operators' admin and for nightly work; the reason is logged."""
    if not reason.strip():
        raise ValueError("Say why every network's rows are read.")
    logger.info("every network in scope: %s", reason)
    token = _scope.set(_Scope(network_id=None, every=True))
    try:
        yield
    finally:
        _scope.reset(token)


def scope_is_open() -> bool:
    return _scope.get() is not _CLOSED


def every_network_in_scope() -> bool:
    return _scope.get().every


def current_network_id() -> UUID:
    """The network worked for; raises where there is none, or more than one."""
    network_id = _scope.get().network_id
    if network_id is None:
        raise NetworkScopeMissing("current_network_id")
    return network_id
