"""What of a bird's record still speaks when its next feed is due."""

from datetime import UTC, date, datetime, timedelta

import pytest

from api.birds.rules.words import Context, Crop, CropContent, CropWall, Purpose, Response, Sign
from api.growth.rules.gaining import DayWeight, is_growing, own_peak_g, stands_still
from api.plans.rules.care import CareKept, CropLook, FeedKept, condition_now, first_feed, food_is_slow
from api.plans.rules.expecting import unweighed_mass_g
from tests.safety.birds import pack

NOW = datetime(2027, 5, 2, 14, 0, tzinfo=UTC)
COCKATIEL = next(profile for profile in pack().profiles if profile.key == "nymphicus-hollandicus")


def ago(hours: float) -> datetime:
    return NOW - timedelta(hours=hours)


def look(hours: float, crop: Crop = Crop.EMPTY, **seen) -> CropLook:
    return CropLook(at=ago(hours), crop=crop, **seen)


def feed(hours: float, **told) -> FeedKept:
    return FeedKept(at=ago(hours), **told)


def care(*, looks=(), feeds=()) -> CareKept:
    return CareKept(intake_at=ago(100), looks=tuple(looks), feeds=tuple(feeds))


@pytest.mark.parametrize(
    ("told", "crop"),
    [
        ({}, Crop.UNKNOWN),
        ({"looks": [look(1.9)]}, Crop.EMPTY),
        ({"looks": [look(2.1)]}, Crop.UNKNOWN),
        ({"looks": [look(1.0)], "feeds": [feed(0.9)]}, Crop.UNKNOWN),
        ({"looks": [look(1.0)], "feeds": [feed(0.9, purpose=Purpose.FLUIDS)]}, Crop.UNKNOWN),
        ({"looks": [look(1.0)], "feeds": [feed(4.0)]}, Crop.EMPTY),
        ({"looks": [look(3.0, Crop.FULL)]}, Crop.UNKNOWN),
        ({"looks": [look(20.0, Crop.NOT_EMPTIED)]}, Crop.NOT_EMPTIED),
        ({"looks": [look(25.0, Crop.NOT_EMPTIED)]}, Crop.UNKNOWN),
        ({"looks": [look(20.0, Crop.DISTENDED)], "feeds": [feed(3.0)]}, Crop.UNKNOWN),
        ({"looks": [look(5.0, Crop.NOT_EMPTIED), look(1.0)]}, Crop.EMPTY),
    ],
)
def test_a_look_at_the_crop_speaks_until_it_is_old_or_the_bird_is_fed(told, crop):
    assert condition_now(care(**told), at=NOW).crop is crop


def test_what_does_not_go_away_by_itself_stands_until_somebody_looks_again():
    burnt = look(60.0, crop_wall=CropWall.RED, crop_content=CropContent.FOREIGN_OBJECT)
    seen = condition_now(care(looks=[burnt], feeds=[feed(3.0)]), at=NOW)
    assert (seen.crop, seen.crop_wall, seen.crop_content) == (
        Crop.UNKNOWN, CropWall.RED, CropContent.FOREIGN_OBJECT,
    )  # fmt: skip
    healed = look(1.0, crop_wall=CropWall.NORMAL)
    assert condition_now(care(looks=[burnt, healed]), at=NOW).crop_wall is CropWall.NORMAL
    fluid = look(3.0, crop_content=CropContent.FLUID)
    assert condition_now(care(looks=[fluid]), at=NOW).crop_content is None


@pytest.mark.parametrize(
    ("told", "hours"),
    [
        ({}, None),
        ({"feeds": [feed(5.0), feed(3.0)]}, 3.0),
        ({"feeds": [feed(3.0), feed(1.0, purpose=Purpose.FLUIDS)]}, 3.0),
        ({"feeds": [feed(25.0)]}, None),
        ({"looks": [look(1.0, last_feed_at=ago(4.0))]}, 4.0),
        ({"feeds": [feed(6.0)], "looks": [look(1.0, last_feed_at=ago(4.0))]}, 4.0),
    ],
)
def test_the_last_feed_is_one_of_food_within_a_day(told, hours):
    last = condition_now(care(**told), at=NOW).last_feed
    assert (last and last.at) == (None if hours is None else ago(hours))


def test_the_last_feed_keeps_what_was_given():
    last = condition_now(care(feeds=[feed(3.0, volume_ml=4.5, dry_matter_fraction=0.25)]), at=NOW).last_feed
    assert (last.volume_ml, last.dry_matter_fraction) == (4.5, 0.25)


