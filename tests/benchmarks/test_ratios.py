"""What a plan and a mix cost, as multiples of a view that does nothing, on the same server at the same time.

    pytest -m drill -s tests/benchmarks

starts ``manage.py serve`` with one process and one thread on a free port, with its own database, and asks in turn,
so that whatever else the machine does slows all alike. The table goes into docs/benchmarks.md by hand. Nothing
passes or fails by the clock: a machine is no specification.
"""

import http.client

import pytest

from tests.benchmarks.server import ask, serving, show

pytestmark = pytest.mark.drill

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


def test_plans_and_mixes_against_an_empty_view(tmp_path):
    took: dict[str, list[float]] = {name: [] for name in ASKED}
    with serving(tmp_path) as port:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        for turn in range(WARM_UP + ROUNDS):
            for name, question in ASKED.items():
                took_ms = ask(connection, *question)
                if turn >= WARM_UP:
                    took[name].append(took_ms)
        connection.close()
    show(took, ROUNDS)
    assert all(len(values) == ROUNDS for values in took.values())
