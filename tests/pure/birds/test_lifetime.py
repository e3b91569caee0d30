"""When something can have happened to a bird.

Days are those of the place: in Lisbon, a day of May begins at 23:00 UTC of the day before (summer time, UTC+1).
"""

from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from api.birds.rules.lifetime import (
    AgeEstimate,
    Lifetime,
    hatched_after,
    refuse_before_intake,
    refuse_instant,
    refuse_records_outside,
    refuse_unborn,
)
from species.domain.errors import ConflictError, DomainError

NOW = datetime(2027, 5, 2, 14, 0, tzinfo=UTC)
BIRD = Lifetime(time_zone="Europe/Lisbon", intake_at=datetime(2027, 4, 25, 9, 0, tzinfo=UTC))
HATCHED = msgspec.structs.replace(BIRD, hatched_on=date(2027, 4, 20))
MIDNIGHT = datetime(2027, 4, 19, 23, 0, tzinfo=UTC)


def refuse(at, bird=HATCHED):
    refuse_instant(at, bird=bird, what="The weighing", field="/at", now=NOW)


def test_a_hatching_day_begins_at_midnight_of_the_place():
    assert hatched_after(HATCHED) == MIDNIGHT


def test_an_estimate_is_allowed_two_standard_deviations():
    told = AgeEstimate(on=date(2027, 5, 1), days=10.0, sd_days=1.5)
    bird = msgspec.structs.replace(BIRD, age_estimate=told)
    # Noon of 1 May in Lisbon is 11:00 UTC; 10 d + 2 x 1.5 d before.
    assert hatched_after(bird) == datetime(2027, 4, 18, 11, 0, tzinfo=UTC)


def test_nothing_tells_the_age():
    assert hatched_after(BIRD) is None


@pytest.mark.parametrize("at", [MIDNIGHT, NOW, NOW + timedelta(minutes=5), datetime(2027, 4, 21, tzinfo=UTC)])
def test_what_can_have_been_is_let_in(at):
    refuse(at)


@pytest.mark.parametrize(
    ("at", "bird", "code"),
    [
        (NOW + timedelta(minutes=5, seconds=1), HATCHED, "in_the_future"),
        (MIDNIGHT - timedelta(seconds=1), HATCHED, "before_hatching"),
        (BIRD.intake_at - timedelta(days=90, seconds=1), BIRD, "long_before_intake"),
    ],
)
def test_what_cannot_have_been_is_refused(at, bird, code):
    with pytest.raises(DomainError) as refused:
        refuse(at, bird)
    assert (refused.value.code, refused.value.field) == (code, "/at")
    assert not isinstance(refused.value, ConflictError)
    assert refused.value.remedy


def test_the_finder_may_have_weighed_it():
    refuse(BIRD.intake_at - timedelta(days=90), BIRD)


def test_after_its_outcome_nothing_is_recorded():
    left = msgspec.structs.replace(HATCHED, left_at=datetime(2027, 5, 1, 8, 0, tzinfo=UTC))
    refuse(datetime(2027, 5, 1, 8, 0, tzinfo=UTC), left)
    with pytest.raises(ConflictError) as refused:
        refuse(datetime(2027, 5, 1, 8, 1, tzinfo=UTC), left)
    assert refused.value.code == "bird_left_care"


@pytest.mark.parametrize(
    ("told", "code", "field"),
    [
        ({"hatched_on": date(2027, 5, 3)}, "hatched_in_the_future", "/hatched_on"),
        ({"hatched_at": NOW + timedelta(minutes=6)}, "hatched_in_the_future", "/hatched_at"),
        (
            {"age_estimate": AgeEstimate(on=date(2027, 5, 3), days=2.0, sd_days=1.0)},
            "in_the_future",
            "/age_estimate/on",
        ),
        ({"intake_at": NOW + timedelta(minutes=6)}, "in_the_future", "/intake/at"),
        ({"left_at": BIRD.intake_at - timedelta(minutes=1)}, "after_outcome", "/intake/at"),
    ],
)
def test_a_bird_that_is_not_here_yet(told, code, field):
    with pytest.raises(DomainError) as refused:
        refuse_unborn(msgspec.structs.replace(BIRD, **told), now=NOW)
    assert (refused.value.code, refused.value.field) == (code, field)


def test_today_is_that_of_the_place():
    # 23:30 UTC of 1 May is 00:30 of 2 May in Lisbon.
    night = datetime(2027, 5, 1, 23, 30, tzinfo=UTC)
    refuse_unborn(msgspec.structs.replace(BIRD, hatched_on=date(2027, 5, 2)), now=night)


def test_an_outcome_is_not_before_the_intake():
    refuse_before_intake(BIRD.intake_at, bird=BIRD)
    with pytest.raises(DomainError, match="before it came"):
        refuse_before_intake(BIRD.intake_at - timedelta(hours=1), bird=BIRD)


def test_bounds_leave_no_record_outside():
    at = datetime(2027, 4, 22, tzinfo=UTC)
    refuse_records_outside(HATCHED, first_at=at, last_at=at, field="/hatched_on")
    later = msgspec.structs.replace(HATCHED, hatched_on=date(2027, 4, 23))
    with pytest.raises(DomainError) as refused:
        refuse_records_outside(later, first_at=at, last_at=at, field="/hatched_on")
    assert refused.value.code == "records_before"
    left = msgspec.structs.replace(HATCHED, left_at=at - timedelta(minutes=1))
    with pytest.raises(DomainError) as refused:
        refuse_records_outside(left, first_at=at, last_at=at, field="/at")
    assert refused.value.code == "records_after"
    refuse_records_outside(left, first_at=None, last_at=None, field="/at")
