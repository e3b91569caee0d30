"""What people say to an alert: acknowledged, put off, ended, and what happens when it comes back."""

from datetime import timedelta
from uuid import uuid4

import pytest

from tests.api.alerts.conftest import FALTERING, make_chick, morning, up_to
from tests.factories import bearer, make_member, make_site, make_token


def refused(answer, status, code, pointer=""):
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert (code, pointer) in [(fault["code"], fault["pointer"]) for fault in answer.json()["errors"]], answer.json()
    return answer.json()["detail"]


# --- acknowledged


def test_acknowledged_it_says_who_and_when(chick, alert):
    answer = chick.say(alert, "acknowledge", {"note": "Warming it, crop empty."})
    assert (answer.status_code, answer["ETag"]) == (200, '"2"')
    seen = answer.json()
    assert (seen["state"], seen["version"], seen["note"]) == ("acknowledged", 2, "Warming it, crop empty.")
    assert seen["acknowledged_at"] == "2027-04-28T06:00:00Z"
    user = chick.two.member.user
    assert seen["acknowledged_by"] == {"id": str(user.pk), "name": str(user)}
    assert chick.events() == ["alert.opened", "alert.acknowledged"]


def test_acknowledged_twice_is_once(chick, alert):
    first = chick.say(alert, "acknowledge").json()
    second = chick.say(alert, "acknowledge", day=11.1)
    assert (second.status_code, second.json()) == (200, first)
    assert chick.events() == ["alert.opened", "alert.acknowledged"]


def test_a_second_note_is_kept_and_who_came_first_stands(chick, alert):
    first = chick.say(alert, "acknowledge", {"note": "Seen."}).json()
    other = bearer(make_token(make_member(chick.two.own, role="vet")))
    second = chick.say(alert, "acknowledge", {"note": "Coming at ten."}, day=11.1, caller=other).json()
    assert (second["version"], second["note"]) == (3, "Coming at ten.")
    assert second["acknowledged_by"] == first["acknowledged_by"]
    assert chick.events() == ["alert.opened", "alert.acknowledged"]


def test_an_acknowledged_alert_ends_by_itself_all_the_same(chick, alert):
    chick.say(alert, "acknowledge")
    chick.weigh(12, FALTERING[12])
    chick.weigh(13, FALTERING[13])
    assert chick.now("alerts", alert)["resolution"] == "passed"


# --- put off


def test_put_off_for_hours(chick, alert):
    answer = chick.say(alert, "snooze", {"hours": 2.5, "note": "Weigh again at noon."})
    assert answer.status_code == 200
    assert answer.json()["snoozed_until"] == "2027-04-28T08:30:00Z"
    assert (answer.json()["state"], answer.json()["note"]) == ("open", "Weigh again at noon.")
    assert chick.events() == ["alert.opened", "alert.snoozed"]


def test_put_off_until_and_sent_again_it_is_the_same(chick, alert):
    until = {"until": "2027-04-28T10:00:00+01:00"}
    first = chick.say(alert, "snooze", until).json()
    assert first["snoozed_until"] == "2027-04-28T09:00:00Z"
    assert chick.say(alert, "snooze", until, day=11.1).json() == first
    assert chick.events() == ["alert.opened", "alert.snoozed"]


def test_an_alert_of_today_is_put_off_for_eight_hours_at_most(chick, alert):
    assert alert["severity"] == "act_today"
    detail = refused(chick.say(alert, "snooze", {"hours": 8.01}), 422, "snoozed_too_long", "/hours")
    assert "8 h" in detail
    assert "2027-04-28T14:00:00Z" in detail
    assert chick.say(alert, "snooze", {"hours": 8}).status_code == 200


def test_an_urgent_alert_is_put_off_for_an_hour_at_most(chick, alert):
    chick.weigh(12, 25.8)
    assert chick.now("alerts", alert)["severity"] == "urgent"
    late = (morning(12) + timedelta(minutes=61)).isoformat()
    assert "1 h" in refused(chick.say(alert, "snooze", {"until": late}, day=12), 422, "snoozed_too_long", "/until")
    assert chick.say(alert, "snooze", {"hours": 1}, day=12).status_code == 200


def test_a_graver_finding_wakes_it(chick, alert):
    chick.say(alert, "snooze", {"hours": 8}, day=11.9)
    chick.weigh(12, 25.8)
    assert chick.now("alerts", alert)["snoozed_until"] is None


