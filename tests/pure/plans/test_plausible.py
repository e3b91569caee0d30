"""What was told of one bird has to be true together."""

from datetime import UTC, date, datetime, time, timedelta

import msgspec
import pytest

from api.catalog.rules.strain import refuse_other_adult_mass
from api.plans.rules.plausible import refuse_contradictions
from api.plans.rules.request import Condition, FeedingDay, LastFeed, MilestoneSeen, PlanRequest
from species.domain.errors import DomainError
from species.domain.vocabulary import MilestoneKey

NOW = datetime(2027, 5, 2, 14, 0, tzinfo=UTC)
BIRD = PlanRequest(on=date(2027, 5, 2), time_zone="Europe/Lisbon", age_days=9.0)


def told(**values) -> PlanRequest:
    return msgspec.structs.replace(BIRD, **values)


def fed(at: datetime) -> Condition:
    return Condition(last_feed=LastFeed(at=at))


REFUSED = {
    "hatches tomorrow": (
        told(age_days=None, hatched_on=date(2027, 5, 3)),
        "hatched_in_the_future",
        "/hatched_on",
    ),
    "hatches this evening": (
        told(age_days=None, hatched_at=NOW + timedelta(hours=3)),
        "hatched_in_the_future",
        "/hatched_at",
    ),
    "hatched a century ago": (told(age_days=None, hatched_on=date(1927, 5, 2)), "too_old", "/hatched_on"),
    "nine days and six": (told(hatched_on=date(2027, 4, 26)), "ages_disagree", "/hatched_on"),
    "two hatchings": (
        told(age_days=None, hatched_on=date(2027, 4, 26), hatched_at=NOW - timedelta(days=2)),
        "ages_disagree",
        "/hatched_at",
    ),
    "fed in an hour": (
        told(condition=fed(NOW + timedelta(hours=1))),
        "in_the_future",
        "/condition/last_feed/at",
    ),
    "fed in the egg": (
        told(condition=fed(NOW - timedelta(days=30))),
        "before_hatching",
        "/condition/last_feed/at",
    ),
    "a day without length": (
        told(feeding_day=FeedingDay(first=time(6), last=time(6))),
        "no_feeding_day",
        "/feeding_day/last",
    ),
    "seen and not seen": (
        told(
            milestones=(
                MilestoneSeen(key=MilestoneKey.STANDS, seen=True),
                MilestoneSeen(key=MilestoneKey.STANDS, seen=False),
            )
        ),
        "milestones_disagree",
        "/milestones/1",
    ),
    "heavier than its peak": (told(mass_g=80.0, peak_mass_g=70.0), "masses_disagree", "/peak_mass_g"),
}


@pytest.mark.parametrize(("request_", "code", "field"), REFUSED.values(), ids=REFUSED.keys())
def test_contradictions_are_refused_where_they_stand_with_what_would_do(request_, code, field):
    with pytest.raises(DomainError) as refused:
        refuse_contradictions(request_, now=NOW)
    assert refused.value.code == code
    assert refused.value.field == field
    assert refused.value.remedy


@pytest.mark.parametrize(
    "request_",
    [
        pytest.param(told(hatched_on=date(2027, 4, 23)), id="the same age twice"),
        pytest.param(told(age_days=9.5, hatched_on=date(2027, 4, 23)), id="half a day apart"),
        pytest.param(told(age_days=0.0, hatched_on=date(2027, 5, 2)), id="hatched today"),
        pytest.param(told(condition=fed(NOW - timedelta(hours=2))), id="fed two hours ago"),
        pytest.param(told(condition=fed(NOW + timedelta(minutes=2))), id="a clock two minutes ahead"),
        pytest.param(told(feeding_day=FeedingDay(first=time(6), last=time(0))), id="last feed at midnight"),
        pytest.param(told(mass_g=70.0, peak_mass_g=70.0), id="at its peak"),
    ],
)
def test_what_can_be_true_passes(request_):
    refuse_contradictions(request_, now=NOW)


def test_a_day_ahead_may_tell_what_will_have_happened_by_then():
    ahead = told(on=date(2027, 6, 1), condition=fed(datetime(2027, 6, 1, 7, 0, tzinfo=UTC)))
    refuse_contradictions(ahead, now=NOW)


@pytest.mark.parametrize("adult_g", [None, 29.0, 35.0, 60.0])
def test_strains_differ(adult_g):
    # Budgerigars: 29 g wild, 50 g and more as show birds (design page 5, rule 18).
    refuse_other_adult_mass(adult_mass_g=adult_g, usual_g=35.0)


@pytest.mark.parametrize("adult_g", [0.5, 3.5, 350.0, 4_000_000.0])
def test_an_adult_mass_of_another_species_is_refused(adult_g):
    with pytest.raises(DomainError) as refused:
        refuse_other_adult_mass(adult_mass_g=adult_g, usual_g=35.0)
    assert refused.value.field == "/adult_mass_g"
    assert "decimal point" in refused.value.remedy
