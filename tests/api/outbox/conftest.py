"""Two networks with a site each, and what a test hears of them."""

import pytest

from api.outbox import registry
from api.outbox.models import Event
from api.outbox.services import changed, unit_of_work
from api.tenancy.scope import all_networks, network_scope
from tests.factories import bearer, make_site, make_token, make_two_networks

CHANGES = "/api/v1/changes"


@pytest.fixture
def two(db):
    return make_two_networks()


@pytest.fixture
def site(two):
    return make_site(two.own, name="Nursery")


@pytest.fixture
def caller(two):
    return bearer(make_token(two.member))


@pytest.fixture
def heard(monkeypatch):
    """Registers subscribers for one test; they note the events they hear of."""
    monkeypatch.setattr(registry, "SUBSCRIBERS", {})
    monkeypatch.setattr("api.outbox.services.relay.SUBSCRIBERS", registry.SUBSCRIBERS)
    events: list[Event] = []

    def hear(*names, name="tests.ear", handle=events.append, **options):
        registry.subscribe(*names, name=name, handle=handle, **options)
        return events

    return hear


def touch(site, *, event=None, times=1, **data):
    """Note so many changes of a site, as its service would."""
    with network_scope(site.network_id), unit_of_work():
        for _ in range(times):
            site.version += 1
            site.save(update_fields=["version"])
            changed(site, event=event, site_id=site.uid, data=data)


def rows(model):
    with all_networks("a test looks at what is there"):
        return list(model._base_manager.all())
