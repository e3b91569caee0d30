"""Callers of each role in one of two networks."""

import pytest

from api.networks.models import Role
from tests.factories import bearer, make_member, make_token, make_two_networks


@pytest.fixture
def two():
    return make_two_networks()


@pytest.fixture
def caller(two):
    return bearer(make_token(two.member))


@pytest.fixture
def of_role(two):
    return {role: bearer(make_token(make_member(two.own, role=role))) for role in Role.values}