@pytest.mark.parametrize(
    ("body", "status", "code", "pointer"),
    [
        ({"until": "2027-04-28T05:59:00Z"}, 422, "snoozed_into_the_past", "/until"),
        ({"until": "2027-04-28T06:00:00Z"}, 422, "snoozed_into_the_past", "/until"),
        ({"until": "2027-04-28T09:00:00"}, 400, "offset_missing", "/until"),
        ({"hours": 0}, 422, "greater_than", "/hours"),
        ({"hours": -1}, 422, "greater_than", "/hours"),
        ({"hours": 1e300}, 422, "snoozed_too_long", "/hours"),
        ({"hours": "2"}, 400, "wrong_type", "/hours"),
        ({"hours": True}, 400, "wrong_type", "/hours"),
        ({}, 400, "required", "/hours"),
        ({"hours": 1, "until": "2027-04-28T07:00:00Z"}, 422, "one_of_two", "/until"),
        ({"hours": 1, "minutes": 5}, 400, "unknown_field", "/minutes"),
    ],
)
def test_a_bad_snooze_says_what_would_do_and_changes_nothing(chick, alert, body, status, code, pointer):
    refused(chick.say(alert, "snooze", body), status, code, pointer)
    assert chick.now("alerts", alert) == alert


# --- ended by hand


def test_ended_by_hand_it_says_why(chick, alert):
    answer = chick.say(alert, "resolve", {"note": "The scale stood on a towel."})
    ended = answer.json()
    assert (answer.status_code, ended["state"], ended["resolution"]) == (200, "resolved", "by_hand")
    assert (ended["note"], ended["resolved_at"]) == ("The scale stood on a towel.", "2027-04-28T06:00:00Z")
    assert chick.events() == ["alert.opened", "alert.resolved"]
    assert chick.alerts() == []


def test_ended_in_the_same_words_twice_is_once_and_in_others_a_conflict(chick, alert):
    first = chick.say(alert, "resolve", {"note": "Scale."}).json()
    assert chick.say(alert, "resolve", {"note": "Scale."}, day=11.1).json() == first
    refused(chick.say(alert, "resolve", {"note": "Something else."}), 409, "alert_resolved")
    refused(chick.say(alert, "acknowledge"), 409, "alert_resolved")
    refused(chick.say(alert, "snooze", {"hours": 1}), 409, "alert_resolved")
    assert chick.events() == ["alert.opened", "alert.resolved"]


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({}, 400, "required"),
        ({"note": ""}, 422, "blank"),
        ({"note": None}, 400, "null"),
        ({"note": 3}, 400, "wrong_type"),
    ],
)
def test_nobody_ends_it_without_a_word(chick, alert, body, status, code):
    refused(chick.say(alert, "resolve", body), status, code, "/note")
    assert chick.now("alerts", alert) == alert


def test_what_was_settled_is_not_told_again_of_the_same_weights(chick, alert):
    chick.say(alert, "resolve", {"note": "Scale."})
    chick.record("feeds", 11.2, volume_ml=2.0)
    chick.weigh(11.3, 28.0, context="after_feed")
    assert chick.alerts() == []


def test_found_again_within_three_days_it_is_the_same_alert(chick, alert):
    chick.say(alert, "resolve", {"note": "Scale."})
    chick.weigh(12, 25.8)
    (again,) = chick.alerts("?code=weight_loss")
    assert (again["id"], again["state"], again["severity"]) == (alert["id"], "open", "urgent")
    assert (again["resolved_at"], again["resolution"], again["note"]) == (None, None, "Scale.")
    assert chick.events()[:3] == ["alert.opened", "alert.resolved", "alert.reopened"]


def test_found_again_later_it_is_a_new_one(chick, alert):
    chick.say(alert, "resolve", {"note": "Scale."})
    chick.grow({12: 31.0, 13: 35.5, 14: 40.0})
    chick.weigh(15, 38.0)
    (new,) = chick.alerts("?code=weight_loss")
    assert (new["id"] == alert["id"], new["since"]) == (False, "2027-05-01T06:00:00Z")
    assert chick.events() == ["alert.opened", "alert.resolved", "alert.opened"]


def test_corrected_to_something_graver_it_is_told_again(chick, alert):
    chick.say(alert, "resolve", {"note": "A full crop yesterday."})
    weighings = chick.api.get("/api/v1/weighings", **chick.caller).json()["results"]
    (last,) = [weighing for weighing in weighings if weighing["mass_g"] == 27.4]
    chick.correct("weighings", last, day=11.1, mass_g=25.0)
    (again,) = chick.alerts("?code=weight_loss")
    assert (again["id"], again["severity"]) == (alert["id"], "urgent")


# --- sent twice, sent late


