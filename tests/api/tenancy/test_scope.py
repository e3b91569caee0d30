"""Rows of a network are closed by default."""

import logging

import pytest

from api.networks.models import Membership
from api.tenancy.models import AuditEntry
from api.tenancy.scope import NetworkScopeMissing, all_networks, current_network_id, network_scope
from tests.factories import make_member, make_two_networks

pytestmark = pytest.mark.django_db


@pytest.fixture
def two():
    return make_two_networks()


@pytest.mark.parametrize("read", ["all", "count", "exists", "first"])
def test_an_unscoped_read_raises(two, read):
    with pytest.raises(NetworkScopeMissing, match="Membership"):
        getattr(Membership.objects, read)()


def test_an_unscoped_write_raises(two):
    with pytest.raises(NetworkScopeMissing):
        Membership.objects.create(user=two.member.user, role="vet")


def test_within_a_scope_only_its_own_rows_are_seen(two):
    with network_scope(two.own):
        assert list(Membership.objects.all()) == [two.member]
        assert not Membership.objects.filter(pk=two.stranger.pk).exists()


def test_a_new_row_belongs_to_the_network_in_scope(two):
    with network_scope(two.other):
        entry = AuditEntry(action="x", object_kind="y", object_id="z")
    assert entry.network_id == two.other.pk


def test_scopes_nest_and_close(two):
    with network_scope(two.own):
        with network_scope(two.other):
            assert current_network_id() == two.other.pk
        assert current_network_id() == two.own.pk
    with pytest.raises(NetworkScopeMissing):
        current_network_id()


def test_a_scope_closes_when_work_fails(two):
    with pytest.raises(ZeroDivisionError), network_scope(two.own):
        raise ZeroDivisionError
    with pytest.raises(NetworkScopeMissing):
        Membership.objects.count()


def test_all_networks_are_seen_for_a_logged_reason_only(two, caplog):
    with caplog.at_level(logging.INFO, logger="api.tenancy.scope"), all_networks("nightly reports"):
        assert Membership.objects.count() == 2
        with pytest.raises(NetworkScopeMissing):
            current_network_id()
    assert "every network in scope: nightly reports" in caplog.text
    with pytest.raises(ValueError, match="Say why"), all_networks(" "):
        pass


def test_another_thread_has_no_scope(two):
    from threading import Thread

    seen = []

    def look():
        try:
            current_network_id()
        except NetworkScopeMissing:
            seen.append("closed")

    with network_scope(two.own):
        thread = Thread(target=look)
        thread.start()
        thread.join()
    assert seen == ["closed"]


def test_members_of_both_networks_are_told_apart(two):
    make_member(two.own)
    with network_scope(two.own):
        assert Membership.objects.count() == 2
    with network_scope(two.other):
        assert Membership.objects.count() == 1
