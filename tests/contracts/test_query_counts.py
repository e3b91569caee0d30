"""How many queries a request takes, fixed in a file: a loop over rows shows at once.

Every list is asked for with 3 rows and with 30, and what is computed for a stored bird with 3 weighings and with 30.
``UPDATE_QUERY_COUNTS=1`` writes the file anew; its change is then read in review.
"""

import json
import os
from collections.abc import Callable
from datetime import timedelta
from itertools import count
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.web import clock
from tests.contracts.tenancy_world import World, alert_row, make_world, report_row
from tests.factories import bearer, make_member, make_token, make_two_networks

FILE = Path(__file__).with_name("query_counts.json")
FEW, MANY = 3, 30
_numbers = count(1)

More = Callable[["Told", int], None]


class Told:
    """A network with one record of every kind, and ways to add more."""

    def __init__(self, api) -> None:
        self.api, self.two = api, make_two_networks()
        self.world: World = make_world(self.two)
        self.caller = bearer(make_token(self.two.member))
        self.now = clock.now()

    def post(self, address: str, body: dict) -> dict:
        answer = self.api.post(f"/api/v1/{address}", {"id": str(uuid4()), **body}, format="json", **self.caller)
        assert answer.status_code == 201, answer.content
        return answer.json()

    def bird(self) -> str:
        told = {
            "name": f"Bird {next(_numbers)}",
            "site_id": self.world.ids["site in use"],
            "species": "nymphicus-hollandicus",
            "hatched_at": (self.now - timedelta(days=40)).isoformat(),
        }
        return self.post("birds", told)["id"]

    def at(self) -> str:
        return (self.now - timedelta(hours=next(_numbers) % 800 + 1)).isoformat()


def members(told: Told, rows: int) -> None:
    for _ in range(rows):
        make_member(told.two.own)


def sites(told: Told, rows: int) -> None:
    for _ in range(rows):
        told.post("sites", {"name": "Loft", "kind": "home", "carer_ids": [told.world.ids["members"]]})


def formulas(told: Told, rows: int) -> None:
    for _ in range(rows):
        powder = {"dry_matter_fraction": 0.9, "energy_kj_per_g_dm": 17.0}
        told.post("formulas", {"key": f"powder-{next(_numbers)}", "name": "Powder", **powder})


def birds(told: Told, rows: int) -> None:
    for _ in range(rows):
        told.bird()


def of_many_birds(address: str, body: dict) -> More:
    """Records of as many birds: what is read once for each bird would show."""

    def more(told: Told, rows: int) -> None:
        name = "observed_at" if address == "milestones" else "at"
        for _ in range(rows):
            bird_id = told.bird()
            told.post(address, {"bird_id": bird_id, name: (told.now - timedelta(hours=2)).isoformat(), **body})

    return more


def alerts(told: Told, rows: int) -> None:
    for _ in range(rows):
        alert_row(told.two, told.bird())


def reports(told: Told, rows: int) -> None:
    for _ in range(rows):
        report_row(told.two, days_ago=next(_numbers) + 1)


def weighings_of_the_bird(told: Told, rows: int) -> None:
    for _ in range(rows):
        number = next(_numbers)
        at = told.now - timedelta(minutes=20 + number)
        told.post("weighings", {"bird_id": told.world.ids["birds"], "at": at.isoformat(), "mass_g": 28.4})


def nothing(told: Told, rows: int) -> None:
    """The health of the process has no rows."""


REQUESTS: dict[str, tuple[str, More]] = {
    "GET /api/v1/health": ("health", nothing),
    "GET /api/v1/members": ("members?limit=200", members),
    "GET /api/v1/sites": ("sites?limit=200", sites),
    "GET /api/v1/formulas": ("formulas?limit=200", formulas),
    "GET /api/v1/birds": ("birds?limit=200", birds),
    "GET /api/v1/weighings": ("weighings?limit=200", of_many_birds("weighings", {"mass_g": 40.0})),
    "GET /api/v1/feeds": ("feeds?limit=200", of_many_birds("feeds", {"volume_ml": 4.0})),
    "GET /api/v1/crop-checks": ("crop-checks?limit=200", of_many_birds("crop-checks", {"crop": "empty"})),
    "GET /api/v1/milestones": ("milestones?limit=200", of_many_birds("milestones", {"key": "eyes_open"})),
    "GET /api/v1/alerts": ("alerts?limit=200", alerts),
    "GET /api/v1/reports": ("reports?limit=200", reports),
    "GET /api/v1/changes": ("changes?limit=200", birds),
    "GET /api/v1/birds/{id}/versions": ("birds/{}/versions", nothing),
    "GET /api/v1/birds/{id}/feeding-plan": ("birds/{}/feeding-plan", weighings_of_the_bird),
    "GET /api/v1/birds/{id}/growth": ("birds/{}/growth", weighings_of_the_bird),
}


def counted(told: Told, address: str) -> int:
    path = f"/api/v1/{address.replace('{}', told.world.ids['birds'])}"
    told.api.get(path, **told.caller)  # what is read once a process is not counted
    with CaptureQueriesContext(connection) as queries:
        assert told.api.get(path, **told.caller).status_code == 200
    return len(queries)


@pytest.fixture
def told(api, db, standing_clock):
    call_command("packs_load", verbosity=0)
    return Told(api)


@pytest.mark.parametrize("name", REQUESTS)
def test_the_count_is_the_one_in_the_file_and_does_not_grow_with_the_rows(told, name):
    address, more = REQUESTS[name]
    counts = []
    for rows in (FEW, MANY - FEW):
        more(told, rows)
        counts.append(counted(told, address))
    assert counts[0] == counts[1]
    fixed = json.loads(FILE.read_text()) if FILE.exists() else {}
    if os.environ.get("UPDATE_QUERY_COUNTS") == "1":
        FILE.write_text(json.dumps({**fixed, name: counts[0]}, indent=2, sort_keys=True) + "\n")
        fixed[name] = counts[0]
    assert counts[0] == fixed[name]


def test_the_file_holds_nothing_else():
    assert set(json.loads(FILE.read_text())) == set(REQUESTS)
