"""Cooling against measured beakers and the notes' table, hygiene against published growth rates."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from species.biology import cooling
from species.domain.errors import DomainError


@pytest.mark.parametrize(
    ("volume_ml", "expected", "observed"),
    [
        pytest.param(100.0, 4.75, 4.78, id="C34 open beaker 100 mL, 41 to 38 C"),
        pytest.param(300.0, 7.73, 7.71, id="C34 open beaker 300 mL, 41 to 38 C"),
    ],
)
def test_measured_beakers(volume_ml, expected, observed):
    minutes = cooling.minutes_above(41.0, 38.0, 22.4, cooling.cooling_rate_per_min(volume_ml))
    assert minutes == pytest.approx(expected, abs=0.05)
    assert minutes == pytest.approx(observed, abs=0.05)


@pytest.mark.parametrize(
    ("volume_ml", "rate", "spread"),
    [
        pytest.param(100.0, 0.0370, 0.0004, id="energetics s.3.6 100 mL"),
        pytest.param(300.0, 0.0228, 0.0003, id="energetics s.3.6 300 mL"),
    ],
)
def test_rate(volume_ml, rate, spread):
    assert cooling.cooling_rate_per_min(volume_ml) == pytest.approx(rate, abs=spread)


def test_rate_falls_with_volume_as_the_notes_say():
    """energetics s.3.6: k goes as V^-0.44."""
    ratio = cooling.cooling_rate_per_min(200.0) / cooling.cooling_rate_per_min(20.0)
    assert math.log10(ratio) == pytest.approx(-0.44, abs=0.005)


TABLE = [
    # rate per min; 41 to 38 in a room of 20; same in 25; 40 to 38 in 20; 45 to 38 in 20
    (0.010, 15.4, 20.8, 10.5, 32.9),
    (0.020, 7.7, 10.4, 5.3, 16.4),
    (0.040, 3.9, 5.2, 2.6, 8.2),
]


@pytest.mark.parametrize(
    ("rate", "expected"), [pytest.param(row[0], row[1:], id=f"energetics s.3.6 k {row[0]}") for row in TABLE]
)
def test_table_of_windows(rate, expected):
    found = cooling.minutes_above([41.0, 41.0, 40.0, 45.0], 38.0, [20.0, 25.0, 20.0, 20.0], rate)
    assert found == pytest.approx(np.array(expected), abs=0.06)


@pytest.mark.parametrize(
    ("log10_per_h", "expected"),
    [
        pytest.param(0.73, 0.412, id="C35 Cronobacter 35 C, Front. Pediatr. 2015"),
        pytest.param(0.45, 0.669, id="C35 Cronobacter 22 C, Front. Pediatr. 2015"),
    ],
)
def test_doubling_time(log10_per_h, expected):
    assert cooling.doubling_time_h(log10_per_h) == pytest.approx(expected, abs=0.005)


def test_two_warm_hours():
    """energetics s.3.6: about 1.1 powers of ten in 2 h at 35 C, lag 0.45 h, 0.73 per h; none within the
    lag."""
    assert cooling.log10_growth(2.0, 0.45, 0.73) == pytest.approx(1.1, abs=0.05)
    assert cooling.log10_growth(0.4, 0.45, 0.73) == 0.0


def test_kept_no_longer_than_the_printed_hour():
    """HRB p. 446: mixed food expires after an hour."""
    assert cooling.KEEP_AT_MOST_MIN == 60.0


@given(start=st.floats(37.0, 49.0), room=st.floats(5.0, 34.0), rate=st.floats(0.005, 0.2))
def test_newtons_law_integrated_by_another_solver(start, room, rate):
    minutes = cooling.minutes_above(start, 36.0, room, rate)
    solved = solve_ivp(lambda _, t: -rate * (t - room), (0.0, minutes + 1e-9), [start], rtol=1e-9, atol=1e-9)
    assert solved.y[0, -1] == pytest.approx(36.0, abs=1e-5)
    assert cooling.temperature_after_c(start, room, rate, minutes) == pytest.approx(36.0, abs=1e-9)


def test_in_a_warm_room_only_hygiene_ends_the_window():
    assert cooling.minutes_above(40.0, 36.0, 36.5, 0.03) == math.inf
    assert list(cooling.minutes_above(40.0, [36.0, 38.0], 37.0, 0.03) == math.inf) == [True, False]


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: cooling.minutes_above(60.0, 38.0, 20.0, 0.03), "start_c"),
        (lambda: cooling.minutes_above(37.0, 38.0, 20.0, 0.03), "start_c"),
        (lambda: cooling.minutes_above(37.0, 36.0, 39.0, 0.03), "start_c"),
        (lambda: cooling.minutes_above(41.0, 38.0, 20.0, 0.0), "rate_per_min"),
        (lambda: cooling.cooling_rate_per_min(0.0), "volume_ml"),
        (lambda: cooling.cooling_rate_per_min(6000.0), "volume_ml"),
        (lambda: cooling.temperature_after_c(41.0, 20.0, 0.03, -1.0), "minutes"),
        (lambda: cooling.log10_growth(-1.0, 0.45, 0.73), "held_h"),
    ],
    ids=["evaporates", "below the limit", "below the room", "rate", "no volume", "a tank", "back", "held"],
)
def test_out_of_domain(call, field):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.field == field
