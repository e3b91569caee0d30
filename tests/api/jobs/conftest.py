"""A network, and a kind of job that notes what it did."""

import pytest

from api.jobs import registry
from api.jobs.models import Job
from api.jobs.registry import QUEUES, Kind
from api.tenancy.models import AuditEntry, Network
from api.tenancy.scope import current_network_id
from api.web import clock
from tests.factories import make_network

KIND = "tests.look"


class Looks:
    """What a kind of job does, and how often it has been asked to."""

    def __init__(self):
        self.asked = []
        self.meanwhile = lambda job: None

    def run(self, job: Job) -> None:
        self.asked.append(job.pk)
        AuditEntry(action="looked", object_kind="job", object_id=str(job.pk)).save()
        assert current_network_id() == job.network_id
        self.meanwhile(job)


@pytest.fixture
def looks(monkeypatch):
    """The only kind there is, without turns of its own."""
    found = Looks()
    monkeypatch.setattr(registry, "KINDS", {KIND: Kind(KIND, found.run, lambda now: [])})
    monkeypatch.setattr("api.jobs.services.KINDS", registry.KINDS)
    monkeypatch.setattr("api.jobs.services.SWEEPS", {})
    return found


@pytest.fixture
def network(db) -> Network:
    return make_network()


@pytest.fixture
def job(network) -> Job:
    return Job.objects.create(kind=KIND, network=network, slot="2027-05-02", due_at=clock.now())


@pytest.fixture
def jobs():
    return QUEUES["jobs"]


def effects() -> int:
    """How many times the work has left its mark in the database."""
    return AuditEntry._base_manager.filter(action="looked").count()
