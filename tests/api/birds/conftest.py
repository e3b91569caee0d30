"""Two networks with a site each, and callers of the first."""

import json
from uuid import uuid4

import pytest

from tests.factories import bearer, make_bird, make_member, make_site, make_token, make_two_networks


@pytest.fixture
def two(built_in_species, standing_clock):
    return make_two_networks()


@pytest.fixture
def site(two):
    return make_site(two.own, name="Nursery")


@pytest.fixture
def caller(two):
    return bearer(make_token(two.member))


@pytest.fixture
def bird(site):
    return make_bird(site, name="Pip")


@pytest.fixture
def foreign(two):
    """A bird of the other network."""
    return make_bird(make_site(two.other))


@pytest.fixture
def carer(two, site):
    """A carer of a second site, which has a bird of its own."""
    member = make_member(two.own, role="carer")
    home = make_site(two.own, name="Ana's home", kind="home", carers=(member,))
    return bearer(make_token(member)), home, make_bird(home, name="Ana's own")


def key():
    return {"HTTP_IDEMPOTENCY_KEY": str(uuid4())}


def match(version):
    return {"HTTP_IF_MATCH": f'"{version}"'}


def refused(answer, status, code, pointer=""):
    """Hold an answer to be a problem with a fault of this code at this place."""
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    faults = [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]]
    assert (code, pointer) in faults, answer.json()


def problem(answer):
    """A problem without what differs from one request to the next."""
    told = json.loads(answer.content)
    told.pop("instance")
    return answer.status_code, answer["Content-Type"], told
