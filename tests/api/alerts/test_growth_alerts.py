"""A chick is weighed: what raises an alert, what keeps it, what ends it."""

import random
from decimal import Decimal
from uuid import uuid4

import pytest

from api.alerts import services
from api.alerts.models import Alert
from api.birds.models import Weighing
from api.birds.services import weighing_record
from api.outbox.models import Change, Delivery, Event, RecordVersion
from api.outbox.services import unit_of_work
from api.tenancy.scope import network_scope
from api.web import clock
from tests.api.alerts.conftest import FALTERING, make_chick, morning, up_to
from tests.factories import ANYONE


def test_a_chick_that_gains_raises_nothing(chick):
    chick.grow(up_to(10))
    assert chick.alerts() == []
    assert chick.events() == []


def test_a_loss_is_told_the_same_morning(chick):
    chick.live(up_to(11))
    (alert,) = chick.alerts()
    assert alert["code"] == "weight_loss"
    assert (alert["bird_id"], alert["site_id"]) == (str(chick.bird.uid), str(chick.site.uid))
    assert (alert["state"], alert["version"], alert["resolution"]) == ("open", 1, None)
    assert alert["since"] == "2027-04-27T06:00:00Z"  # the weighing of the day before
    assert alert["opened_at"] == alert["last_found_at"] == "2027-04-28T06:00:00Z"
    assert alert["evidence"]["lost_fraction"] == 0.0486  # 27.4 g after 28.8 g, by hand
    assert any("vet" in action for action in alert["actions"])
    assert chick.events() == ["alert.opened"]


def test_its_event_says_where_to_look_and_little_more(chick):
    chick.live(up_to(11))
    (alert,) = chick.alerts()
    with network_scope(chick.two.own):
        told = Event.objects.get(name="alert.opened").data
    assert told == {
        "id": alert["id"],
        "network_id": str(chick.two.own.pk),
        "href": f"/api/v1/alerts/{alert['id']}",
        "version": 1,
        "bird_id": str(chick.bird.uid),
        "site_id": str(chick.site.uid),
        "code": "weight_loss",
        "severity": alert["severity"],
    }


def test_it_stays_after_one_good_morning_and_ends_after_two(chick):
    chick.live(up_to(12))
    assert chick.codes() == ["weight_loss"]
    chick.weigh(13, FALTERING[13])
    assert chick.codes() == []
    (ended,) = chick.alerts("?state=resolved")
    assert (ended["resolution"], ended["resolved_at"]) == ("passed", "2027-04-30T06:00:00Z")
    assert ended["last_found_at"] == "2027-04-28T06:00:00Z"
    assert chick.events() == ["alert.opened", "alert.resolved"]


def test_a_second_weighing_of_the_day_is_no_second_good_morning(chick):
    chick.live(up_to(12))
    chick.weigh(12.2, 32.5, context="after_feed")
    assert chick.codes() == ["weight_loss"]


def test_a_look_twice_at_the_same_record_changes_nothing(chick):
    chick.live(up_to(12))
    before = [row.told() for row in chick.rows()]
    with network_scope(chick.two.own):
        counts = [rows.objects.count() for rows in (RecordVersion, Change, Event)]
        for _ in range(2):
            with clock.standing_at(morning(12.5)):
                services.bird_look(chick.bird.uid)
        assert [rows.objects.count() for rows in (RecordVersion, Change, Event)] == counts
    assert [row.told() for row in chick.rows()] == before


def test_a_loss_that_goes_on_makes_it_urgent_and_asks_anew_who_had_seen_it(chick, alert):
    assert chick.say(alert, "acknowledge").status_code == 200
    chick.weigh(12, 25.8)
    graver = chick.now("alerts", alert)
    assert (graver["severity"], graver["act_within_h"], graver["state"]) == ("urgent", 1.0, "open")
    assert (graver["acknowledged_at"], graver["acknowledged_by"]) == (None, None)
    assert graver["escalated_at"] == "2027-04-29T06:00:00Z"
    assert graver["since"] == alert["since"]
    assert chick.events()[:3] == ["alert.opened", "alert.acknowledged", "alert.escalated"]