def test_an_old_version_is_refused_where_it_is_named(chick, alert):
    chick.say(alert, "acknowledge")
    stale = chick.say(alert, "resolve", {"note": "Scale."}, HTTP_IF_MATCH='"1"')
    assert (stale.status_code, stale["ETag"]) == (412, '"2"')
    assert chick.say(alert, "resolve", {"note": "Scale."}, HTTP_IF_MATCH='"2"').status_code == 200


def test_a_key_gives_the_first_answer_again(chick, alert):
    key = {"HTTP_IDEMPOTENCY_KEY": str(uuid4())}
    first = chick.say(alert, "snooze", {"hours": 1}, **key)
    again = chick.say(alert, "snooze", {"hours": 1}, day=11.01, **key)
    assert (again.json(), again["Idempotency-Replayed"]) == (first.json(), "true")
    assert chick.now("alerts", alert)["version"] == 2


def test_without_a_body_it_is_acknowledged_too(chick, alert):
    answer = chick.api.post(f"/api/v1/alerts/{alert['id']}/acknowledge", **chick.caller)
    assert (answer.status_code, answer.json()["state"]) == (200, "acknowledged")


# --- who may

VERBS = [("acknowledge", {}), ("snooze", {"hours": 1}), ("resolve", {"note": "Done."})]


@pytest.mark.parametrize(("verb", "body"), VERBS)
def test_another_network_knows_nothing_of_it(chick, alert, verb, body):
    stranger = bearer(make_token(chick.two.stranger))
    assert chick.say(alert, verb, body, caller=stranger).status_code == 404
    assert chick.api.get(f"/api/v1/alerts/{alert['id']}", **stranger).status_code == 404
    assert chick.alerts("?state=any", caller=stranger) == []
    assert chick.now("alerts", alert) == alert


@pytest.mark.parametrize(("verb", "body"), VERBS)
@pytest.mark.parametrize(("role", "status"), [("vet", 200), ("observer", 403)])
def test_by_role(chick, alert, role, status, verb, body):
    caller = bearer(make_token(make_member(chick.two.own, role=role)))
    assert chick.say(alert, verb, body, caller=caller).status_code == status
    assert chick.api.get(f"/api/v1/alerts/{alert['id']}", **caller).status_code == 200


@pytest.mark.parametrize(("verb", "body"), VERBS)
def test_reading_is_not_writing(chick, alert, verb, body):
    reader = bearer(make_token(chick.two.member, "alerts:read"))
    assert chick.say(alert, verb, body, caller=reader).status_code == 403
    assert len(chick.alerts(caller=reader)) == 1


def test_a_carer_sees_and_answers_the_alerts_of_the_own_sites(
    api, two, chick, alert, django_capture_on_commit_callbacks
):
    carer = make_member(two.own, role="carer")
    caller = bearer(make_token(carer))
    home = make_site(two.own, name="Home", kind="home", carers=(carer,))
    own = make_chick(api, two, home, chick.after_commit)
    own.grow(up_to(11))
    (seen,) = chick.alerts(caller=caller)
    assert seen["bird_id"] == str(own.bird.uid)
    assert chick.say(seen, "acknowledge", caller=caller).status_code == 200
    assert chick.say(alert, "acknowledge", caller=caller).status_code == 404
    assert api.get(f"/api/v1/alerts/{alert['id']}/versions", **caller).status_code == 404


def test_an_alert_goes_where_its_bird_goes(api, two, chick, alert):
    carer = make_member(two.own, role="carer")
    caller = bearer(make_token(carer))
    home = make_site(two.own, name="Home", kind="home", carers=(carer,))
    version = chick.now("birds", {"id": chick.bird.uid})["version"]
    body = {"site_id": str(home.uid)}
    answer = chick.ask("post", f"birds/{chick.bird.uid}/move", body, day=11.5, HTTP_IF_MATCH=f'"{version}"')
    assert answer.status_code == 200, answer.content
    (seen,) = chick.alerts(caller=caller)
    assert (seen["id"], seen["site_id"], seen["state"]) == (alert["id"], str(home.uid), "open")


@pytest.mark.parametrize("verb", ["acknowledge", "resolve", "snooze"])
def test_nobody_knows_an_alert_of_another_id(chick, verb):
    assert (
        chick.say({"id": uuid4()}, verb, {"note": "x", **({"hours": 1} if verb == "snooze" else {})}).status_code == 404
    )


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_alerts_are_answered_not_edited(chick, alert, method):
    for address in (f"alerts/{alert['id']}", "alerts", f"alerts/{alert['id']}/resolve"):
        assert chick.ask(method, address, {}, day=11).status_code == 405


def test_nobody_opens_one_by_hand(chick):
    assert chick.ask("post", "alerts", {}, day=11).status_code == 405
