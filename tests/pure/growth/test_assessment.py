"""A bird's growth judged: what is a slip, what is normal, what asks for somebody."""

import math
import random

import msgspec
import numpy as np
import pytest

from api.growth.rules.assessment import Status, assess
from species.biology import growth_forms
from species.biology.weighing_errors import IndependentNoise
from species.domain.errors import DomainError
from tests.pure.growth.birds import COCKATIEL, COMMON_TERN, TREE_SWALLOW, asked, known

COCKATIEL_CURVE = ("logistic", 89.126, 0.2207, 13.332)


def on_curve(first: int, last: int, *, times: float = 1.0):
    form, *parameters = COCKATIEL_CURVE
    return [(day, round(times * float(growth_forms.mass_g(form, day, *parameters)), 1)) for day in range(first, last)]


def codes(assessment) -> list[str]:
    return [finding.code for finding in assessment.findings]


def test_a_bird_on_its_species_curve_is_on_track():
    found = assess(COCKATIEL, asked(on_curve(2, 14)))
    assert found.status is Status.ON_TRACK
    assert codes(found) == []
    assert found.curve.asymptote_g == pytest.approx(89.1, abs=1.0)
    assert all(40 <= point.centile <= 60 for point in found.points)


@pytest.mark.parametrize("slip", [10.0, 0.1, 1000.0])
@pytest.mark.parametrize("place", [0, 5, 11], ids=["first", "middle", "last"])
def test_a_slip_is_asked_about_and_changes_nothing_else(slip, place):
    """Hazard 30: ten times or a tenth; kilograms for grams are a thousandth."""
    series = on_curve(2, 14)
    right = assess(COCKATIEL, asked(series))
    day, mass_g = series[place]
    spoilt = assess(COCKATIEL, asked([*series[:place], (day, round(mass_g * slip, 3)), *series[place + 1 :]]))
    assert [p.state for p in spoilt.points].count("questioned") == 1
    (finding,) = [f for f in spoilt.findings if f.code == "implausible_weight"]
    assert finding.evidence["weighing"] == place
    assert finding.evidence["meant_g"] == pytest.approx(mass_g, rel=0.01)
    assert spoilt.curve.asymptote_g == pytest.approx(right.curve.asymptote_g, rel=0.05)


def test_three_mornings_without_gain_ask_for_somebody():
    """HRB p.599: no gain for more than two days; the last three weighings stand still."""
    series = on_curve(5, 14)
    still = [(series[-1][0] + n, series[-1][1]) for n in (1, 2, 3)]
    found = assess(COCKATIEL, asked(series + still))
    assert "no_gain" in codes(found)
    assert found.status is Status.FALLING_BEHIND
    (finding,) = [f for f in found.findings if f.code == "no_gain"]
    assert finding.evidence["mornings"] == 3
    assert finding.since == found.points[len(series) - 1].at


def test_one_morning_without_gain_is_enough_in_a_very_young_parrot():
    """Practice, rule 13, from memory: parrots under 10 days or 20 g."""
    series = on_curve(4, 8)
    found = assess(COCKATIEL, asked([*series, (8, series[-1][1])]))
    assert "no_gain" in codes(found)


def test_the_first_days_lag_is_normal():
    """ARI: lag d0-3 in parrots."""
    found = assess(COCKATIEL, asked([(0, 5.0), (1, 4.9), (2, 4.9), (3, 5.0)]))
    assert codes(found) == []


def test_a_flat_start_is_normal_in_gulls_and_terns():
    """HRB pp.430-432: flat for the first 48 h."""
    found = assess(COMMON_TERN, asked([(0, 14.0), (1, 13.8), (2, 14.0)]))
    assert not {"no_gain", "weight_loss"} & set(codes(found))


def test_loss_while_growing_is_a_loss():
    series = on_curve(10, 16)
    found = assess(COCKATIEL, asked([*series, (16, round(series[-1][1] * 0.95, 1))]))
    assert codes(found)[0] == "weight_loss"
    assert found.status is Status.LOSING_WEIGHT


@pytest.mark.parametrize(("grams", "expected"), [(82.0, []), (79.0, ["weaning_loss"])])
def test_slimming_before_flight_is_normal_up_to_the_limit(grams, expected):
    """HRB p.599: about 10 % below the peak before fledging."""
    series = [*on_curve(14, 28), (28, 90.0), (29, 88.0), (30, 85.0), (31, grams)]
    found = assess(COCKATIEL, asked(series))
    assert [code for code in codes(found) if code != "low_for_age"] == expected


