"""A change and all that it leaves are committed together, or not at all."""

import pytest
from django.db import transaction

from api.networks.models import Site
from api.outbox.models import Change, Delivery, Event, Op, RecordVersion
from api.outbox.services import By, changed, happened, letter_send, record_remove, unit_of_work
from api.tenancy.scope import NetworkScopeMissing, network_scope
from tests.api.outbox.conftest import rows, touch
from tests.database import every_value
from tests.factories import make_network, make_site


def test_a_change_leaves_a_version_a_line_of_the_feed_an_event_and_its_deliveries(two, site, heard, standing_clock):
    heard("site.painted", name="tests.one")
    heard("site.painted", "site.sold", name="tests.two")
    heard("site.sold", name="tests.three")
    with network_scope(two.own), unit_of_work(By(user_id=two.member.user_id)):
        site.version = 2
        changed(site, event="site.painted", site_id=site.uid, data={"colour": "green"})
        told = site.told()
    version, change = rows(RecordVersion)[-1], rows(Change)[-1]
    for row in (version, change):
        assert (row.kind, row.record_id, row.version, row.op) == ("site", site.uid, 2, Op.PUT)
        assert (row.network_id, row.at, row.data) == (two.own.pk, standing_clock, told)
    assert (version.actor_id, version.client_id) == (two.member.user_id, None)
    assert (change.position, change.site_id, change.sight_only) == (2, site.uid, False)
    [event] = rows(Event)
    assert (event.name, event.record_id, event.version) == ("site.painted", site.uid, 2)
    assert event.data == {
        "id": str(site.uid),
        "network_id": str(two.own.pk),
        "href": f"/api/v1/sites/{site.uid}",
        "version": 2,
        "colour": "green",
    }
    assert {row.subscriber for row in rows(Delivery)} == {"tests.one", "tests.two"}


def test_what_is_removed_is_gone_in_the_feed_and_stands_in_its_versions(two, site):
    with network_scope(two.own), unit_of_work():
        record_remove(site, site_id=site.uid)
    version, change = rows(RecordVersion)[-1], rows(Change)[-1]
    assert (change.op, change.data, change.version) == (Op.GONE, None, 2)
    assert (version.op, version.data["name"]) == (Op.GONE, "Nursery")


@pytest.mark.parametrize("within", ["the unit", "the transaction around it"])
def test_a_unit_that_fails_leaves_nothing_in_any_table(transactional_db, two, site, heard, within):
    events = heard("site.painted")
    before = every_value()

    def fail():
        with transaction.atomic(), network_scope(two.own):
            with unit_of_work():
                site.name, site.version = "Painted", 2
                site.save()
                changed(site, event="site.painted", site_id=site.uid)
                happened("site.sold", record_id=site.uid, version=1, href="/")
                letter_send(subject="Sold", text="Sold", html="<p>Sold</p>", recipients=["a@example.org"])
                if within == "the unit":
                    raise OSError
            raise OSError

    pytest.raises(OSError, fail)
    assert every_value() == before
    assert events == []


def test_a_unit_inside_a_unit_is_part_of_it(two, site, heard, standing_clock):
    heard("site.painted")
    with network_scope(two.own), unit_of_work(By(user_id=two.member.user_id)):
        with unit_of_work(By()):
            site.version = 2
            changed(site, event="site.painted")
        assert len(rows(Change)) == 1, "written at the end of the outer one"
        site.version = 3
        changed(site)
    assert [row.actor_id for row in rows(RecordVersion)][1:] == [two.member.user_id] * 2
    assert [row.position for row in rows(Change)] == [1, 2, 3]


def test_whoever_catches_a_failure_of_an_inner_unit_fails_too(two, site):
    before = every_value()

    def carry_on():
        with network_scope(two.own), unit_of_work():
            try:
                with unit_of_work():
                    changed(site)
                    raise OSError
            except OSError:
                Site.objects.update(name="Painted")

    with pytest.raises(RuntimeError, match="has failed"):
        carry_on()
    assert every_value() == before


def test_a_change_outside_a_unit_or_a_network_is_refused(two, site):
    with network_scope(two.own), pytest.raises(RuntimeError, match=r"inside unit_of_work\(\)"):
        changed(site)
    with pytest.raises(NetworkScopeMissing):
        unit_of_work().__enter__()


def test_a_unit_is_one_networks(two, site):
    def crossing():
        with network_scope(two.own), unit_of_work(), network_scope(two.other):
            changed(site)

    with pytest.raises(RuntimeError, match="one network's"):
        crossing()


def test_each_network_counts_its_own_positions(two, site):
    other = make_site(two.other)
    touch(site)
    touch(other, times=2)
    touch(site)
    by_network = {two.own.pk: [], two.other.pk: []}
    for row in rows(Change):
        by_network[row.network_id].append(row.position)
    assert by_network == {two.own.pk: [1, 2, 3], two.other.pk: [1, 2, 3]}


def test_an_event_alone_takes_no_position(db):
    network = make_network()
    with network_scope(network), unit_of_work():
        happened("network.looked_at", record_id=network.pk, version=1, href="/")
    assert rows(Change) == []
    assert [(row.name, row.network_id) for row in rows(Event)] == [("network.looked_at", network.pk)]
