"""A network with birds, weighings and alerts, as the rooms below keep them."""

from datetime import UTC, date, datetime, time, timedelta

from api.alerts.models import Alert
from api.birds.models import Bird, Weighing
from api.jobs.rules.due import Slot, slot_of
from api.networks.models import Site
from api.tenancy.models import Network
from api.tenancy.scope import network_scope
from species.domain.localtime import zone_named
from tests.factories import make_network

ON = date(2027, 5, 2)
#: 07:00 in Lisbon on 2 May 2027 (UTC+1).
MORNING = datetime(2027, 5, 2, 6, 0, tzinfo=UTC)


def founded(at: datetime = MORNING - timedelta(days=60), **fields) -> Network:
    """A network that has been there for a while; its report is due at 07:00 in Lisbon."""
    network = make_network(**{"name": "Long Meadow Bird Rescue", "slug": "", **fields})
    network.created_at = at
    network.save()
    return network


def slot(on: date = ON, *, zone: str = "Europe/Lisbon", clock: time = time(7)) -> Slot:
    found = slot_of(on, zone_named(zone), clock)
    assert found is not None
    return found


def site_in(network: Network, name: str = "Mill Cottage", **fields) -> Site:
    with network_scope(network):
        return Site.objects.create(**{"name": name, "kind": "home", "time_zone": "Europe/Lisbon", **fields})


def bird_at(site: Site, name: str = "Quill", *, masses_g: tuple[float, ...] = (22.0, 24.5, 26.0), **fields) -> Bird:
    """A cockatiel of 9 days, weighed every morning up to yesterday's."""
    told = {
        "name": name,
        "site": site,
        "species": "nymphicus-hollandicus",
        "hatched_on": ON - timedelta(days=9),
        "intake_at": MORNING - timedelta(days=8),
        "origin": "captive",
        **fields,
    }
    with network_scope(site.network_id):
        bird = Bird.objects.create(**told)
        for n, mass_g in enumerate(reversed(masses_g), start=1):
            weigh(bird, mass_g, at=MORNING - timedelta(days=n))
    return bird


def weigh(bird: Bird, mass_g: float, *, at: datetime, state: str = "accepted") -> Weighing:
    with network_scope(bird.network_id):
        return Weighing.objects.create(bird=bird, at=at, mass_g=mass_g, state=state, context="before_first_feed")


def alert_of(bird: Bird, **fields) -> Alert:
    opened = MORNING - timedelta(hours=10)
    told = {
        "bird": bird,
        "site": bird.site,
        "code": "no_gain",
        "severity": "act_today",
        "since": opened - timedelta(days=1),
        "opened_at": opened,
        "last_found_at": opened,
        "act_within_h": 8.0,
        "text": "No gain for 2 mornings: 26 g.",
        "actions": ["Weigh again on the same scale, crop empty."],
        **fields,
    }
    with network_scope(bird.network_id):
        return Alert.objects.create(**told)


def left(bird: Bird, *, at: datetime, recorded_at: datetime, kind: str = "released", **told) -> None:
    """An outcome, and when it was written down."""
    with network_scope(bird.network_id):
        Bird.objects.filter(pk=bird.pk).update(
            outcome_kind=kind, outcome_at=at, outcome_told=told or None, changed_at=recorded_at
        )