@pytest.mark.parametrize(
    ("feeds", "signs"),
    [
        ([feed(4.0, response=Response.REGURGITATED)], (Sign.REGURGITATION,)),
        ([feed(13.0, response=Response.REGURGITATED)], ()),
        ([feed(4.0, response=Response.REGURGITATED), feed(1.0, response=Response.NORMAL)], ()),
    ],
)
def test_a_feed_that_came_back_is_a_sign_until_another_goes_down(feeds, signs):
    assert condition_now(care(feeds=feeds), at=NOW).signs == signs


@pytest.mark.parametrize(
    ("told", "slow"),
    [
        ({}, False),
        ({"looks": [look(10.0, Crop.RESIDUE)]}, True),
        ({"looks": [look(10.0, Crop.RESIDUE), look(5.0)]}, True),
        ({"looks": [look(10.0, Crop.RESIDUE), look(5.0), look(1.0)]}, False),
        ({"looks": [look(25.0, Crop.RESIDUE)]}, False),
        ({"looks": [look(3.0, Crop.FULL)]}, False),
        ({"feeds": [feed(8.0, response=Response.REFUSED), feed(4.0, response=Response.EAGER)]}, True),
        ({"feeds": [feed(9.0, response=Response.REFUSED), feed(8.0), feed(4.0)]}, False),
        ({"feeds": [feed(30.0, response=Response.COUGHED)]}, False),
    ],
)
def test_food_is_slow_until_two_looks_or_two_feeds_say_otherwise(told, slow):
    """Practice, rule 12: no larger feed before two clear crops."""
    assert food_is_slow(care(**told), at=NOW) is slow


@pytest.mark.parametrize(
    ("feeds", "weighed_hours_ago", "first"),
    [
        ([], None, True),
        ([], 20.0, True),
        ([], 30.0, False),
        ([feed(3.0)], None, False),
        ([feed(3.0, purpose=Purpose.FLUIDS)], None, True),
    ],
)
def test_the_first_feed_in_care(feeds, weighed_hours_ago, first):
    since = None if weighed_hours_ago is None else ago(weighed_hours_ago)
    assert first_feed(care(feeds=feeds), weighed_since=since, at=NOW) is first


def days(*grams: float, context=Context.BEFORE_FIRST_FEED, apart=1.0) -> list[DayWeight]:
    return [
        DayWeight(
            on=date(2027, 5, 2) + timedelta(days=n), at=ago(24.0 * (len(grams) - 1 - n)), age_days=n * apart,
            mass_g=gram, context=context,
        )
        for n, gram in enumerate(grams)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("weights", "growing", "still"),
    [
        ((), True, None),
        (days(20.0), True, None),
        (days(20.0, 22.0), True, False),
        (days(20.0, 20.0), True, True),
        (days(22.0, 20.0), True, True),
        (days(20.0, 20.0), False, False),
        (days(20.0, 20.0, apart=6.0), True, None),
    ],
)
def test_one_morning_without_gain_counts_while_it_grows(weights, growing, still):
    assert stands_still(weights, None, growing=growing) is still


def test_a_cockatiel_grows_until_it_is_near_its_full_mass():
    """growth.md section 3: A 89.126 g, K 0.2207, inflection 13.3 d; 2 % a day is passed at day 23.7."""
    assert is_growing(COCKATIEL.growth_curve, 23.0)
    assert not is_growing(COCKATIEL.growth_curve, 25.0)
    assert is_growing(None, 400.0)


def test_the_peak_is_less_the_food_that_the_last_weighing_had_not():
    """APN: a crop holds up to a tenth of the bird."""
    fed, empty = days(100.0, context=Context.AFTER_FEED), days(80.0, 88.0)
    assert own_peak_g([*fed, empty[1]]) == 90.0
    assert own_peak_g(days(95.0, 92.0)) == 95.0
    assert own_peak_g([]) is None


@pytest.mark.parametrize(("last", "low", "mass"), [(29.9, 34.6, 29.9), (29.9, 28.8, 28.8), (29.9, None, 29.9)])
def test_a_bird_that_was_not_weighed_weighs_the_least_that_its_record_allows(last, low, mass):
    """docs/methods/stored_plans.md, the example."""
    assert unweighed_mass_g(last_weighed_g=last, forecast_low_g=low) == mass
