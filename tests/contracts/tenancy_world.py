"""One network with one record of every kind, made over HTTP as an app would, and the ids that name them."""

from dataclasses import dataclass, field
from datetime import timedelta
from uuid import uuid4

from rest_framework.test import APIClient

from api.alerts.models import Alert
from api.birds.models import Bird
from api.jobs.rules.due import latest_slot
from api.networks.models import Site
from api.reports.services import report_compose
from api.tenancy.scope import network_scope
from api.web import clock
from species.domain.localtime import zone_named
from tests.factories import TwoNetworks, bearer, make_token


@dataclass
class World:
    """Ids of one network's records, by the first part of their address, and its people."""

    two: TwoNetworks
    ids: dict[str, str] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)


def make_world(two: TwoNetworks) -> World:
    world, now = World(two), clock.now()
    caller = bearer(make_token(two.member))
    api = APIClient()

    def post(address: str, body: dict, name: str | None = None) -> None:
        made = {"id": str(uuid4()), **body}
        answer = api.post(f"/api/v1/{address}", made, format="json", **caller)
        assert answer.status_code == 201, answer.content
        world.ids[name or address] = made["id"]

    world.ids["members"] = str(two.member.pk)
    post("sites", {"name": "Secret site", "kind": "home"}, "site in use")
    post("sites", {"name": "Second secret site", "kind": "centre"})
    post(
        "formulas",
        {"key": "secret-powder", "name": "Secret powder", "dry_matter_fraction": 0.92, "energy_kj_per_g_dm": 16.9},
    )
    bird = {
        "name": "Secret bird",
        "site_id": world.ids["site in use"],
        "species": "nymphicus-hollandicus",
        "hatched_at": (now - timedelta(days=10)).isoformat(),
        "intake": {"at": (now - timedelta(days=9)).isoformat()},
    }
    post("birds", bird)
    post("birds", {**bird, "name": "Spare secret bird"}, "bird without records")
    post("birds", {**bird, "name": "Secret bird set free"}, "bird that left")
    left = api.put(
        f"/api/v1/birds/{world.ids['bird that left']}/outcome",
        {"kind": "released", "at": (now - timedelta(hours=2)).isoformat()},
        format="json",
        HTTP_IF_MATCH="*",
        **caller,
    )
    assert left.status_code == 200, left.content
    of_bird = {"bird_id": world.ids["birds"]}
    at = (now - timedelta(hours=1)).isoformat()
    post("weighings", {**of_bird, "at": at, "mass_g": 28.5})
    post("feeds", {**of_bird, "at": at, "volume_ml": 2.5})
    post("crop-checks", {**of_bird, "at": at, "crop": "empty"})
    post("milestones", {**of_bird, "key": "eyes_open", "observed_at": at})
    world.ids["alerts"] = alert_row(two, world.ids["birds"])
    world.ids["reports"] = report_row(two)
    world.texts = ["Secret", two.own.name, two.member.user.email]
    return world


def report_row(two: TwoNetworks, *, days_ago: int = 0) -> str:
    """A report of a morning, composed as any is."""
    then = clock.now() - timedelta(days=days_ago)
    slot = latest_slot(then, zone_named(two.own.time_zone), two.own.report_at)
    return str(report_compose(network=two.own, slot=slot).pk)


def alert_row(two: TwoNetworks, bird_id: str) -> str:
    """An alert as it stands in its row: what opens one is the alerts' own affair."""
    now = clock.now()
    with network_scope(two.own):
        alert = Alert(
            bird=Bird.objects.get(uid=bird_id),
            site=Site.objects.get(name="Secret site"),
            code="no_gain",
            severity="act_today",
            since=now,
            opened_at=now,
            last_found_at=now,
            text="Secret finding.",
        )
        alert.save(force_insert=True)
    return str(alert.uid)
