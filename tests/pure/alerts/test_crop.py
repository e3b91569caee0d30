"""Crop checks: what one look says, and which look clears it.

Parrots hold food by day and are empty once in 24 h, best at dawn: APN, DON18 (feeding-practice notes, section 8). The
rest is the plan's gate, which has its own tests.
"""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from api.alerts.rules.crop import _CODE_OF, CODES, CropCheck, CropPractice, check_read, crop_looks
from api.birds.rules.words import Crop, CropContent, CropWall
from api.plans.rules import red_flags
from api.plans.rules.red_flags import RedFlag

AT = datetime(2027, 5, 2, 14, 0, tzinfo=UTC)
PARROT = CropPractice(has_crop=True, feathered=False, food_guild="granivore", emptying_h=4.0, longest_wait_h=6.0)
DOVE = CropPractice(has_crop=True, feathered=False, food_guild="crop_milk", emptying_h=4.0, longest_wait_h=6.0)
GULL = CropPractice(has_crop=False, feathered=False, food_guild="omnivore", emptying_h=None, longest_wait_h=None)


def check(crop, hours=None, *, at=AT, dawn=False, **told):
    return CropCheck(at=at, crop=crop, hours_since_feed=hours, at_dawn=dawn, **told)


def found(practice, *checks):
    """(code, severity) of the last of these looks."""
    return [(finding.code, finding.severity.value) for finding in crop_looks(checks, practice)[-1].findings]


@pytest.mark.parametrize(
    ("practice", "told", "expected"),
    [
        pytest.param(PARROT, check(Crop.PARTLY_FULL, 2.0), [], id="DON18 some food by day"),
        pytest.param(PARROT, check(Crop.FULL, 0.5), [], id="just fed"),
        pytest.param(PARROT, check(Crop.PARTLY_FULL, 4.5), [("crop_slow", "note")], id="COMMON some food, later"),
        pytest.param(
            DOVE, check(Crop.PARTLY_FULL, 4.5), [("crop_slow", "act_today")], id="HRB p.446 nearly empty first"
        ),
        pytest.param(PARROT, check(Crop.FULL, 4.5), [("crop_slow", "act_today")], id="APN empties in 4 h"),
        pytest.param(PARROT, check(Crop.NOT_EMPTIED), [("crop_slow", "act_today")], id="told as not emptied"),
        pytest.param(PARROT, check(Crop.RESIDUE, 9.0, dawn=True), [("crop_slow", "act_today")], id="ARI empty at dawn"),
        pytest.param(PARROT, check(Crop.FULL, None, dawn=True), [("crop_slow", "act_today")], id="ARI full at dawn"),
        pytest.param(
            PARROT, check(Crop.FULL, 9.0, dawn=True), [("crop_stopped", "urgent")], id="APN past longest wait"
        ),
        pytest.param(PARROT, check(Crop.FULL, 7.0), [("crop_stopped", "urgent")], id="ZWE past longest wait"),
        pytest.param(PARROT, check(Crop.DISTENDED, 1.0), [("crop_stopped", "urgent")], id="HRB p.616 stretched"),
        pytest.param(PARROT, check(Crop.FULL, 4.5, no_gain=True), [("crop_stopped", "urgent")], id="hazard 24"),
        pytest.param(PARROT, check(Crop.EMPTY, 4.5), [], id="empty"),
        pytest.param(PARROT, check(Crop.UNKNOWN, 9.0), [], id="not felt"),
        pytest.param(GULL, check(Crop.FULL, 9.0, dawn=True), [], id="hazard 18: no crop"),
        pytest.param(GULL, check(Crop.NOT_EMPTIED), [], id="hazard 18: no crop to empty"),
    ],
)
def test_one_look(practice, told, expected):
    assert found(practice, told) == expected


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ({"crop_wall": CropWall.LEAKING}, [("crop_injury", "urgent")]),
        ({"crop_wall": CropWall.BLISTERED}, [("crop_injury", "urgent")]),
        ({"crop_wall": CropWall.RED}, [("crop_injury", "act_today")]),
        ({"crop_wall": CropWall.NORMAL}, []),
        ({"crop_content": CropContent.FOREIGN_OBJECT}, [("crop_content", "urgent")]),
        ({"crop_content": CropContent.AIR}, [("crop_content", "act_today")]),
        ({"crop_content": CropContent.FLUID}, [("crop_content", "act_today")]),
        ({"crop_content": CropContent.FOOD}, []),
    ],
)
def test_skin_and_content(told, expected):
    """RIV08 crop burns; HRB p.593 fluid gone within 2 h."""
    assert found(PARROT, check(Crop.PARTLY_FULL, 3.0, **told)) == expected


