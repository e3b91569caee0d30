"""What cannot be a bird's own weight, and what is only a bad sign."""

import msgspec
import pytest

from api.growth.rules.assessment import assess
from api.growth.rules.slips import meant_g, slips
from tests.pure.growth.birds import COCKATIEL, asked


def questioned(ages, masses, expected, age_log_sd=None, confirmed=()):
    sds, sure = age_log_sd or [0.0] * len(ages), [n in confirmed for n in range(len(ages))]
    return [n for n, out in enumerate(slips(ages, masses, expected, sds, sure)) if out]


DAYS = list(range(8))
GROWING = [5.0, 6.5, 8.5, 11.0, 14.2, 18.0, 23.0, 29.0]


@pytest.mark.parametrize("place", range(8))
@pytest.mark.parametrize("slip", [10.0, 0.1, 1000.0, 0.01])
def test_a_slip_anywhere(place, slip):
    masses = [*GROWING]
    masses[place] *= slip
    assert questioned(DAYS, masses, GROWING) == [place]


def test_two_slips_side_by_side_at_the_start():
    assert questioned(DAYS, [50.0, 65.0, *GROWING[2:]], GROWING) == [0, 1]


def test_a_whole_record_in_kilograms():
    assert questioned(DAYS, [m / 1000 for m in GROWING], GROWING) == DAYS


def test_a_chick_that_stopped_growing_is_believed_however_far_behind_it_falls():
    """The alarm must rest on these weights: 6.5 g where 29 g is expected is a dying chick, not a slip."""
    assert questioned(DAYS, [5.0, *[6.5] * 7], GROWING) == []


def test_a_siblings_weight_between_two_of_its_own():
    """14.2 g read for a sibling of 24 g: more than a full crop or a meal (a fifth, HRB p.282) explains."""
    masses = [*GROWING]
    masses[4] = 24.0
    assert questioned(DAYS, masses, GROWING) == [4]


def test_a_full_crop_or_a_herons_meal_is_no_slip():
    masses = [m * (1.2 if n % 2 else 1.0) for n, m in enumerate(GROWING)]
    assert questioned(DAYS, masses, GROWING) == []


def test_one_weight_alone_is_asked_about_only_far_off():
    assert questioned([4], [14.2 / 3], [14.2]) == []
    assert questioned([4], [142.0], [14.2]) == [0]


def test_an_uncertain_age_lets_more_pass():
    assert questioned([4], [85.0], [14.2]) == [0]
    assert questioned([4], [85.0], [14.2], [0.3]) == []


@pytest.mark.parametrize(
    ("mass_g", "meant"), [(142.0, 14.2), (1.42, 14.2), (0.0142, 14.2), (14200.0, 14.2), (40.0, None)]
)
def test_what_may_have_been_meant(mass_g, meant):
    assert meant_g(mass_g=mass_g, expected_g=14.0) == meant


def test_a_questioned_weight_says_what_may_have_been_meant():
    series = [(day, mass_g) for day, mass_g in zip(DAYS, GROWING, strict=True)]
    found = assess(COCKATIEL, asked([*series[:7], (7, 290.0)]))
    (finding,) = [f for f in found.findings if f.code == "implausible_weight"]
    assert "Was 29 g meant?" in finding.text
    assert msgspec.json.decode(msgspec.json.encode(found.points[-1]))["centile"] is None
