"""A site with a chick, whose days are told as records; what the service does after each commit is done at once."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from api.alerts.models import Alert
from api.birds.models import Bird
from api.networks.models import Site
from api.outbox.models import Event
from api.tenancy.scope import network_scope
from api.web import clock
from tests.factories import TwoNetworks, bearer, make_bird, make_site, make_token, make_two_networks, make_weighing

#: A cockatiel near the middle of its kind, in grams. On day 16 it has lost a twentieth; then it gains again.
FALTERING = {10: 28.8, 11: 33.3, 12: 38.1, 13: 42.9, 14: 47.8, 15: 52.6, 16: 50.0, 17: 54.5, 18: 59.0, 19: 63.0}
HATCHED = datetime(2027, 4, 12, 6, 0, tzinfo=UTC)


def morning(day: float) -> datetime:
    return HATCHED + timedelta(days=day)


@dataclass
class Chick:
    """A cockatiel in care, asked about over the API as a coordinator of its network."""

    two: TwoNetworks
    site: Site
    bird: Bird
    api: Any
    after_commit: Any
    caller: dict[str, str] = field(init=False)

    def __post_init__(self):
        self.caller = bearer(make_token(self.two.member))

    def weigh(self, day: float, mass_g: float, *, seen_on: float | None = None, **fields):
        """Weigh it on a morning of its life; told to the service then, or on a later day."""
        with clock.standing_at(morning(day if seen_on is None else seen_on)), self.after_commit(execute=True):
            return make_weighing(self.bird, mass_g, at=morning(day), **fields)

    def live(self, days: dict[int, float]):
        for day, mass_g in days.items():
            self.weigh(day, mass_g)

    def alerts(self, query: str = "") -> list[dict[str, Any]]:
        answer = self.api.get(f"/api/v1/alerts{query}", **self.caller)
        assert answer.status_code == 200, answer.content
        return answer.json()["results"]

    def codes(self, query: str = "") -> list[str]:
        return sorted(alert["code"] for alert in self.alerts(query))

    def say(self, alert, verb, body=None, *, day=16.0, caller=None, **headers):
        with clock.standing_at(morning(day)), self.after_commit(execute=True):
            return self.api.post(
                f"/api/v1/alerts/{alert['id']}/{verb}",
                body or {},
                format="json",
                **(caller or self.caller),
                **headers,
            )

    def events(self) -> list[str]:
        """Names of the alert's events, in order."""
        with network_scope(self.two.own):
            return [event.name for event in Event.objects.order_by("at", "pk") if event.name.startswith("alert.")]

    def rows(self) -> list[Alert]:
        with network_scope(self.two.own):
            return list(Alert.objects.select_related("bird", "site").order_by("row"))


@pytest.fixture
def chick(api, built_in_species, django_capture_on_commit_callbacks) -> Chick:
    """Hatched on the morning of 12 April, in care since its tenth day."""
    two = make_two_networks()
    site = make_site(two.own)
    with clock.standing_at(morning(10)):
        bird = make_bird(site, name="Pip", hatched_at=HATCHED, intake={"at": morning(10)})
    return Chick(two, site, bird, api, django_capture_on_commit_callbacks)
