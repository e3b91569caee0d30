"""The database beside what the models say: every value in it, and many connections to it at once."""

import sqlite3
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import connection, connections


def every_value(but: str | None = None) -> str:
    """Each value of each row of each table, one a line; of tables whose names begin with ``but`` none."""
    with connection.cursor() as cursor:
        values = []
        for table in connection.introspection.table_names(cursor):
            if but and table.startswith(but):
                continue
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            values += [str(value) for row in cursor.fetchall() for value in row]
    return "\n".join(values)


@contextmanager
def open_to_many(folder: Path) -> Iterator[None]:
    """Let threads and processes meet in the test's database as they do in the service's.

    PostgreSQL does. SQLite's tests run in memory, where one connection's lock is another's error: they move to a file
    for the time being, which waits as the service's own does.
    """
    if connection.vendor != "sqlite":
        yield
        return
    in_memory = connections["default"]
    in_memory.ensure_connection()
    settings, name = connections.settings["default"], connections.settings["default"]["NAME"]
    path = folder / "test.sqlite3"
    copy = sqlite3.connect(path)
    in_memory.connection.backup(copy)
    copy.close()
    del connections["default"]
    settings["NAME"] = str(path)
    try:
        yield
    finally:
        connections["default"].close()
        settings["NAME"] = name
        connections["default"] = in_memory


def at_once(*calls: Callable[[], Any]) -> list[Any]:
    """What each call gives, each made in a thread and on a connection of its own."""

    def apart(call: Callable[[], Any]) -> Any:
        try:
            return call()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(calls)) as threads:
        return [running.result(timeout=60) for running in [threads.submit(apart, call) for call in calls]]
