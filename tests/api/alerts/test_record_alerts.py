"""Crop checks, feeds and deaths: what raises an alert, what ends it."""

from datetime import timedelta

import pytest

from api.alerts import services
from api.jobs.services import dispatch
from api.tenancy.scope import network_scope
from api.web import clock
from tests.api.alerts.conftest import make_chick, morning, up_to
from tests.factories import make_site


@pytest.fixture
def reared(chick):
    """It gains, and eats."""
    chick.grow(up_to(10))
    return chick


def test_a_crop_that_emptied_raises_nothing(reared):
    reared.record("feeds", 9.7, volume_ml=2.0)
    reared.record("crop-checks", 10.0, crop="empty")
    assert reared.alerts() == []


def test_a_crop_that_did_not_empty_over_night(reared):
    reared.record("feeds", 9.6, volume_ml=2.0)
    check = reared.record("crop-checks", 10.0, crop="full")
    (alert,) = reared.alerts()
    assert alert["code"] in {"crop_slow", "crop_stopped"}
    assert alert["evidence"]["crop"] == "full"
    assert alert["last_found_at"] == check["at"]


def test_a_full_crop_and_no_gain_is_a_vets_matter(reared):
    """Hazard 24: never "feed more often"."""
    reared.record("feeds", 10.6, volume_ml=2.0)
    reared.weigh(11, 28.8)
    reared.record("crop-checks", 11.0, crop="full")
    (alert,) = reared.alerts("?code=crop_stopped")
    assert alert["severity"] == "urgent"
    assert "does not gain" in alert["text"]
    assert any("vet" in action for action in alert["actions"])
    assert not any("more often" in action for action in alert["actions"])


def test_burnt_skin_over_the_crop_is_watched_for_two_weeks(reared):
    """A burn shows how deep it is only after 10 to 14 days (RIV08): it looks well from the second day on."""
    reared.record("crop-checks", 10.0, crop="empty", crop_wall="blistered")
    (alert,) = reared.alerts()
    assert (alert["code"], alert["severity"]) == ("crop_injury", "urgent")
    assert any("vet" in action for action in alert["actions"])
    for day in range(11, 24):
        reared.record("crop-checks", day, crop="empty", crop_wall="normal")
        assert reared.codes() == ["crop_injury"], day
    reared.record("crop-checks", 24.1, crop="empty", crop_wall="normal")
    assert reared.codes() == []


def test_a_check_that_was_corrected_or_removed_has_never_been(reared):
    for mend in ("correct", "remove"):
        check = reared.record("crop-checks", 10.0, crop="empty", crop_wall="leaking")
        assert reared.codes() == ["crop_injury"]
        if mend == "correct":
            reared.correct("crop-checks", check, day=10.1, crop_wall="normal")
        else:
            reared.remove("crop-checks", check, day=10.1)
        assert reared.codes() == []
    assert {row.resolution for row in reared.rows()} == {"withdrawn"}


def test_food_that_burns(reared):
    """Above 42 C never (practice, rule 10): urgent, and the crop is watched for 14 days."""
    feed = reared.record("feeds", 10.1, volume_ml=2.0, temperature_c=45.0)
    (alert,) = reared.alerts()
    assert (alert["code"], alert["severity"], alert["act_within_h"]) == ("too_hot", "urgent", 1.0)
    assert alert["evidence"]["watch_until"] == (morning(10.1) + timedelta(days=14)).isoformat()
    assert alert["since"] == feed["at"]


def test_a_feed_too_large_for_its_weight_of_that_day(reared):
    """A tenth of 28.8 g is 2.9 mL (hazard 17); on the day it weighs 47.8 g, 3.5 mL is none too much."""
    reared.record("feeds", 10.1, volume_ml=3.5)
    assert reared.codes() == ["overfilled"]
    (alert,) = reared.alerts()
    reared.grow({11: 33.3, 12: 38.1, 13: 42.9, 14: 47.8})
    for day in (14.1, 14.7):
        reared.record("feeds", day, volume_ml=3.5)
    assert reared.now("alerts", alert)["resolution"] == "passed"