def test_while_it_is_open_it_grows_no_milder(chick, alert):
    chick.weigh(12, 25.8)
    told = chick.now("alerts", alert)
    chick.weigh(13, 27.0)
    milder = chick.now("alerts", alert)
    assert [milder[name] for name in ("severity", "text", "evidence")] == [
        told[name] for name in ("severity", "text", "evidence")
    ]


# --- weights that cannot be


@pytest.fixture
def slip(chick):
    """A tenth of what it weighed, told on day 15."""
    chick.grow(up_to(9))
    return chick.weigh(10, 2.88)


def test_a_decimal_slip_is_asked_about_and_nothing_else_is_reckoned_from_it(chick, slip):
    asked = chick.now("weighings", slip)
    assert asked["state"] == "questioned"
    assert asked["question"]["meant_g"] == 28.8
    (alert,) = chick.alerts()
    assert alert["code"] == "implausible_weight"
    assert alert["evidence"]["weighing_id"] == slip["id"]
    assert (alert["evidence"]["seen_g"], alert["evidence"]["meant_g"]) == (2.88, 28.8)


def test_a_slip_sent_with_a_feed_makes_no_feed_too_large(chick):
    """2 mL is no tenth of 25 g, and most of 2.88 g (hazard 17)."""
    chick.grow(up_to(9))
    chick.record("feeds", 10.01, told_on=10.1, volume_ml=2.0)
    chick.weigh(10, 2.88, told_on=10.1)
    chick.record("feeds", 10.05, told_on=10.1, volume_ml=2.0)
    assert chick.codes() == ["implausible_weight"]


def test_it_goes_on_being_asked_about_while_others_come(chick, slip):
    chick.weigh(11, 33.0)
    assert chick.now("weighings", slip)["state"] == "questioned"
    assert chick.codes() == ["implausible_weight"]


def test_correcting_a_slip_ends_its_alert(chick, slip):
    chick.correct("weighings", slip, day=10.1, mass_g=28.8)
    assert chick.codes() == []
    (ended,) = chick.alerts("?state=resolved")
    assert (ended["code"], ended["resolution"]) == ("implausible_weight", "withdrawn")
    assert chick.now("weighings", slip)["state"] == "accepted"


def test_rejecting_a_slip_ends_its_alert(chick, slip):
    chick.correct("weighings", slip, day=10.1, state="rejected")
    assert (chick.codes(), chick.codes("?state=resolved")) == ([], ["implausible_weight"])


def test_removing_a_slip_ends_its_alert(chick, slip):
    chick.remove("weighings", slip, day=10.1)
    assert (chick.codes(), chick.codes("?state=resolved")) == ([], ["implausible_weight"])


def test_confirming_a_weight_ends_its_alert_and_what_it_says_is_heard(chick):
    """Two thirds of what it weighed, for one morning: another bird, or a bad night. Somebody looked, and it is so."""
    chick.grow(up_to(8))
    doubted = chick.weigh(9, 14.0)
    chick.weigh(10, 28.8)
    assert chick.now("weighings", doubted)["state"] == "questioned"
    assert "implausible_weight" in chick.codes()
    chick.correct("weighings", doubted, day=10.1, state="confirmed")
    assert "implausible_weight" not in chick.codes()
    (loss,) = chick.alerts("?code=weight_loss")
    assert loss["severity"] == "urgent"
    assert loss["evidence"]["seen_g"] == 14.0


def test_all_its_weighings_removed_nothing_is_told_any_more(chick, alert):
    with network_scope(chick.two.own):
        weighings = [{"id": str(uid)} for uid in Weighing.objects.values_list("uid", flat=True)]
    for weighing in weighings:
        chick.remove("weighings", weighing, day=11.1)
    assert chick.codes() == []
    assert {row.resolution for row in chick.rows()} == {"withdrawn"}


def test_the_weighing_that_told_of_a_loss_was_corrected(chick, alert):
    (last,) = [
        weighing
        for weighing in chick.api.get("/api/v1/weighings", **chick.caller).json()["results"]
        if weighing["mass_g"] == 27.4
    ]
    chick.correct("weighings", last, day=11.2, mass_g=33.0)
    ended = chick.now("alerts", alert)
    assert (ended["state"], ended["resolution"]) == ("resolved", "withdrawn")


