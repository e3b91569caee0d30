"""Ticks and axes, worked out by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from species.charts.plot import spread
from species.charts.scale import Scale, axis_start, decimals, tick_step, ticks


@pytest.mark.parametrize(
    ("low", "high", "most", "least", "expected"),
    [
        pytest.param(0, 400, 9, 0, (0, 50, 100, 150, 200, 250, 300, 350, 400), id="eight fifties"),
        pytest.param(0, 401, 5, 0, (0, 200, 400), id="a hundred would be five and a bit"),
        pytest.param(0, 36, 14, 1, (0, 5, 10, 15, 20, 25, 30, 35), id="days of a pigeon"),
        pytest.param(0, 2, 14, 1, (0, 1, 2), id="no half days"),
        pytest.param(0, 0.5, 6, 0, (0, 0.1, 0.2, 0.3, 0.4, 0.5), id="tenths are exact"),
        pytest.param(265, 324, 9, 0, (270, 280, 290, 300, 310, 320), id="not from zero"),
        pytest.param(-0.2, 3, 14, 1, (0, 1, 2, 3), id="the morning of the hatch day"),
        pytest.param(0, 1e6, 6, 0, (0, 200000, 400000, 600000, 800000, 1000000), id="a million"),
    ],
)
def test_ticks(low, high, most, least, expected):
    assert ticks(low, high, most, least) == expected


@given(low=st.floats(0, 1e5), span=st.floats(1e-2, 1e6), most=st.integers(3, 20))
def test_ticks_are_round_few_and_inside(low, span, most):
    found = ticks(low, low + span, most)
    step = tick_step(span, most)
    leading = step / 10 ** np.floor(np.log10(step) + 1e-9)
    assert min(abs(leading - one) for one in (1, 2, 5)) < 1e-6
    assert len(found) <= most
    # The next smaller step is at least 2.5 times as fine at worst, so ticks are never fewer than that.
    assert span / step > (most - 1) / 2.5 - 1e-6
    assert all(low - 1e-6 * span <= tick <= low + span * (1 + 1e-6) for tick in found)
    assert np.allclose(np.diff(found), step)


@pytest.mark.parametrize(("step", "digits"), [(0.05, 2), (0.2, 1), (1, 0), (50, 0), (1000, 0)])
def test_decimals(step, digits):
    assert decimals(step) == digits


@pytest.mark.parametrize(
    ("low", "high", "step", "margin", "expected"),
    [
        pytest.param(5, 377, 50, 37.7, 0, id="a chick: from zero"),
        pytest.param(300, 324, 5, 30, 270, id="full-grown: a tenth below"),
        pytest.param(-0.2, 30, 5, 1, -1, id="the morning of the hatch day"),
        pytest.param(9, 9, 1, 1, 0, id="no span: from zero"),
    ],
)
def test_axis_start(low, high, step, margin, expected):
    assert axis_start(low, high, step, margin) == expected


def test_scale_is_linear_and_knows_its_ends():
    scale = Scale(0.0, 400.0, 500.0, 100.0)
    assert [scale(0), scale(100), scale(400)] == [500, 400, 100]
    assert scale.holds(400)
    assert not scale.holds(400.1)


@given(
    wanted=st.lists(st.floats(0, 300), min_size=1, max_size=6).map(sorted),
    gap=st.floats(1, 20),
)
def test_numbers_at_the_ends_of_lines_keep_apart(wanted, gap):
    places = spread(wanted, gap, 0.0, 300.0)
    assert all(below - above >= gap - 1e-9 for above, below in zip(places, places[1:], strict=False))
    assert places[-1] <= 300
    assert places[0] >= -1e-9


def test_numbers_with_room_stay_where_their_lines_end():
    assert spread([10.0, 30.0, 60.0], 12.0, 0.0, 300.0) == [10.0, 30.0, 60.0]


def test_worked_example_of_the_method_page():
    """docs/methods/charts.md, reckoned there by hand."""
    high = 1.06 * 377
    assert high == pytest.approx(399.62)
    assert tick_step(high, 11) == 50
    assert ticks(0, high, 11) == (0, 50, 100, 150, 200, 250, 300, 350)
    assert Scale(0, high, 340, 70)(118) == pytest.approx(260.27, abs=0.005)
