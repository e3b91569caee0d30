"""GET /api/v1/changes: whoever keeps a copy hears of every change that the token may see, and of no other."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.apps import apps

from api.birds.services import bird_move
from api.jobs.services import dispatch
from api.networks.rules.feed import KINDS_OF_SCOPE, kinds_seen
from api.networks.services import site_change, site_remove
from api.outbox import selectors
from api.outbox.models import Change
from api.outbox.services import changed, changes_expire, unit_of_work
from api.tenancy.models import NetworkRecord
from api.tenancy.scope import network_scope
from api.tenancy.scopes import SCOPES
from api.web import clock
from tests.api.outbox.conftest import CHANGES, rows, touch
from tests.factories import ANYONE, bearer, make_bird, make_member, make_site, make_token, make_weighing


def ask(api, caller, **query):
    answer = api.get(CHANGES, query, **caller)
    assert answer.status_code == 200, answer.content
    return answer.json()


def follow(api, caller, after=0, limit=200):
    """Everything behind a position, as (kind, id, op), and the position then."""
    found, more = [], True
    while more:
        page = ask(api, caller, after=after, limit=limit)
        found += [(change["kind"], change["id"], change["op"]) for change in page["changes"]]
        after, more = page["next"], page["more"]
    return found, after


def refused(answer, status, code, pointer="?after"):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]] == [(code, pointer)]
    return answer.json()


def test_a_change_as_told(standing_clock, api, two, site, caller):
    page = ask(api, caller, after=0)
    with network_scope(two.own):
        told = site.told()
    assert page["changes"] == [
        {
            "position": 1,
            "kind": "site",
            "id": str(site.uid),
            "op": "put",
            "version": 1,
            "at": "2027-05-02T05:00:00Z",
            "data": told,
        }
    ]
    assert told == api.get(f"/api/v1/sites/{site.uid}", **caller).json()
    assert (page["next"], page["more"]) == (1, False)
    with network_scope(two.own), unit_of_work():
        site_remove(site)
    [gone] = ask(api, caller, after=1)["changes"]
    assert (gone["position"], gone["op"], gone["version"], gone["data"]) == (2, "gone", 2, None)


def test_nothing_is_kept_on_the_way(api, site, caller):
    assert api.get(CHANGES, **caller)["Cache-Control"] == "no-store"


def test_pages_follow_each_other_without_gap_or_repetition(api, site, caller):
    touch(site, times=6)
    positions, after, more = [], 0, True
    while more:
        page = ask(api, caller, after=after, limit=3)
        positions += [change["position"] for change in page["changes"]]
        assert len(page["changes"]) <= 3
        after, more = page["next"], page["more"]
    assert positions == [1, 2, 3, 4, 5, 6, 7]
    assert ask(api, caller, after=7) == {**page, "changes": [], "next": 7}


def test_a_full_last_page_says_that_there_is_no_more(api, site, caller):
    touch(site, times=2)
    page = ask(api, caller, after=0, limit=3)
    assert (len(page["changes"]), page["next"], page["more"]) == (3, 3, False)


def test_a_reader_who_sees_little_advances_all_the_same(api, two, site, caller, monkeypatch):
    monkeypatch.setattr(selectors, "LOOKED_AT", 4)
    touch(site, times=10)
    blind = bearer(make_token(two.member, "changes:read", "alerts:read"))
    assert follow(api, blind) == ([], 11)
    page = ask(api, blind, after=0)
    assert (page["changes"], page["next"], page["more"]) == ([], 4, True)
    assert len(follow(api, caller)[0]) == 11


def test_without_a_position_it_begins_with_the_oldest_that_is_kept(api, site, caller):
    touch(site, times=3)
    Change._base_manager.filter(position__lte=2).delete()
    assert [change["position"] for change in ask(api, caller)["changes"]] == [3, 4]


def test_a_reader_who_begins_takes_the_end_first(api, site, caller):
    touch(site)
    page = ask(api, caller, after="latest")
    assert (page["changes"], page["next"], page["more"]) == ([], 2, False)
    touch(site)
    assert [change["position"] for change in ask(api, caller, after=2)["changes"]] == [3]


def test_a_network_without_changes(api, two, caller):
    for query in ({}, {"after": 0}, {"after": "latest"}):
        page = ask(api, caller, **query)
        assert (page["changes"], page["next"], page["more"]) == ([], 0, False)


# --- who sees what


def test_another_networks_changes_are_not_told(api, two, site):
    foreign = bearer(make_token(two.stranger))
    assert ask(api, foreign, after=0)["changes"] == []
    refused(api.get(CHANGES, {"after": 1}, **foreign), 422, "position_beyond_end")


@pytest.mark.parametrize("scope", sorted(KINDS_OF_SCOPE))
def test_kinds_go_by_the_scopes_of_the_token(api, two, site, scope):
    with network_scope(two.own), unit_of_work():
        for kind in [kind for kinds in KINDS_OF_SCOPE.values() for kind in kinds] + ["of_tomorrow"]:
            record = type(site)(name=kind, kind="home", uid=uuid4())
            record.KIND = kind
            changed_as(record)
    seen = ask(api, bearer(make_token(two.member, "changes:read", scope)), after=1)["changes"]
    assert {change["kind"] for change in seen} == KINDS_OF_SCOPE[scope]


def changed_as(record):
    """Note a change of a record that is nowhere, by the name of another kind."""
    record.told = lambda: {"id": str(record.uid)}
    changed(record)


def test_every_kind_of_record_is_seen_by_those_who_may_read_it():
    kinds = {model.KIND for model in apps.get_models() if issubclass(model, NetworkRecord)}
    assert kinds_seen(SCOPES) == kinds
    assert set(KINDS_OF_SCOPE) <= set(SCOPES)
    assert sum(len(kinds) for kinds in KINDS_OF_SCOPE.values()) == len(kinds)
    assert kinds_seen(["changes:read", "of:tomorrow"]) == frozenset()


class Copy:
    """An app's copy of what it may see."""

    def __init__(self, api, member):
        self.api, self.caller, self.after, self.held = api, bearer(make_token(member)), 0, {}
        self.heard = []

    def follow(self):
        """Brings the copy up to date; gives (kind, op) of what came."""
        self.heard = []
        more = True
        while more:
            page = ask(self.api, self.caller, after=self.after, limit=2)
            for change in page["changes"]:
                self.heard.append((change["kind"], change["op"]))
                if change["op"] == "gone":
                    self.held.pop(change["id"], None)
                else:
                    self.held[change["id"]] = change["data"]
            self.after, more = page["next"], page["more"]
        return self.heard

    def there(self):
        """What the lists hold for the same token."""
        found = {}
        for kind in ("sites", "birds", "weighings"):
            found |= {row["id"]: row for row in self.api.get(f"/api/v1/{kind}", **self.caller).json()["results"]}
        return found