def test_a_light_bird_with_feathers_is_thin_not_younger():
    light = on_curve(12, 20, times=0.62)
    assert "low_for_age" in codes(assess(COCKATIEL, asked(light)))
    assert "light_for_milestones" in codes(assess(COCKATIEL, asked(light, feathered=True)))


def test_the_order_of_the_request_does_not_matter():
    series = on_curve(3, 15)
    shuffled = series[:]
    random.Random(4).shuffle(shuffled)
    one, other = (assess(COCKATIEL, asked(told)) for told in (series, shuffled))
    assert one.curve == other.curve
    assert one.forecast == other.forecast
    assert [p.mass_g for p in one.points] == [p.mass_g for p in other.points]
    assert [shuffled[p.index] for p in other.points] == series


@pytest.mark.parametrize(
    "series",
    [
        pytest.param([(5, 12.0)], id="one"),
        pytest.param([(5, 12.0)] * 400, id="four-hundred-at-one-instant"),
        pytest.param([(0.05 * n, 5 + 0.2 * n) for n in range(400)], id="four-hundred"),
        pytest.param([(5, 12.0), (5, 12.0), (6, 14.0)], id="a-duplicate"),
        pytest.param([(5, 0.001), (6, 99_999.0)], id="nothing-fits"),
        pytest.param([(300, 95.0), (301, 96.0)], id="long-grown"),
    ],
)
def test_no_number_is_lost_whatever_comes(series):
    found = assess(COCKATIEL, asked(series))
    assert len(found.points) == len(series)
    assert len(found.forecast) == 7
    text = msgspec.json.encode(found).decode()
    assert "NaN" not in text
    assert "Infinity" not in text
    assert "null" not in msgspec.json.encode((found.curve, found.forecast)).decode()


def test_weighed_before_hatching_is_refused():
    with pytest.raises(DomainError) as refused:
        assess(COCKATIEL, asked([(-1.0, 5.0), (2, 7.0)]))
    assert refused.value.field == "/weighings/0/at"


def test_a_species_without_a_curve_is_refused():
    bare = known("Passeriformes", 20, 0.5, 5, adult_g=20)
    bare = msgspec.structs.replace(bare, profile=msgspec.structs.replace(bare.profile, growth_curve=None))
    with pytest.raises(DomainError) as refused:
        assess(bare, asked([(2, 5.0)]))
    assert refused.value.code == "no_growth_curve"


def test_a_coarse_scale_and_a_full_crop_say_less():
    series = [(3, 9.0), (4, 11.0), (5, 13.0)]
    from api.birds.rules.words import Context

    fine = assess(COCKATIEL, asked(series)).curve
    full = assess(COCKATIEL, asked(series, context=Context.AFTER_FEED)).curve
    assert full.asymptote_sd_g >= fine.asymptote_sd_g
    assert full.age_shift_sd_days > fine.age_shift_sd_days


def test_the_forecast_stays_near_the_last_weights():
    """A chick that stands still is not forecast to leap back: less than half-way to its old curve by tomorrow."""
    series = [*on_curve(5, 13), (13, 42.0), (14, 42.0), (15, 42.0)]
    slow = assess(COCKATIEL, asked(series)).forecast[0].expected_g
    fresh = assess(COCKATIEL, asked(series), residual=IndependentNoise).forecast
    assert slow < 56.0
    assert len(fresh) == 7


def test_expected_and_centile_against_a_plain_normal():
    """Oracle: the delta method written out, as docs/methods/growth.md says, with numpy alone."""
    found = assess(TREE_SWALLOW, asked([(6, 15.0)]))
    A, K, ti, t = 25.004, 0.51089, 4.8167, 6.0
    u = 1 / (1 + math.exp(-K * (t - ti)))
    slope = 1 - u
    sd = math.sqrt(0.08**2 + (slope * K * (t - ti) * 0.13) ** 2 + (slope * K * 1.0) ** 2 + 0.09**2)
    z = (math.log(15.0) - math.log(A * u)) / sd
    point = found.points[0]
    assert point.expected_g == pytest.approx(A * u, abs=0.05)
    assert point.z == pytest.approx(z, abs=0.005)
    assert point.low_g == pytest.approx(A * u * math.exp(-1.8808 * sd), rel=0.01)


def test_own_curve_beats_the_species_on_a_large_bird():
    """Simulated, no source: a bird 25 % larger is recognised, within its own two standard deviations."""
    draw = np.random.default_rng(7)
    series = [(d, round(m * float(np.exp(draw.normal(0, 0.03))), 1)) for d, m in on_curve(2, 26, times=1.25)]
    own = assess(COCKATIEL, asked(series)).curve
    assert abs(own.asymptote_g - 1.25 * 89.126) < 2 * own.asymptote_sd_g
    assert own.asymptote_g > 100
