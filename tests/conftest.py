"""What every test stands on: no network outside this machine, a clock that can be held, callers of the API."""

import ipaddress
import socket
import time
from datetime import UTC, datetime
from itertools import count

import pytest
from django.core.cache import caches
from rest_framework.test import APIClient

from api.web import clock
from tests.database import open_to_many

_connect = socket.socket.connect
_cache_versions = count(time.time_ns())
# The morning of the documents' example, in British Summer Time.
MORNING = datetime(2027, 5, 2, 5, 0, tzinfo=UTC)


def _is_local(address) -> bool:
    if not isinstance(address, tuple):
        return True  # a Unix socket
    host = address[0]
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


@pytest.fixture(autouse=True)
def _no_network(monkeypatch):
    """A test that reaches beyond this machine fails: its result would depend on someone else."""

    def connect(self, address):
        if not _is_local(address):
            raise AssertionError(f"This test tried to reach {address}.")
        return _connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)


@pytest.fixture(autouse=True)
def _fresh_cache(monkeypatch):
    """No test reads what another left in the cache.

    Each has its own version of every key. Clearing would empty the whole Redis, whoever else uses it.
    """
    monkeypatch.setattr(caches["default"], "version", next(_cache_versions))


@pytest.fixture
def api():
    """A caller of the API who sees a failing service as others do: as an answer, not as an exception."""
    return APIClient(raise_request_exception=False)


@pytest.fixture
def standing_clock():
    """The clock of the service, held on a morning in May."""
    with clock.standing_at(MORNING):
        yield MORNING


@pytest.fixture
def shared_database(transactional_db, tmp_path):
    """The database, without a transaction around the test, for threads and processes that meet in it."""
    with open_to_many(tmp_path):
        yield


@pytest.fixture
def real_processes(transactional_db, tmp_path):
    """Workers, beat and a mail server, as they run in production, on the database of this test."""
    from tests import processes  # its Celery is wanted by few, and only once the settings are chosen

    with processes.running(tmp_path) as started:
        yield started