def of_interest(held):
    return {uid: row for uid, row in held.items() if not row.keys() & {"hot_water_c"}}


@pytest.fixture
def moving(api, two, built_in_species, standing_clock):
    """A bird with two weighings that is moved from a carer's site to another's; four copies are kept of the network."""
    carers = {name: make_member(two.own, role="carer") for name in ("from", "to", "both")}
    old = make_site(two.own, name="Old", carers=(carers["from"], carers["both"]))
    new = make_site(two.own, name="New", carers=(carers["to"], carers["both"]))
    bird = make_bird(old, name="Pip")
    for mass_g in (28.1, 29.4):
        make_weighing(bird, mass_g)
    copies = {name: Copy(api, member) for name, member in {**carers, "whole": two.member}.items()}
    for copy in copies.values():
        copy.follow()
        assert of_interest(copy.held) == copy.there()
    return two, bird, new, copies


def test_what_leaves_a_carers_site_is_gone_for_that_carer_and_put_for_the_new_one(moving):
    two, bird, new, copies = moving
    with network_scope(two.own), unit_of_work():
        bird_move(bird, caller=ANYONE, site_id=new.uid)
    heard = {name: copy.follow() for name, copy in copies.items()}
    for copy in copies.values():
        assert of_interest(copy.held) == copy.there()
    assert sorted(heard["from"]) == [("bird", "gone"), ("weighing", "gone"), ("weighing", "gone")]
    assert {op for _, op in heard["to"]} == {"put"}
    assert {kind for kind, _ in heard["to"]} == {"bird", "weighing"}
    assert heard["whole"] == [("bird", "put")], "for who sees both sites, its weighings are what they were"
    assert str(bird.uid) not in copies["from"].held
    assert copies["to"].held[str(bird.uid)]["site_id"] == str(new.uid)


def test_a_carer_hears_of_no_other_site(moving):
    two, bird, new, copies = moving
    make_weighing(bird, 30.2)
    assert copies["from"].follow() == [("weighing", "put")]
    assert copies["to"].follow() == []


def test_sight_differs_once_the_token_sees_other_sites_or_kinds(api, two, site):
    member = make_member(two.own, role="carer")
    token = bearer(make_token(member))
    sights = [ask(api, token)["sight"]]
    with network_scope(two.own):
        site_change(site, carer_ids=[member.pk])
    sights += [ask(api, token)["sight"], ask(api, bearer(make_token(member, "changes:read", "sites:read")))["sight"]]
    sights += [ask(api, bearer(make_token(two.member)))["sight"]]
    assert len(set(sights)) == 4
    assert ask(api, token)["sight"] == sights[1]


# --- how far back it goes


