"""What the service stands on, asked by /ready. Rooms register their own in ``apps.py``."""

import time
from collections.abc import Callable
from dataclasses import dataclass

from django.core.cache import cache
from django.db import DatabaseError, connection
from redis.exceptions import RedisError


class ProbeFailedError(RuntimeError):
    """What a probe asked does not answer as it should; the message is shown to the caller."""


@dataclass(frozen=True)
class Finding:
    ok: bool
    detail: str
    took_ms: float


_probes: dict[str, Callable[[], str]] = {}


def register_probe(name: str, ask: Callable[[], str]) -> None:
    """Add a question to /ready.

    Parameters
    ----------
    ask
        Answers a short sentence, or raises ``ProbeFailedError`` with one.
    """
    _probes[name] = ask


def ask_all() -> dict[str, Finding]:
    return {name: _ask(ask) for name, ask in sorted(_probes.items())}


def _ask(ask: Callable[[], str]) -> Finding:
    began = time.perf_counter()
    try:
        ok, detail = True, ask()
    except ProbeFailedError as failure:
        ok, detail = False, str(failure)
    return Finding(ok, detail, round((time.perf_counter() - began) * 1000, 1))


def database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError as error:
        raise ProbeFailedError("The database does not answer.") from error
    return f"{connection.vendor} answers"


def shared_cache() -> str:
    try:
        cache.set("probe", "here", timeout=10)
        found = cache.get("probe")
    except (RedisError, OSError) as error:
        raise ProbeFailedError("The cache does not answer.") from error
    if found != "here":
        raise ProbeFailedError("The cache forgets at once what it is told.")
    return "the cache answers"
