"""What a plan and a mix cost, as multiples of a view that does nothing, on the same server at the same time.

    pytest -m drill -s tests/benchmarks

starts ``manage.py serve`` with one process and one thread on a free port, with its own database, and asks in turn,
so that whatever else the machine does slows all alike. The table goes into docs/benchmarks.md by hand. Nothing
passes or fails by the clock: a machine is no specification.
"""

import http.client
import json
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from statistics import median, quantiles

import pytest

from tests import apart

pytestmark = pytest.mark.drill

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 400
WARM_UP = 20

PLAN = {
    "species": "columba-livia",
    "age_days": 9,
    "mass_g": 118,
    "on": "2027-05-02",
    "time_zone": "Europe/Lisbon",
    "condition": {"body": "warm", "hydration": "normal", "crop": "empty"},
}
MIX = {
    "portions": [
        {"label": f"bird {number}", "volume_ml": 6 + number, "dry_matter_fraction": 0.25} for number in range(6)
    ],
    "formula_key": "parrot-rearing-powder",
}
ASKED = {
    "empty view": ("GET", "/api/v1/health", None),
    "a plan": ("POST", "/api/v1/feeding-plans", PLAN),
    "a meal of insects": (
        "POST",
        "/api/v1/feeding-plans",
        PLAN | {"species": "apus-apus", "mass_g": 24, "condition": PLAN["condition"] | {"crop": "no_crop"}},
    ),
    "a plan by a link": (
        "GET",
        "/api/v1/species/columba-livia/feeding-plan?age_days=9&mass_g=118&on=2027-05-02",
        None,
    ),
    "a mix for six": ("POST", "/api/v1/mixes", MIX),
}


@contextmanager
def serving(folder: Path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = apart.environment(folder, RATE_OPEN="0/60", RATE_COMPUTE="0/60")
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


def _ask(connection: http.client.HTTPConnection, method: str, path: str, body: object) -> float:
    sent = None if body is None else json.dumps(body).encode()
    begun = time.perf_counter()
    connection.request(method, path, sent, {"Content-Type": "application/json"} if sent else {})
    answer = connection.getresponse()
    content = answer.read()
    took_ms = (time.perf_counter() - begun) * 1000
    assert answer.status == 200, content
    return took_ms


def test_plans_and_mixes_against_an_empty_view(tmp_path):
    took: dict[str, list[float]] = {name: [] for name in ASKED}
    with serving(tmp_path) as port:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        for turn in range(WARM_UP + ROUNDS):
            for name, question in ASKED.items():
                took_ms = _ask(connection, *question)
                if turn >= WARM_UP:
                    took[name].append(took_ms)
        connection.close()
    empty = median(took["empty view"])
    print(f"\n\n{ROUNDS} rounds, one process, one thread, SQLite, Python {sys.version.split()[0]}\n")
    print("| asked | median ms | 95th percentile ms | times the empty view |")
    print("| --- | ---: | ---: | ---: |")
    for name, values in took.items():
        print(f"| {name} | {median(values):.2f} | {quantiles(values, n=20)[-1]:.2f} | {median(values) / empty:.1f} |")
    assert all(len(values) == ROUNDS for values in took.values())