def old(site, *ages_days):
    """Give the first changes these ages."""
    for position, days in enumerate(ages_days, start=1):
        Change._base_manager.filter(position=position).update(at=clock.now() - timedelta(days=days))


def positions():
    return [change.position for change in rows(Change)]


def test_what_is_too_old_is_forgotten(api, site, caller, settings, standing_clock):
    touch(site, times=4)
    old(site, 95, 91, 90, 89)
    assert changes_expire(standing_clock) == 2
    assert positions() == [3, 4, 5]
    settings.CHANGES_KEPT_DAYS = 89
    assert changes_expire(standing_clock) == 1
    assert changes_expire(standing_clock) == 0


def test_only_the_beginning_of_a_feed_is_forgotten(site, standing_clock):
    """A transaction that began long before it was committed stands behind younger lines: there must be no gap."""
    touch(site, times=4)
    old(site, 95, 80, 95, 70)
    assert changes_expire(standing_clock) == 1
    assert positions() == [2, 3, 4, 5]


def test_a_feed_may_be_forgotten_whole_in_chunks_and_each_network_by_itself(two, site, standing_clock, monkeypatch):
    monkeypatch.setattr("api.outbox.services.changes.CHUNK", 2)
    touch(site, times=4)
    Change._base_manager.update(at=standing_clock - timedelta(days=365))
    young = make_site(two.other)
    assert changes_expire(standing_clock) == 5
    assert [(change.network_id, change.record_id) for change in rows(Change)] == [(two.other.pk, young.uid)]


def test_the_dispatcher_forgets(site, standing_clock):
    old(site, 91)
    dispatch(standing_clock)
    assert positions() == []


def test_a_position_that_is_no_longer_kept_says_what_to_do(api, site, caller, standing_clock):
    touch(site, times=3)
    old(site, 95, 95)
    changes_expire(standing_clock)
    told = refused(api.get(CHANGES, {"after": 1}, **caller), 410, "position_expired")
    assert told["type"].endswith("/problems/gone")
    assert told["next"] == 4
    assert "Begin anew" in told["detail"]
    assert [change["position"] for change in ask(api, caller, after=2)["changes"]] == [3, 4]
    assert ask(api, caller, after=told["next"])["changes"] == []


def test_it_is_gone_too_where_nothing_at_all_is_kept(api, site, caller, standing_clock):
    touch(site)
    Change._base_manager.update(at=standing_clock - timedelta(days=365))
    changes_expire(standing_clock)
    refused(api.get(CHANGES, {"after": 1}, **caller), 410, "position_expired")
    assert ask(api, caller, after=2)["next"] == 2
    assert ask(api, caller)["next"] == 2


def test_what_is_forgotten_while_it_is_read_does_not_go_unnoticed(api, site, caller, standing_clock, monkeypatch):
    touch(site, times=3)
    whole = selectors.Change.objects.filter

    def after_a_sweep(*conditions, **names):
        Change._base_manager.filter(position__lte=2).delete()
        return whole(*conditions, **names)

    monkeypatch.setattr(type(Change.objects), "filter", lambda self, *a, **k: after_a_sweep(*a, **k))
    refused(api.get(CHANGES, {"after": 0}, **caller), 410, "position_expired")


# --- refusals


def test_a_position_beyond_the_end_says_where_it_ends(api, site, caller):
    told = refused(api.get(CHANGES, {"after": 2}, **caller), 422, "position_beyond_end")
    assert "ends at 1" in told["detail"]


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("after", "soon", "wrong_type"),
        ("after", "", "wrong_type"),
        ("after", "1.5", "wrong_type"),
        ("after", "-1", "page_out_of_range"),
        ("limit", "0", "page_out_of_range"),
        ("limit", "201", "page_out_of_range"),
        ("limit", "ten", "wrong_type"),
        ("afer", "1", "unknown_parameter"),
        ("cursor", "1", "unknown_parameter"),
    ],
)
def test_a_parameter_that_is_not_understood(api, site, caller, name, text, code):
    refused(api.get(CHANGES, {name: text}, **caller), 400, code, f"?{name}")


def test_a_parameter_given_twice(api, site, caller):
    refused(api.get(f"{CHANGES}?after=0&after=1", **caller), 400, "repeated_parameter")


def test_a_position_beyond_what_json_holds(api, site, caller):
    refused(api.get(CHANGES, {"after": 2**53 + 1}, **caller), 422, "too_large")
    refused(api.get(CHANGES, {"after": 2**60}, **caller), 400, "wrong_type")


def test_without_the_scope(api, two, site):
    answer = api.get(CHANGES, **bearer(make_token(two.member, *(set(SCOPES) - {"changes:read"}))))
    assert answer.status_code == 403
    assert "changes:read" in answer.json()["detail"]


def test_it_is_read_only(api, site, caller):
    assert api.post(CHANGES, {}, **caller).status_code == 405
