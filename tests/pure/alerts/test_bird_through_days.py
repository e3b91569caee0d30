"""A bird's days told as records, gone through as the service does: what opens, what stays, what closes."""

from datetime import UTC, datetime, timedelta

import msgspec

from api.alerts.rules.crop import CropCheck, CropPractice, crop_looks
from api.alerts.rules.feeding import FeedGiven, feed_looks
from api.alerts.rules.growth import growth_looks
from api.alerts.rules.hysteresis import OpenAlert, transitions
from api.birds.rules.words import Context, Crop, CropWall
from api.growth.rules.recent import last_mornings
from tests.pure.growth.birds import COCKATIEL, HATCHED, asked
from tests.pure.growth.test_assessment import on_curve

AT = datetime(2027, 5, 2, 6, 0, tzinfo=UTC)
PARROT = CropPractice(has_crop=True, feathered=False, food_guild="granivore", emptying_h=4.0, longest_wait_h=6.0)


class Told:
    """Alerts as a service would keep them."""

    def __init__(self):
        self.open = {}

    def hear(self, looks, now):
        steps = {one.code: one for one in transitions(looks, self.open.values(), now=now)}
        for code, one in steps.items():
            if one.step == "close":
                del self.open[code]
            else:
                self.open[code] = OpenAlert(code=code, severity=one.severity, last_found_at=one.last_found_at)
        return {code: one.step for code, one in steps.items()}


def test_a_loss_is_heard_the_same_morning_and_ends_after_two_that_gained():
    """A cockatiel of 10 to 17 days; on day 14 it has lost an eighth."""
    grams = dict(on_curve(10, 18))
    grams[14] = round(grams[13] * 7 / 8, 1)
    told, heard = Told(), []
    for day in grams:
        so_far = [(earlier, mass_g) for earlier, mass_g in grams.items() if earlier <= day]
        looks = growth_looks(last_mornings(COCKATIEL, asked(so_far)))
        heard.append(told.hear(looks, HATCHED + timedelta(days=day)).get("weight_loss"))
    assert heard == [None, None, None, None, "open", "keep", "close", None]


def test_a_slip_is_heard_and_withdrawn_when_it_is_corrected_and_no_loss_is_told_of_it():
    days = [(20, 72.0), (21, 75.0), (22, 7.75)]
    told, now = Told(), HATCHED + timedelta(days=22)
    assert told.hear(growth_looks(last_mornings(COCKATIEL, asked(days))), now) == {"implausible_weight": "open"}
    corrected = growth_looks(last_mornings(COCKATIEL, asked([*days[:2], (22, 77.5)])))
    assert told.hear(corrected, now) == {"implausible_weight": "close"}


def test_an_alert_that_a_person_closed_is_not_opened_by_the_days_later_weighings():
    days = [*on_curve(10, 14), (14, round(dict(on_curve(10, 14))[13] * 7 / 8, 1))]
    morning = growth_looks(last_mornings(COCKATIEL, asked(days)))
    (loss,) = [one for one in transitions(morning, [], now=HATCHED + timedelta(days=14)) if one.code == "weight_loss"]
    fed = [
        msgspec.structs.replace(w, context=Context.AFTER_FEED) for w in asked([(14.3, days[-1][1] * 1.08)]).weighings
    ]
    request = asked(days)
    later = msgspec.structs.replace(
        request, weighings=(*request.weighings, *(msgspec.structs.replace(w, index=len(days)) for w in fed))
    )
    looks, now = growth_looks(last_mornings(COCKATIEL, later)), HATCHED + timedelta(days=14.3)
    assert transitions(looks, [], now=now, settled={"weight_loss": loss.last_found_at}) == ()
    next_morning = growth_looks(last_mornings(COCKATIEL, asked([*days, (15, days[-1][1] * 0.9)])))
    again = transitions(next_morning, [], now=HATCHED + timedelta(days=15), settled={"weight_loss": loss.last_found_at})
    assert "weight_loss" in [one.code for one in again if one.step == "open"]


def test_a_weight_that_is_asked_about_is_one_alert_until_it_is_answered_for():
    """Three mornings go by, each judged without it; then somebody confirms it."""
    days = on_curve(10, 18)
    days[3] = (13, days[3][1] * 1.7)
    told = Told()

    def heard(upto, *, confirmed=False):
        request = asked(days[:upto])
        weighings = tuple(
            msgspec.structs.replace(w, questioned=w.index == 3 and not confirmed, confirmed=w.index == 3 and confirmed)
            for w in request.weighings
        )
        looks = growth_looks(last_mornings(COCKATIEL, msgspec.structs.replace(request, weighings=weighings)))
        return told.hear(looks, HATCHED + timedelta(days=9 + upto)).get("implausible_weight")

    assert [heard(upto) for upto in range(4, 9)] == ["open", "keep", "keep", "keep", "keep"]
    assert heard(8, confirmed=True) == "close"


def test_a_crop_full_at_dawn_is_over_when_it_was_empty_at_two_dawns():
    told, checks, heard = Told(), [], []
    for hours, crop in (
        (0, Crop.FULL),
        (4, Crop.PARTLY_FULL),
        (8, Crop.EMPTY),
        (12, Crop.PARTLY_FULL),
        (24, Crop.EMPTY),
    ):
        dawn = hours % 24 == 0
        checks.append(
            CropCheck(at=AT + timedelta(hours=hours), crop=crop, at_dawn=dawn, hours_since_feed=None if dawn else 2.0)
        )
        heard.append(told.hear(crop_looks(checks, PARROT), checks[-1].at)["crop_slow"])
    assert heard == ["open", "keep", "keep", "keep", "close"]


def test_a_burn_is_watched_for_14_days_though_the_next_feeds_are_right():
    feeds = [FeedGiven(at=AT, temperature_c=44.0)]
    feeds += [FeedGiven(at=AT + timedelta(hours=4 * n), temperature_c=40.0) for n in range(1, 85)]
    told = Told()
    heard = [told.hear(feed_looks(feeds[:n]), feeds[n - 1].at)["too_hot"] for n in range(1, len(feeds) + 1)]
    assert heard == ["open", *["keep"] * 83, "close"]
    assert feeds[-1].at - AT == timedelta(days=14)


def test_a_blister_on_the_third_day_is_an_alert_of_its_own():
    checks = [
        CropCheck(at=AT + timedelta(days=day), crop=Crop.EMPTY, crop_wall=wall)
        for day, wall in enumerate(
            (CropWall.NORMAL, CropWall.RED, CropWall.BLISTERED, CropWall.NORMAL, CropWall.NORMAL)
        )
    ]
    told = Told()
    heard = [told.hear(crop_looks(checks[:n], PARROT), checks[n - 1].at).get("crop_injury") for n in range(1, 6)]
    assert heard == [None, "open", "escalate", "keep", "keep"]
