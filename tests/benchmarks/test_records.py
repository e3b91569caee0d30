"""What records cost, as multiples of a view that does nothing: a list, a weighing with its alert, a stored bird's plan.

    pytest -m drill -s tests/benchmarks/test_records.py

The table goes into docs/benchmarks.md by hand; nothing passes or fails by the clock.
"""

import http.client
import subprocess
import sys
from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from api.web import clock
from tests import apart
from tests.benchmarks.server import ROOT, ask, serving, show

pytestmark = pytest.mark.drill

ROUNDS = 100
WARM_UP = 10
BIRDS = 200
MAKE_A_NETWORK = """
from api.networks.services import member_add, network_create, token_issue
from api.tenancy.models import User
from api.tenancy.scopes import SCOPES
network = network_create(name="Measured", time_zone="Europe/Lisbon")
member = member_add(network=network, user=User.objects.create_user("measured@example.org"), role="coordinator")
print("token", token_issue(member=member, scopes=SCOPES))
"""
#: A cockatiel that stands still from its twelfth day on: every further weighing finds it behind.
STANDING_STILL_G = [4.6, 5.4, 6.6, 8.2, 10.1, 12.4, 14.9, 17.7, 20.8, 24.6, 28.7, 29.1, 28.8, 28.9]


def token_for(folder) -> str:
    command = [sys.executable, "manage.py", "shell", "-c", MAKE_A_NETWORK]
    made = subprocess.run(
        command, cwd=ROOT, env=apart.environment(folder), check=True, capture_output=True, text=True, timeout=120
    )
    return next(line.split()[1] for line in made.stdout.splitlines() if line.startswith("token "))


def a_bird(name: str, site_id: str, hatched_at: datetime) -> dict:
    return {
        "id": str(uuid4()),
        "name": name,
        "site_id": site_id,
        "species": "nymphicus-hollandicus",
        "hatched_at": hatched_at.isoformat(),
        "intake": {"at": hatched_at.isoformat()},
    }


def test_records_against_an_empty_view(tmp_path):
    begun = clock.now() - timedelta(days=len(STANDING_STILL_G))
    site_id, watched = str(uuid4()), a_bird("Standing", "", begun)
    with serving(tmp_path) as port:
        token = token_for(tmp_path)
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        ask(connection, "POST", "/api/v1/sites", {"id": site_id, "name": "Loft", "kind": "home"}, token)
        birds = [a_bird(f"Bird {number}", site_id, begun) for number in range(BIRDS - 1)]
        ask(connection, "POST", "/api/v1/birds/batch", {"items": [*birds, {**watched, "site_id": site_id}]}, token)

        def weighing(at: datetime, mass_g: float) -> dict:
            return {"id": str(uuid4()), "bird_id": watched["id"], "at": at.isoformat(), "mass_g": mass_g}

        record = [weighing(begun + timedelta(days=day), mass) for day, mass in enumerate(STANDING_STILL_G)]
        ask(connection, "POST", "/api/v1/weighings/batch", {"items": record}, token)
        took: dict[str, list[float]] = {}
        for turn in range(WARM_UP + ROUNDS):
            again = weighing(begun + timedelta(days=len(STANDING_STILL_G) - 1, minutes=1 + turn), 28.9)
            for name, question in {
                "empty view": ("GET", "/api/v1/health", None),
                f"a list of {BIRDS} birds": ("GET", f"/api/v1/birds?limit={BIRDS}", None),
                "a weighing, its growth looked at, its alert kept": ("POST", "/api/v1/weighings", again),
                "the plan of a stored bird": ("GET", f"/api/v1/birds/{watched['id']}/feeding-plan", None),
            }.items():
                took_ms = ask(connection, *question, token=token)
                if turn >= WARM_UP:
                    took.setdefault(name, []).append(took_ms)
        connection.close()
    show(took, ROUNDS)
    assert all(len(values) == ROUNDS for values in took.values())
