"""A site with a chick, whose days are told over the API; what the service does after each commit is done at once."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from api.alerts.models import Alert
from api.birds.models import Bird
from api.networks.models import Site
from api.outbox.models import Event
from api.tenancy.scope import network_scope
from api.web import clock
from tests.factories import TwoNetworks, bearer, make_bird, make_site, make_token, make_two_networks

#: A cockatiel near the middle of its kind, in grams. On day 11 it has lost a twentieth; then it gains again.
FALTERING = {5: 12.2, 6: 14.7, 7: 17.7, 8: 21.0, 9: 24.7, 10: 28.8, 11: 27.4, 12: 31.0, 13: 35.5, 14: 40.0}
HATCHED = datetime(2027, 4, 17, 6, 0, tzinfo=UTC)


def morning(day: float) -> datetime:
    """Before the first feed of a day of its life."""
    return HATCHED + timedelta(days=day)


def up_to(day: float) -> dict[float, float]:
    return {of: mass_g for of, mass_g in FALTERING.items() if of <= day}


@dataclass
class Chick:
    """A cockatiel in care, and a coordinator of its network who asks about it."""

    two: TwoNetworks
    site: Site
    bird: Bird
    api: Any
    after_commit: Any
    caller: dict[str, str] = field(init=False)

    def __post_init__(self):
        self.caller = bearer(make_token(self.two.member))

    def ask(self, method: str, address: str, body: Any = None, *, day: float, caller=None, **headers):
        """Ask the service on a morning of its life, and let it do what follows from it."""
        with clock.standing_at(morning(day)), self.after_commit(execute=True):
            send = getattr(self.api, method)
            return send(f"/api/v1/{address}", body, format="json", **(caller or self.caller), **headers)

    def record(self, kind: str, day: float, *, told_on: float | None = None, **fields) -> dict[str, Any]:
        """Record something of it, then or on a later day."""
        instant = "observed_at" if kind == "milestones" else "at"
        body = {"id": str(uuid4()), "bird_id": str(self.bird.uid), instant: morning(day).isoformat(), **fields}
        answer = self.ask("post", kind, body, day=day if told_on is None else told_on)
        assert answer.status_code == 201, answer.content
        return answer.json()

    def weigh(self, day: float, mass_g: float, **fields) -> dict[str, Any]:
        return self.record("weighings", day, mass_g=mass_g, **{"context": "before_first_feed", **fields})

    def live(self, days: dict[float, float]) -> None:
        """Weigh it morning by morning."""
        for day, mass_g in days.items():
            self.weigh(day, mass_g)

    def items(self, days: dict[float, float]) -> list[dict[str, Any]]:
        told = {"bird_id": str(self.bird.uid), "context": "before_first_feed"}
        return [{"id": str(uuid4()), "at": morning(day).isoformat(), "mass_g": g, **told} for day, g in days.items()]

    def grow(self, days: dict[float, float]) -> None:
        """Weigh it every morning, and tell all of it on the last."""
        answer = self.ask("post", "weighings/batch", {"items": self.items(days)}, day=max(days))
        assert answer.status_code == 201, answer.content

    def now(self, kind: str, record: dict[str, Any]) -> dict[str, Any]:
        """A record as it stands now."""
        return self.api.get(f"/api/v1/{kind}/{record['id']}", **self.caller).json()

    def correct(self, kind: str, record: dict[str, Any], *, day: float, **fields) -> None:
        version = self.now(kind, record)["version"]
        answer = self.ask("patch", f"{kind}/{record['id']}", fields, day=day, HTTP_IF_MATCH=f'"{version}"')
        assert answer.status_code == 200, answer.content

    def remove(self, kind: str, record: dict[str, Any], *, day: float) -> None:
        version = self.now(kind, record)["version"]
        answer = self.ask("delete", f"{kind}/{record['id']}", day=day, HTTP_IF_MATCH=f'"{version}"')
        assert answer.status_code == 204, answer.content

    def leave(self, day: float, kind: str = "released") -> None:
        body = {"kind": kind, "at": morning(day).isoformat()}
        version = self.now("birds", {"id": self.bird.uid})["version"]
        answer = self.ask("put", f"birds/{self.bird.uid}/outcome", body, day=day, HTTP_IF_MATCH=f'"{version}"')
        assert answer.status_code == 200, answer.content

    def say(self, alert, verb, body=None, *, day=11.0, **options):
        return self.ask("post", f"alerts/{alert['id']}/{verb}", body or {}, day=day, **options)

    def alerts(self, query: str = "", caller=None) -> list[dict[str, Any]]:
        answer = self.api.get(f"/api/v1/alerts{query}", **(caller or self.caller))
        assert answer.status_code == 200, answer.content
        return answer.json()["results"]

    def codes(self, query: str = "") -> list[str]:
        return sorted(alert["code"] for alert in self.alerts(query))

    def events(self) -> list[str]:
        """Names of the events of alerts, in order."""
        with network_scope(self.two.own):
            names = (
                Event.objects.filter(name__startswith="alert.")
                .order_by("at", "record_id", "version")
                .values_list("name", flat=True)
            )
            return list(names)

    def rows(self) -> list[Alert]:
        with network_scope(self.two.own):
            return list(Alert.objects.select_related("bird", "site", "acknowledged_by_user").order_by("row"))


def make_chick(api, two: TwoNetworks, site: Site, after_commit, **fields) -> Chick:
    """Hatched on the morning of 17 April, in care since its fifth day."""
    told = {"hatched_at": HATCHED, "intake": {"at": morning(5)}, **fields}
    with clock.standing_at(morning(5)):
        return Chick(two, site, make_bird(site, **told), api, after_commit)


@pytest.fixture
def two(built_in_species) -> TwoNetworks:
    return make_two_networks()


@pytest.fixture
def site(two) -> Site:
    return make_site(two.own, name="Nursery")


@pytest.fixture
def chick(api, two, site, django_capture_on_commit_callbacks) -> Chick:
    return make_chick(api, two, site, django_capture_on_commit_callbacks, name="Pip")


@pytest.fixture
def alert(chick):
    """The alert of a chick that has lost weight this morning."""
    chick.grow(up_to(10))
    chick.weigh(11, FALTERING[11])
    (found,) = chick.alerts()
    return found
