"""Whoever follows the feed misses nothing, however long a change before takes to be committed.

Threads have connections of their own. PostgreSQL lets them write beside each other; SQLite has one writer at a time, so
that what is asked here holds by itself.
"""

import threading
import time

import pytest
from django.db import connection, transaction

from api.outbox.models import Change, ChangeCounter
from api.outbox.selectors import changes_page
from api.outbox.services import changed, unit, unit_of_work
from api.tenancy.scope import network_scope
from tests.api.outbox.conftest import touch
from tests.database import at_once
from tests.factories import make_site, make_two_networks

AT_ONCE = connection.vendor == "postgresql"


@pytest.fixture
def two(shared_database):
    return make_two_networks()


class Reader:
    """An app that follows the feed, a page at a time."""

    def __init__(self, network):
        self.network, self.after, self.read = network, 0, []

    def poll(self):
        with network_scope(self.network):
            page = changes_page(after=self.after, limit=2, kinds={"site"}, site_ids=None)
        self.read += [(change.position, change.data["name"]) for change in page.changes]
        self.after = page.next


def change_one(site, meanwhile=lambda: None, before_commit=lambda: None):
    """Change a site in a transaction that is kept open: before its position is taken, and after."""
    with network_scope(site.network_id), transaction.atomic():
        with unit_of_work():
            site.version += 1
            site.save(update_fields=["version"])
            changed(site)
            meanwhile()
        before_commit()


def follow_while_one_stays_open(network, *, open_when):
    """What a reader has read, and what is there, after one transaction stayed open while others came."""
    slow, quick = make_site(network, name="slow"), make_site(network, name="quick")
    reader = Reader(network)
    reader.poll()
    reader.poll()
    began, go_on = threading.Event(), threading.Event()

    def stay_open():
        began.set()
        assert go_on.wait(30)

    def first():
        change_one(slow, **{open_when: stay_open})

    def second():
        assert began.wait(30)
        touch(quick)
        touch(quick)

    def follow():
        assert began.wait(30)
        for _ in range(20):
            reader.poll()
            time.sleep(0.02)
        go_on.set()

    at_once(first, second, follow)
    for _ in range(3):
        reader.poll()
    with network_scope(network):
        there = changes_page(after=0, limit=100, kinds={"site"}, site_ids=None).changes
    return reader.read, [(change.position, change.data["name"]) for change in there]


@pytest.mark.parametrize("open_when", ["meanwhile", "before_commit"])
def test_nothing_is_missed_and_the_order_is_kept(two, open_when):
    read, there = follow_while_one_stays_open(two.own, open_when=open_when)
    assert read == there
    assert [position for position, _ in read] == [1, 2, 3, 4, 5]
    # Work before the position holds nobody up; what has taken its position is waited for.
    last = "slow" if AT_ONCE and open_when == "meanwhile" else "quick"
    assert read[-1][1] == last


def test_positions_taken_without_holding_them_until_the_commit_would_lose_one(two, monkeypatch):
    """That the test above can fail: here a position is taken apart from its transaction, as a sequence gives it."""
    if not AT_ONCE:  # SQLite's one writer would wait for itself; nobody can come between there
        return
    take = unit._positions
    monkeypatch.setattr(unit, "_positions", lambda network_id, count: at_once(lambda: take(network_id, count))[0])
    read, there = follow_while_one_stays_open(two.own, open_when="before_commit")
    assert [position for position, _ in there] == [1, 2, 3, 4, 5]
    assert (3, "slow") in there
    assert (3, "slow") not in read


def test_two_networks_do_not_wait_for_each_other(two):
    if not AT_ONCE:  # SQLite's one writer is everybody's
        return
    own, other = make_site(two.own), make_site(two.other)
    done = []

    def another_network():
        with connection.cursor() as cursor:
            cursor.execute("SET lock_timeout = '5s'")  # it would fail instead of waiting
        touch(other)
        done.append("other")

    change_one(own, before_commit=lambda: (at_once(another_network), done.append("own")))
    assert done == ["other", "own"]


def test_many_first_changes_at_once_have_each_its_position(two):
    """The counter's row is not there yet, and all of them want to make it."""
    sites = [make_site(two.own) for _ in range(6)]
    ChangeCounter.objects.all().delete()
    with network_scope(two.own):
        Change.objects.all().delete()
    together = threading.Barrier(6)

    def change(site):
        together.wait(30)
        touch(site)

    at_once(*[lambda site=site: change(site) for site in sites])
    with network_scope(two.own):
        assert [change.position for change in Change.objects.order_by("position")] == [1, 2, 3, 4, 5, 6]
