"""A server with one process and one thread, and a way to ask it many times in turn."""

import http.client
import json
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from statistics import median, quantiles

from tests import apart

ROOT = Path(__file__).resolve().parents[2]
NO_QUOTA = {f"RATE_{name}": "0/60" for name in ("OPEN", "COMPUTE", "READ", "WRITE")}


@contextmanager
def serving(folder: Path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = apart.environment(folder, **NO_QUOTA)
    command = [sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{port}", "--workers", "1", "--threads", "1"]
    server = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
    try:
        _wait_for(port, server)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=30)


def _wait_for(port: int, server: subprocess.Popen) -> None:
    for _ in range(240):
        assert server.poll() is None, "The server ended before it answered."
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=1):
                return
        except OSError:
            time.sleep(0.25)
    raise AssertionError("The server does not answer within a minute.")


def ask(connection: http.client.HTTPConnection, method: str, path: str, body: object, token: str = "") -> float:
    """Milliseconds that an answer took."""
    sent = None if body is None else json.dumps(body).encode()
    headers = {"Content-Type": "application/json"} if sent else {}
    if token:
        headers["Authorization"] = f"Bearer {token}"
    begun = time.perf_counter()
    connection.request(method, path, sent, headers)
    answer = connection.getresponse()
    content = answer.read()
    took_ms = (time.perf_counter() - begun) * 1000
    assert answer.status in (200, 201), content
    return took_ms


def show(took: dict[str, list[float]], rounds: int) -> None:
    """The table for docs/benchmarks.md; the first row is what the others are held against."""
    first = median(next(iter(took.values())))
    print(f"\n\n{rounds} rounds, one process, one thread, SQLite, Python {sys.version.split()[0]}\n")
    print("| asked | median ms | 95th percentile ms | times the empty view |")
    print("| --- | ---: | ---: | ---: |")
    for name, values in took.items():
        print(f"| {name} | {median(values):.2f} | {quantiles(values, n=20)[-1]:.2f} | {median(values) / first:.1f} |")
