"""A chick is weighed: what raises an alert, what keeps it, what ends it."""

from tests.api.alerts.conftest import FALTERING


def up_to(day):
    return {of: mass_g for of, mass_g in FALTERING.items() if of <= day}


def test_a_chick_that_gains_raises_nothing(chick):
    chick.live(up_to(15))
    assert chick.alerts() == []
    assert chick.events() == []


def test_a_loss_is_told_the_same_morning(chick):
    chick.live(up_to(16))
    (alert,) = chick.alerts()
    assert alert["code"] == "weight_loss"
    assert (alert["bird_id"], alert["site_id"]) == (str(chick.bird.uid), str(chick.site.uid))
    assert (alert["state"], alert["version"], alert["resolution"]) == ("open", 1, None)
    assert alert["since"] == "2027-04-27T06:00:00Z"  # the weighing of the day before
    assert alert["opened_at"] == alert["last_found_at"] == "2027-04-28T06:00:00Z"
    # 50.0 g after 52.6 g: 4.94 % (by hand).
    assert alert["evidence"]["lost_fraction"] == 0.0494
    assert any("vet" in action for action in alert["actions"])
    assert chick.events() == ["alert.opened"]


def test_it_stays_after_one_good_morning_and_ends_after_two(chick):
    chick.live(up_to(17))
    assert chick.codes() == ["weight_loss"]
    chick.weigh(18, FALTERING[18])
    assert chick.codes() == []
    (ended,) = chick.alerts("?state=resolved")
    assert (ended["resolution"], ended["resolved_at"]) == ("passed", "2027-04-30T06:00:00Z")
    assert chick.events() == ["alert.opened", "alert.resolved"]
