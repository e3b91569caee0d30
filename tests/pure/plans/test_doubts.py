"""What was told of a bird and does not fit together."""

import pytest

from api.plans.rules.doubts import doubts, independent_from_day
from api.plans.rules.plan import Age, Mass
from api.plans.rules.request import MilestoneSeen, PlanRequest
from api.web.rules.cautions import Severity
from species.domain.vocabulary import MilestoneKey
from tests.safety.birds import TODAY, pack

PROFILES = {profile.key: profile for profile in pack().profiles}
COCKATIEL, GULL, SPARROW = (PROFILES[k] for k in ("nymphicus-hollandicus", "larus-argentatus", "passer-domesticus"))


def found(profile=COCKATIEL, day=10.0, mass_g=30.0, feeding=True, slurry=True, **told):
    request = PlanRequest(on=TODAY, age_days=day, mass_g=mass_g, **told)
    age = Age(days=day, basis="given", low_days=day, high_days=day)
    mass = Mass(value_g=mass_g, basis="measured", expected_g=29.0, low_g=17.0, high_g=50.0, centile=None)
    return list(doubts(profile, request, age=age, mass=mass, feeding=feeding, slurry=slurry))


def codes(*args, **kwargs):
    return [caution.code for caution in found(*args, **kwargs)]


def seen(key, is_seen=True):
    return {"milestones": (MilestoneSeen(key=MilestoneKey(key), seen=is_seen),)}


def test_nothing_is_said_of_a_bird_that_fits():
    assert codes() == []


@pytest.mark.parametrize(
    ("mass_g", "doubtful"), [(51.0, True), (49.0, False)], ids=["above_the_97th_centile", "below_it"]
)
def test_a_heavy_bird_may_be_an_older_one(mass_g, doubtful):
    assert ("age_doubtful" in codes(mass_g=mass_g)) is doubtful


@pytest.mark.parametrize(
    ("day", "told", "doubtful"),
    [
        pytest.param(10.0, seen("fully_feathered"), True, id="feathered_on_day_10-ACS_26_to_28"),
        pytest.param(25.0, seen("fully_feathered"), False, id="feathered_on_day_25-ACS_26_to_28"),
        pytest.param(20.0, seen("eyes_open", False), True, id="blind_on_day_20-ACS_9_to_12"),
        pytest.param(13.0, seen("eyes_open", False), False, id="blind_on_day_13-ACS_9_to_12"),
        pytest.param(10.0, seen("self_feeds_all"), True, id="feeds_itself_on_day_10-WLL06_7_to_11_weeks"),
        pytest.param(50.0, seen("self_feeds_all"), False, id="feeds_itself_on_day_50-WLL06_7_to_11_weeks"),
    ],
)
def test_a_step_out_of_its_time(day, told, doubtful):
    assert ("age_doubtful" in codes(day=day, **told)) is doubtful


def test_a_bird_that_should_feed_itself_by_now():
    """Cockatiels are weaned at 7 to 11 weeks: WLL06 Table 3.2.1."""
    (late,) = found(day=78.0)
    assert (late.code, late.severity) == ("late_weaning", Severity.ACT_TODAY)
    assert codes(day=76.0) == []
    assert codes(day=78.0, feeding=False) == []
    assert found(day=78.0, slurry=False)[0].severity is Severity.NOTE


def test_picking_from_a_dish_is_not_being_on_its_own():
    """Gulls pick at 7 to 14 days (HRB p.430) and fly at 37.5 to 40 (S&P98)."""
    assert independent_from_day(GULL) == 40.0
    assert independent_from_day(SPARROW) == 2 * SPARROW.fledging_days.high


def test_a_strain_without_its_mass():
    assert codes(strain="exhibition") == ["strain_not_known"]
    assert codes(strain="exhibition", adult_mass_g=110.0) == []