def test_feeds_refused_one_after_the_other(reared):
    reared.record("feeds", 10.1, volume_ml=0, response="refused")
    assert reared.alerts() == []
    reared.record("feeds", 10.2, volume_ml=0, response="refused")
    assert reared.codes() == ["refusing_feeds"]


def test_food_from_the_nostrils(reared):
    reared.record("feeds", 10.1, volume_ml=1.0, response="leaked")
    (alert,) = reared.alerts()
    assert alert["code"] == "aspiration_suspected"
    assert any("vet" in action for action in alert["actions"])


def test_a_bird_of_unknown_species_is_heard_in_what_harms_any_bird(api, two, site, django_capture_on_commit_callbacks):
    bird = make_chick(api, two, site, django_capture_on_commit_callbacks, species=None, species_certainty="unknown")
    bird.record("crop-checks", 10.0, crop="full", crop_wall="leaking")
    bird.record("feeds", 10.1, volume_ml=1.0, response="coughed")
    assert {"crop_injury", "aspiration_suspected"} <= set(bird.codes())


# --- deaths (hazard 33)


@pytest.fixture
def three(api, two, site, django_capture_on_commit_callbacks):
    return [make_chick(api, two, site, django_capture_on_commit_callbacks) for _ in range(3)]


def test_two_deaths_at_a_site_within_two_days_are_told_at_once(three, site):
    first, second, _ = three
    first.leave(10.0, "died")
    assert first.alerts() == []
    second.leave(11.9, "died")
    (alert,) = second.alerts()
    assert (alert["code"], alert["severity"], alert["act_within_h"]) == ("cluster_of_deaths", "urgent", 1.0)
    assert (alert["bird_id"], alert["site_id"]) == (None, str(site.uid))
    assert [death["bird_id"] for death in alert["evidence"]["deaths"]] == [str(first.bird.uid), str(second.bird.uid)]


def test_a_third_death_is_the_same_alert(three):
    for day, chick in zip((10.0, 11.0, 11.5), three, strict=True):
        chick.leave(day, "died")
    (alert,) = three[0].alerts()
    assert (len(alert["evidence"]["deaths"]), alert["version"]) == (3, 2)


def test_deaths_far_apart_at_two_sites_or_of_birds_set_free_are_no_cluster(
    api, two, three, django_capture_on_commit_callbacks
):
    first, second, third = three
    first.leave(10.0, "died")
    second.leave(10.5, "released")
    elsewhere = make_chick(api, two, make_site(two.own), django_capture_on_commit_callbacks)
    elsewhere.leave(10.6, "died")
    third.leave(12.1, "died")
    assert first.alerts() == []


def test_a_death_that_was_none_is_taken_back(three):
    first, second, _ = three
    first.leave(10.0, "died")
    second.leave(11.0, "died")
    version = second.now("birds", {"id": second.bird.uid})["version"]
    second.ask("delete", f"birds/{second.bird.uid}/outcome", day=11.1, HTTP_IF_MATCH=f'"{version}"')
    assert second.alerts() == []
    assert [row.resolution for row in second.rows()] == ["withdrawn"]


def test_a_week_without_a_death_ends_it_with_nobody_recording_anything(three, django_capture_on_commit_callbacks):
    for day, chick in zip((10.0, 11.0), three, strict=False):
        chick.leave(day, "died")
    for day, open_still in ((17.9, True), (18.0, False)):
        with clock.standing_at(morning(day)), django_capture_on_commit_callbacks(execute=True):
            dispatch(morning(day))
        assert bool(three[0].alerts()) is open_still
    (ended,) = three[0].alerts("?state=resolved")
    assert (ended["resolution"], ended["resolved_at"]) == ("passed", "2027-05-05T06:00:00Z")


def test_a_look_twice_at_a_site_changes_nothing(three, site):
    for day, chick in zip((10.0, 11.0), three, strict=False):
        chick.leave(day, "died")
    before = [row.told() for row in three[0].rows()]
    with network_scope(three[0].two.own), clock.standing_at(morning(12)):
        services.site_deaths_look(site.uid)
    assert [row.told() for row in three[0].rows()] == before
