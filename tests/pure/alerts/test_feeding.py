"""Feeds: how they were given, by the plan's own bands, and how the bird took them."""

from datetime import UTC, datetime, timedelta

import pytest

from api.alerts.rules.feeding import FeedBands, FeedGiven, bands_of, feed_looks
from api.birds.rules.words import Purpose, Response
from api.catalog.rules.known import Known
from tests.safety.birds import profiles, request_for

AT = datetime(2027, 5, 2, 6, 30, tzinfo=UTC)
BANDS = FeedBands(
    age_days=9.0,
    slurry=True,
    dry_matter_low_fraction=0.25,
    dry_matter_high_fraction=0.30,
    low_c=39.0,
    high_c=41.0,
    never_above_c=42.0,
    cap_ml=4.0,
)


def feed(hours=0.0, **told):
    return FeedGiven(at=AT + timedelta(hours=hours), bands=BANDS, **told)


def found(*feeds):
    """(code, severity) of the last feed."""
    return [(finding.code, finding.severity.value) for finding in feed_looks(feeds)[-1].findings]


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        pytest.param({"temperature_c": 43.5}, [("too_hot", "urgent")], id="RIV08 burns from 43.3"),
        pytest.param({"temperature_c": 42.1}, [("too_hot", "urgent")], id="practice 10: above 42 never"),
        pytest.param({"temperature_c": 41.5}, [("too_hot", "act_today")], id="practice 10: 41 to 42 wait"),
        pytest.param({"temperature_c": 40.0}, [], id="TUBE 38 to 41"),
        pytest.param({"temperature_c": 35.0}, [("too_cool", "act_today")], id="HRB p.616 cold food"),
        pytest.param({"temperature_c": 38.6}, [], id="a little cool is no alert"),
        pytest.param({"volume_ml": 4.5}, [("overfilled", "urgent")], id="HRB p.616 overfilled"),
        pytest.param({"volume_ml": 4.0}, [], id="APN a tenth of its mass"),
        pytest.param({"dry_matter_fraction": 0.10}, [("too_dilute", "urgent")], id="R&G86 10 % throughout kills"),
        pytest.param({"dry_matter_fraction": 0.36}, [("too_thick", "act_today")], id="HRB p.593 too thick"),
        pytest.param({"dry_matter_fraction": 0.10, "purpose": Purpose.RECOVERY}, [], id="HRB p.593 1:2 after stasis"),
        pytest.param({"dry_matter_fraction": 0.0, "purpose": Purpose.FLUIDS}, [], id="fluids are no food"),
        pytest.param({"response": Response.REGURGITATED}, [("regurgitation", "act_today")], id="COMMON practice"),
        pytest.param({"response": Response.LEAKED}, [("aspiration_suspected", "urgent")], id="HRB p.9"),
        pytest.param({"response": Response.COUGHED}, [("aspiration_suspected", "act_today")], id="HRB p.616"),
        pytest.param({"response": Response.REFUSED}, [], id="one refusal"),
        pytest.param({"response": Response.EAGER}, [], id="taken"),
        pytest.param({}, [], id="nothing told"),
    ],
)
def test_one_feed(told, expected):
    assert found(feed(**told)) == expected


def test_food_that_burns_opens_a_watch_of_14_days():
    """RIV08: necrosis demarcates 10 to 14 days after the burn."""
    (finding,) = feed_looks([feed(temperature_c=44.0)])[0].findings
    assert finding.evidence["watch_until"] == (AT + timedelta(days=14)).isoformat()
    assert any("14 days" in action for action in finding.actions)


def test_a_feed_of_a_bird_without_bands_is_judged_by_heat_alone():
    untold = FeedGiven(at=AT, temperature_c=43.0, volume_ml=50.0, dry_matter_fraction=0.05)
    assert found(untold) == [("too_hot", "urgent")]


def test_refusing_is_two_feeds_running():
    refused, taken = {"response": Response.REFUSED}, {"response": Response.SLOW}
    assert found(feed(0, **refused), feed(4, **refused)) == [("refusing_feeds", "act_today")]
    assert found(feed(0, **refused), feed(4, **taken), feed(8, **refused)) == []
    assert found(feed(0, **refused), feed(4), feed(8, **refused)) == [("refusing_feeds", "act_today")]
    three = feed_looks([feed(n, **refused) for n in (0, 4, 8)])[-1].findings[0]
    assert (three.since, three.evidence["refused"]) == (AT, 3)


def test_a_feed_offered_to_be_left_is_not_refused():
    """HRB p.597: at weaning one feed after the other is dropped."""
    weaning = {"response": Response.REFUSED, "purpose": Purpose.WEANING}
    assert found(feed(0, **weaning), feed(4, **weaning), feed(8, **weaning)) == []
    routine = {"response": Response.REFUSED}
    assert found(feed(0, **routine), feed(4, **weaning), feed(8, **routine)) == [("refusing_feeds", "act_today")]


def test_coughing_again_within_a_day_is_urgent():
    cough = {"response": Response.COUGHED}
    assert found(feed(0, **cough), feed(20, **cough)) == [("aspiration_suspected", "urgent")]
    assert found(feed(0, **cough), feed(28, **cough)) == [("aspiration_suspected", "act_today")]


@pytest.mark.parametrize(
    ("told", "judged"),
    [
        ({"temperature_c": 40.0}, {"too_hot", "too_cool"}),
        ({"volume_ml": 3.0}, {"overfilled"}),
        ({"dry_matter_fraction": 0.25}, {"too_dilute", "too_thick"}),
        ({"dry_matter_fraction": 0.10, "purpose": Purpose.RECOVERY}, set()),
        ({"response": Response.NORMAL}, {"regurgitation", "aspiration_suspected", "refusing_feeds"}),
        ({"response": Response.REFUSED}, {"regurgitation", "aspiration_suspected"}),
        ({}, set()),
    ],
)
def test_a_feed_clears_only_what_was_told_of_it(told, judged):
    (look,) = feed_looks([feed(**told)])
    assert look.judged == judged


def test_the_order_of_arrival_does_not_matter():
    feeds = [feed(n, response=Response.REFUSED) for n in (0, 4, 8)]
    assert feed_looks(feeds[::-1]) == feed_looks(feeds)


def test_bands_are_those_of_the_plan():
    """A tenth of its actual mass (APN), or the species' printed row; 38 to 41 °C, never above 42."""
    profile = next(profile for profile in profiles() if profile.key == "nymphicus-hollandicus")
    known = Known(profile=profile)
    bands = bands_of(known, request_for(profile, 10.0, mass_g=50.0), now=AT)
    assert bands is not None
    assert bands.slurry
    assert bands.cap_ml == pytest.approx(5.0)
    assert bands.never_above_c is not None
    assert bands.never_above_c <= 42.0
    unweighed = bands_of(known, request_for(profile, 10.0, mass_g=None), now=AT)
    assert unweighed is not None
    assert unweighed.cap_ml is None