def test_fluid_just_given_is_no_finding():
    """HRB p.593: it leaves a crop within 1 to 2 h."""
    assert found(PARROT, check(Crop.PARTLY_FULL, 1.0, crop_content=CropContent.FLUID)) == []


def test_a_burn_and_a_stopped_crop_are_two_findings():
    both = check(Crop.FULL, 9.0, crop_wall=CropWall.BLISTERED)
    assert found(PARROT, both) == [("crop_injury", "urgent"), ("crop_stopped", "urgent")]


def test_a_feathered_dove_with_seed_of_its_own_has_no_slow_crop():
    """HRB Table 27.1, p.446."""
    young = CropPractice(has_crop=True, feathered=True, food_guild="crop_milk", emptying_h=4.0, longest_wait_h=6.0)
    assert found(young, check(Crop.FULL, 8.0, crop_content=CropContent.SEED)) == []


def test_a_crop_never_found_empty_in_a_day_is_said_once_it_is_a_day():
    """APN: once a day fully empty. Each of these looks is normal by day."""
    looks = [check(Crop.PARTLY_FULL, 2.0, at=AT + timedelta(hours=hours)) for hours in (0, 8, 23, 25)]
    assert [found(PARROT, *looks[:n]) for n in (1, 2, 3)] == [[], [], []]
    assert found(PARROT, *looks) == [("crop_slow", "note")]
    empty_between = check(Crop.EMPTY, 4.0, at=AT + timedelta(hours=12))
    assert found(PARROT, *looks, empty_between) == []


def test_every_flag_of_the_crop_has_a_code():
    of_words = {*red_flags.CROP_WALLS.values(), *red_flags.CROP_CONTENTS.values()}
    of_time = {flag for name, flag in vars(red_flags).items() if name.startswith("CROP_") and isinstance(flag, RedFlag)}
    assert len(of_time) == 5
    assert set(_CODE_OF) == of_words | of_time
    assert set(_CODE_OF.values()) == CODES


@pytest.mark.parametrize(
    ("told", "judged"),
    [
        (check(Crop.EMPTY), {"crop_slow", "crop_stopped", "crop_content"}),
        (check(Crop.PARTLY_FULL, 1.0), set()),
        (check(Crop.PARTLY_FULL, 1.0, crop_wall=CropWall.NORMAL), {"crop_injury"}),
        (check(Crop.UNKNOWN, crop_content=CropContent.FOOD), {"crop_content"}),
    ],
)
def test_only_an_empty_crop_clears_a_slow_one(told, judged):
    """A crop filled an hour ago tells nothing of whether it empties."""
    (look,) = crop_looks([told], PARROT)
    assert look.judged == judged


def test_the_order_of_arrival_does_not_matter():
    looks = [check(Crop.PARTLY_FULL, 2.0, at=AT + timedelta(hours=hours)) for hours in (0, 8, 25)]
    assert crop_looks(looks[::-1], PARROT) == crop_looks(looks, PARROT)


LISBON = ZoneInfo("Europe/Lisbon")


def read(at, *, told=None, fed=()):
    made = check_read(
        at=at,
        crop=Crop.FULL,
        crop_content=None,
        crop_wall=None,
        last_feed_at=told,
        fed_at=fed,
        zone=LISBON,
        first=time(6, 30),
    )
    return made.hours_since_feed, made.at_dawn


def local(hour, minute=0, day=2):
    return datetime(2027, 5, day, hour, minute, tzinfo=LISBON)


@pytest.mark.parametrize(
    ("at", "told", "fed", "expected"),
    [
        pytest.param(local(6, 30), None, [local(22, day=1), local(6, 30)], (8.5, True), id="felt, then fed"),
        pytest.param(local(10, 30), None, [local(10, 30), local(6, 30)], (4.0, False), id="the second feed of the day"),
        pytest.param(local(10, 30), local(9), [local(6, 30)], (1.5, False), id="as the carer told it"),
        pytest.param(local(6), None, [local(2)], (4.0, False), id="fed in the night"),
        pytest.param(local(6), None, [], (None, True), id="no feed recorded, before the first"),
        pytest.param(local(12), None, [], (None, False), id="no feed recorded, by day"),
        pytest.param(local(12, day=9), None, [local(6, 30)], (None, False), id="feeds no longer written down"),
    ],
)
def test_a_look_among_the_feeds(at, told, fed, expected):
    assert read(at, told=told, fed=fed) == expected


def test_hours_since_the_feed_are_real_hours_through_a_change_of_the_clocks():
    """Lisbon, 28 March 2027: 01:00 becomes 02:00 (tz europe, Rule EU)."""
    at, fed = datetime(2027, 3, 28, 6, tzinfo=LISBON), datetime(2027, 3, 27, 23, tzinfo=LISBON)
    assert read(at, fed=[fed]) == (6.0, True)