# --- offline, and in any order

#: Whose it is, and when the service heard of it.
ITS_OWN = {"id", "version", "bird_id", "opened_at", "recorded_at", "changed_at", "escalated_at"}


def open_alerts(chick):
    told = [{name: one[name] for name in one if name not in ITS_OWN} for one in chick.alerts(of(chick))]
    return sorted(told, key=lambda one: one["code"])


def of(chick):
    return f"?bird_id={chick.bird.uid}"


@pytest.mark.parametrize("last", [11, 12, 13, 14])
def test_an_app_that_was_offline_ends_with_the_alerts_of_one_that_was_not(
    last, chick, api, two, django_capture_on_commit_callbacks
):
    """In order, in one batch that is shuffled, and one by one from the last to the first."""
    chick.live(up_to(last))
    expected = open_alerts(chick)
    assert bool(expected) is (last < 13)

    batch, backwards = (make_chick(api, two, chick.site, django_capture_on_commit_callbacks) for _ in range(2))
    items = batch.items(up_to(last))
    random.Random(last).shuffle(items)
    assert batch.ask("post", "weighings/batch", {"items": items}, day=last).status_code == 201
    assert open_alerts(batch) == expected
    for day, mass_g in reversed(up_to(last).items()):
        backwards.weigh(day, mass_g, told_on=last)
    assert open_alerts(backwards) == expected


def test_a_batch_is_one_look_at_each_bird(chick):
    chick.ask("post", "weighings/batch", {"items": chick.items(up_to(11))}, day=11)
    (alert,) = chick.alerts()
    assert (alert["code"], alert["version"]) == ("weight_loss", 1)
    with network_scope(chick.two.own):
        assert Delivery.objects.filter(subscriber="alerts.birds").count() == 1


def weigh_and_fail(bird):
    with unit_of_work():
        weighing_record(caller=ANYONE, bird_id=bird.uid, at=morning(11), mass_g=Decimal("27.4"))
        raise ZeroDivisionError


def test_a_weighing_that_is_rolled_back_leaves_nothing(chick):
    chick.grow(up_to(10))
    with network_scope(chick.two.own):
        kept = (Weighing, Alert, RecordVersion, Change, Event)
        before = [rows.objects.count() for rows in kept]
        with (
            clock.standing_at(morning(11)),
            chick.after_commit(execute=True) as done,
            pytest.raises(ZeroDivisionError),
        ):
            weigh_and_fail(chick.bird)
        assert done == []
        assert [rows.objects.count() for rows in kept] == before


def test_one_bad_weighing_in_a_batch_and_none_of_it_is_heard(chick):
    chick.grow(up_to(10))
    (good,) = chick.items({11: 27.4})
    bad = {**good, "id": str(uuid4()), "bird_id": str(uuid4())}
    assert chick.ask("post", "weighings/batch", {"items": [good, bad]}, day=11).status_code == 422
    assert chick.alerts() == []


# --- birds whose weights cannot be judged, and birds that leave


def test_a_bird_of_unknown_species_is_weighed_in_peace(api, two, site, django_capture_on_commit_callbacks):
    bird = make_chick(api, two, site, django_capture_on_commit_callbacks, species=None, species_certainty="unknown")
    bird.live(up_to(11))
    assert bird.alerts() == []


def test_leaving_care_ends_its_alerts(chick, alert):
    chick.leave(11.5)
    ended = chick.now("alerts", alert)
    assert (ended["state"], ended["resolution"]) == ("resolved", "left_care")
    assert ended["resolved_at"] == "2027-04-28T18:00:00Z"


def test_an_outcome_taken_back_it_is_looked_at_again(chick, alert):
    chick.leave(11.5)
    version = chick.now("birds", {"id": chick.bird.uid})["version"]
    answer = chick.ask("delete", f"birds/{chick.bird.uid}/outcome", day=11.6, HTTP_IF_MATCH=f'"{version}"')
    assert answer.status_code == 200, answer.content
    (again,) = chick.alerts()
    assert (again["code"], again["id"] == alert["id"]) == ("weight_loss", False)
