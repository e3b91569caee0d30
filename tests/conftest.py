"""What every test stands on: no network outside this machine."""

import ipaddress
import socket

import pytest

_connect = socket.socket.connect


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
