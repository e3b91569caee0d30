"""The CUSUM against printed examples and run length tables, a Markov chain, quadrature and simulated birds.

"Quoted" is a printed figure that was read in somebody else's text, here mostly the manual pages of the R package
spc; the works themselves were not seen. Tables are of charts that look for a rise in a mean: a shift of +d there
is a shift of -d here. Two-sided tables join two one-sided charts.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from scipy.integrate import quad
from scipy.stats import norm

from species.biology import cusum as module
from species.biology.cusum import (
    alarm_probability,
    cusum,
    limit_for,
    limit_for_run_length,
    run_length,
    run_length_distribution,
)
from species.domain.errors import DomainError


def two_sided(k, h, rise, head_start=0.0):
    """Both charts at once: Lucas and Crosier 1982, appendix A.1; without a head start 1/L = 1/L+ + 1/L-."""
    up, down = run_length(k, h, -rise), run_length(k, h, rise)
    ahead_up, ahead_down = run_length(k, h, -rise, head_start), run_length(k, h, rise, head_start)
    return (ahead_up * down + ahead_down * up - up * down) / (up + down)


def rounding(printed):
    """Half a unit of the last digit that is printed."""
    digits = len(printed.partition(".")[2])
    return 0.5000001 * 10.0**-digits


# Printed examples


MONTGOMERY = [
    *(9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08),
    *(9.37, 10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52),
]
MONTGOMERY_UPPER = [
    *(0.0, 0.0, 0.0, 1.16, 2.82, 2.50, 0.04, 1.00, 0.0, 0.0, 0.0, 0.97, 0.98, 0.0, 0.0),
    *(0.0, 0.12, 0.0, 0.0, 0.34, 0.74, 0.0, 1.79, 2.79, 2.89, 3.47, 3.35, 4.47, 5.28, 5.30),
]


def test_sums_of_montgomerys_example():
    """Introduction to Statistical Quality Control, example 9.1 (quoted): mean 10, sd 1, k 1/2, h 5; period 29.

    The sum has been above 0 for 7 periods by then, so that the change began between periods 22 and 23 (from memory).
    """
    fallen = cusum([[10.0 - value for value in MONTGOMERY]], None, 0.5, 5.0)
    assert_allclose(fallen.sums[0], MONTGOMERY_UPPER, atol=rounding("5.28"))
    assert (fallen.alarm_at.tolist(), fallen.rising_from.tolist()) == ([28], [22])
    assert_allclose(cusum([[value - 10.0 for value in MONTGOMERY[:2]]], None, 0.5, 5.0).sums, [[0.05, 1.56]], atol=5e-3)


def test_alarm_of_the_nist_handbooks_example():
    """NIST/SEMATECH e-Handbook 6.3.2.3 (quoted): target 325, k 0.3175, h 4.1959; the fourteenth group signals."""
    groups = [
        *(324.93, 324.68, 324.73, 324.35, 325.35, 325.23, 324.13, 324.53, 325.23, 324.60),
        *(324.63, 325.15, 328.33, 327.25, 327.83, 328.50, 326.68, 327.78, 326.88, 328.35),
    ]
    deviation = np.array([groups]) - 325.0
    assert cusum(-deviation, None, 0.3175, 4.1959).alarm_at.tolist() == [13]
    assert cusum(deviation, None, 0.3175, 4.1959).alarm_at.tolist() == [-1]


# Printed run lengths


LUCAS_CROSIER = [
    (0.0, "168", "149"),
    (0.25, "74.2", "62.7"),
    (0.5, "26.6", "20.1"),
    (0.75, "13.3", "8.97"),
    (1.0, "8.38", "5.29"),
    (1.5, "4.75", "2.86"),
    (2.0, "3.34", "2.01"),
    (2.5, "2.62", "1.59"),
    (3.0, "2.19", "1.32"),
    (4.0, "1.71", "1.07"),
    (5.0, "1.31", "1.01"),
]


@pytest.mark.parametrize(("rise", "plain", "ahead"), LUCAS_CROSIER)
def test_lucas_and_crosier_1982_table_1(rise, plain, ahead):
    """Quoted in spc, xcusum.arl: two-sided, k 0.5, h 4, without and with a head start of h/2.

    Their 1.32 is 1.3254 here: beyond its rounding by 0.0004, which is allowed for.
    """
    assert two_sided(0.5, 4.0, rise) == pytest.approx(float(plain), abs=rounding(plain))
    slack = 0.0004 if ahead == "1.32" else 0.0
    assert two_sided(0.5, 4.0, rise, head_start=2.0) == pytest.approx(float(ahead), abs=rounding(ahead) + slack)


@pytest.mark.parametrize(
    ("rise", "printed"), [(0.0, "465"), (0.25, "139"), (0.5, "38.0"), (0.75, "17.0"), (1.0, "10.4"), (1.5, "5.75")]
)
def test_montgomerys_table_of_h_5(rise, printed):
    """Introduction to Statistical Quality Control, ARL table of the tabular cusum (quoted): two-sided, k 1/2, h 5."""
    assert two_sided(0.5, 5.0, rise) == pytest.approx(float(printed), abs=rounding(printed))


@pytest.mark.parametrize(
    ("h", "rise", "printed", "tolerance"),
    [
        pytest.param(4.0, 0.0, 336.0, 1.0, id="336 at h 4: twice 168, itself rounded"),
        pytest.param(5.0, 0.0, 930.0, 1.0, id="930 at h 5: twice 465, itself rounded"),
        (4.0, 1.0, 8.38, 0.005),
        (4.0, 2.0, 3.34, 0.005),
        (5.0, 0.5, 38.0, 0.05),
        (5.0, 1.0, 10.4, 0.05),
        (5.0, 2.0, 4.01, 0.005),
    ],
)
def test_nist_handbook_6_3_2_3_1(h, rise, printed, tolerance):
    """Quoted: k 0.5, one-sided. Its 26.6 at h 4, shift 0.5 is the two-sided figure; one chart alone has 26.68."""
    assert run_length(0.5, h, -rise) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("rise", "printed", "tolerance"),
    [
        pytest.param(-0.25, 2071.51, 0.07, id="-0.25: 15 nodes of a plain Nystroem give 2071.59, 20 and more 2071.57"),
        (-0.125, 400.28, 0.005),
        (0.0, 124.66, 0.005),
        (0.125, 59.30, 0.005),
        (0.25, 36.71, 0.005),
        (0.5, 20.37, 0.005),
        (0.75, 14.06, 0.005),
        (1.0, 10.75, 0.005),
    ],
)
def test_vance_1986_table_1(rise, printed, tolerance):
    """Quoted in spc, xcusum.arl: one-sided, k 0, h 10."""
    assert run_length(0.0, 10.0, -rise) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("rise", "printed", "tolerance"),
    [
        pytest.param(0.0, 117.59, 0.01, id="Brook and Evans 1972 4.3, extrapolated from a Markov chain"),
        pytest.param(1.5, 3.75, 0.005, id="Brook and Evans 1972 4.3"),
        pytest.param(-0.5, 1963.0, 0.5, id="Waldmann 1986 table 3"),
        pytest.param(0.5, 17.35, 0.005, id="Waldmann 1986 table 5"),
    ],
)
def test_one_sided_figures_of_h_3(rise, printed, tolerance):
    """Quoted in spc, xcusum.arl: k 0.5, h 3. Waldmann's 117.4 for no shift parts from all others and is left out."""
    assert run_length(0.5, 3.0, -rise) == pytest.approx(printed, abs=tolerance)


def test_sas_manual():
    """SAS/QC manual, function CUSUMARL (quoted in spc): k 0.25, h 8, shift 2.5. Its normal integral has 7 digits."""
    assert run_length(0.25, 8.0, -2.5) == pytest.approx(4.1500836225, abs=2e-7)
    assert run_length(0.25, 8.0, -2.5, 0.1) == pytest.approx(4.1061588131, abs=2e-7)


def test_waldmann_1986_quantiles():
    """Table 2 (quoted in spc, xcusum.q): k 0.5, h 3, no shift: median 82, 5 % point 9, 95 % point 345.

    His figures bound the distribution: the tail that belongs to his 117.4 is a weighing short.
    """
    within_ = run_length_distribution(0.5, 3.0, 400)
    quantiles = 1 + np.searchsorted(within_, [0.05, 0.5, 0.95])
    assert quantiles[:2].tolist() == [9, 82]
    assert abs(quantiles[2] - 345) <= 1


@pytest.mark.parametrize(
    ("k", "printed"), [(0.25, 8.01), (0.5, 4.77), (0.75, 3.34), (1.0, 2.52), (1.25, 1.99), (1.5, 1.61)]
)
def test_hawkins_1993_limits_for_370(k, printed):
    """Montgomery's table after Hawkins (quoted): two-sided 370, so each side 740. His are an approximation's."""
    assert limit_for_run_length(k, 740.0) == pytest.approx(printed, abs=0.01)


@pytest.mark.parametrize(("k", "length", "printed"), [(0.5, 500, 4.389), (0.5, 1000, 5.071), (0.25, 1000, 8.585)])
def test_hawkins_and_olwell_1998_limits(k, length, printed):
    """Cumulative Sum Charts, table of one-sided decision intervals: from memory."""
    assert limit_for_run_length(k, length) == pytest.approx(printed, abs=rounding("4.389"))


@pytest.mark.parametrize("h", [4.0, 5.0, 8.0])
@pytest.mark.parametrize("rise", [0.0, 0.25, 0.75, 1.0])
def test_siegmunds_approximation_is_near(h, rise):
    """Siegmund 1985 with h + 1.166 (quoted from Montgomery), an approximation: 1 % at h 4 and above, k 0.5."""
    drift, b = rise - 0.5, h + 1.166
    near = (math.exp(-2.0 * drift * b) + 2.0 * drift * b - 1.0) / (2.0 * drift**2)
    assert run_length(0.5, h, -rise) == pytest.approx(near, rel=0.01)


# Oracles written here


def markov_chain(k, h, mean, states):
    """Brook and Evans 1972: S on a grid of cells, the lowest half as wide. Chain of S with -z of that mean."""
    width = 2.0 * h / (2 * states - 1)
    centres = width * np.arange(states)
    edges = centres + 0.5 * width
    below = norm.cdf(edges[None, :] - centres[:, None] + k - mean)
    return np.diff(below, axis=1, prepend=0.0)


def by_markov_chain(k, h, mean):
    """Average run length from 0, extrapolated: the error falls with the square of the number of cells."""

    def with_cells(states):
        matrix = np.eye(states) - markov_chain(k, h, mean, states)
        return np.linalg.solve(matrix, np.ones(states))[0]

    return (4.0 * with_cells(400) - with_cells(200)) / 3.0


CHARTS = [(0.5, 4.0, 0.0), (0.5, 4.0, -1.0), (0.25, 6.0, 0.0), (1.0, 2.5, 0.0), (0.0, 3.0, 0.5), (0.7, 0.3, -0.2)]


@pytest.mark.parametrize(("k", "h", "shift"), CHARTS)
def test_run_length_is_that_of_a_markov_chain(k, h, shift):
    """The chain's extrapolation settles to 5 digits."""
    assert run_length(k, h, shift) == pytest.approx(by_markov_chain(k, h, -shift), rel=1e-5)


@pytest.mark.parametrize(("k", "h", "shift"), CHARTS)
def test_distribution_is_that_of_a_markov_chain(k, h, shift):
    def survivors(states):
        chain, held, left = markov_chain(k, h, -shift, states), np.eye(1, states)[0], []
        for _ in range(40):
            held = held @ chain
            left.append(held.sum())
        return np.array(left)

    expected = 1.0 - (4.0 * survivors(400) - survivors(200)) / 3.0
    assert_allclose(run_length_distribution(k, h, 40, shift), expected, atol=1e-6)


@pytest.mark.parametrize("start", [0.0, 1.0, 3.9])
def test_run_length_meets_its_integral_equation(start):
    """SciPy's adaptive quadrature on the equation of the method page, kernel written out."""
    k, h, shift = 0.4, 4.0, -0.3

    def density(level):
        return norm.pdf(level + k - start, loc=-shift)

    integral, _ = quad(lambda level: density(level) * run_length(k, h, shift, level), 0.0, h, epsabs=1e-9)
    right = 1.0 + norm.cdf(k - start, loc=-shift) * run_length(k, h, shift) + integral
    assert run_length(k, h, shift, start) == pytest.approx(right, rel=1e-9)


def test_first_two_weighings_by_hand():
    k, h, shift, start = 0.5, 2.0, -0.4, 1.2
    at_once = norm.sf(h + k - start, loc=-shift)
    after_zero = norm.cdf(k - start, loc=-shift) * norm.sf(h + k, loc=-shift)

    def through(level):
        return norm.pdf(level + k - start, loc=-shift) * norm.sf(h + k - level, loc=-shift)

    after_more, _ = quad(through, 0.0, h, epsabs=1e-13)
    expected = [at_once, at_once + after_zero + after_more]
    assert_allclose(run_length_distribution(k, h, 2, shift, start), expected, rtol=1e-11)


@pytest.mark.parametrize(("k", "h", "shift"), [(0.5, 4.0, 0.0), (0.5, 4.0, -1.0), (0.25, 3.0, -0.25)])
@pytest.mark.parametrize("share", [0.0, 0.5])
def test_simulated_birds(k, h, shift, share):
    """200,000 birds by 30 weighings through the CUSUM itself, seed 41; 4 standard errors of a share."""
    scores = np.random.default_rng(41).normal(shift, 1.0, (200_000, 30))
    at = cusum(scores, None, k, h, share * h).alarm_at
    seen = np.cumsum(np.bincount(at[at >= 0], minlength=30)) / len(scores)
    told = run_length_distribution(k, h, 30, shift, share * h)
    assert np.all(np.abs(seen - told) < 4.0 * np.sqrt(told * (1.0 - told) / len(scores)) + 1e-9)


@pytest.mark.parametrize(("shift", "head_start"), [(0.0, 0.0), (-0.75, 0.0), (-0.75, 1.5)])
def test_mean_of_simulated_runs(shift, head_start):
    """40,000 runs to their alarm in plain NumPy, seed 42; k 0.5, h 3; 4 standard errors of the mean."""
    rng = np.random.default_rng(42)
    level, lengths = np.full(40_000, head_start), np.zeros(40_000)
    running = np.full(40_000, True)
    while running.any():
        lengths[running] += 1.0
        level[running] = np.maximum(0.0, level[running] - rng.normal(shift, 1.0, running.sum()) - 0.5)
        running &= level <= 3.0
    error = lengths.std() / math.sqrt(lengths.size)
    assert abs(lengths.mean() - run_length(0.5, 3.0, shift, head_start)) < 4.0 * error


@pytest.mark.parametrize(("weighings", "wanted"), [(25, 0.05), (60, 0.05), (40, 0.01)])
def test_stated_share_of_simulated_healthy_birds_is_flagged(weighings, wanted):
    """What the limit promises: 200,000 healthy birds, seed 43; 4 standard errors of a share."""
    limit = limit_for(0.5, wanted, weighings)
    flagged = cusum(np.random.default_rng(43).standard_normal((200_000, weighings)), None, 0.5, limit).alarmed.mean()
    assert abs(flagged - wanted) < 4.0 * math.sqrt(wanted * (1.0 - wanted) / 200_000)


def test_lowest_limit_is_a_single_low_score():
    """h near 0: an alarm at the first score below -k, a geometric run."""
    low = norm.sf(0.7)
    assert run_length(0.7, 1e-9) == pytest.approx(1.0 / low, rel=1e-8)
    assert alarm_probability(0.7, 1e-9, 5) == pytest.approx(1.0 - (1.0 - low) ** 5, rel=1e-8)


def test_mean_is_what_is_left_summed():
    left = 1.0 - run_length_distribution(0.5, 3.0, 6_000, 0.0, 1.0)
    assert run_length(0.5, 3.0, 0.0, 1.0) == pytest.approx(1.0 + left.sum(), rel=1e-9)


EXTREMES = [(3.0, 30.0, 5.0), (3.0, 30.0, -5.0), (0.0, 30.0, 0.0), (0.0, 30.0, -5.0), (1.0, 20.0, 0.0), (0.5, 4.0, 0.0)]


@pytest.mark.parametrize(("k", "h", "shift"), EXTREMES)
def test_nodes_suffice(monkeypatch, k, h, shift):
    length, share = run_length(k, h, shift), alarm_probability(k, h, 50, shift)
    monkeypatch.setattr(module, "FEWEST_NODES", 2 * module.FEWEST_NODES)
    monkeypatch.setattr(module, "NODES_PER_SD", 2 * module.NODES_PER_SD)
    assert run_length(k, h, shift) == pytest.approx(length, rel=1e-11)
    assert alarm_probability(k, h, 50, shift) == pytest.approx(share, rel=1e-11)


def test_long_runs_keep_their_digits():
    """Two limits apart by 1 at k 1 differ by e^2 once h is large (Siegmund's exponent), far beyond 1e16."""
    assert run_length(1.0, 25.0) / run_length(1.0, 24.0) == pytest.approx(math.exp(2.0), rel=1e-9)


# Properties

REFERENCES = st.floats(0.0, 1.5)
LIMITS = st.floats(0.1, 8.0)
SHIFTS = st.floats(-2.0, 2.0)
STEPS = st.floats(0.01, 1.0)


@settings(max_examples=60, deadline=None)
@given(k=REFERENCES, h=LIMITS, shift=SHIFTS, step=STEPS)
def test_a_more_patient_chart_runs_longer(k, h, shift, step):
    length, share = run_length(k, h, shift), alarm_probability(k, h, 20, shift)
    for patient in ((k, h + step, shift), (k + step, h, shift), (k, h, shift + step)):
        assert run_length(*patient) > length
        assert alarm_probability(patient[0], patient[1], 20, patient[2]) < share or share > 1.0 - 1e-9
    assert run_length(k, h, shift, 0.5 * h) < length
    assert 0.0 < share <= 1.0


@settings(max_examples=60, deadline=None)
@given(k=REFERENCES, h=LIMITS, shift=SHIFTS, weighings=st.integers(2, 60))
def test_chances_rise_with_the_weighings(k, h, shift, weighings):
    shares = run_length_distribution(k, h, weighings, shift)
    assert shares.shape == (weighings,)
    assert np.all(np.diff(shares) >= 0.0)
    assert shares[-1] == alarm_probability(k, h, weighings, shift)


@settings(max_examples=25, deadline=None)
@given(
    k=st.floats(0.25, 1.0), wanted=st.floats(0.001, 0.25), weighings=st.integers(2, 80), share=st.sampled_from([0, 0.5])
)
def test_limit_gives_what_was_asked(k, wanted, weighings, share):
    h = limit_for(k, wanted, weighings, share)
    assert alarm_probability(k, h, weighings, 0.0, share * h) == pytest.approx(wanted, rel=1e-7)
    length = 20.0 / wanted
    h = limit_for_run_length(k, length, share)
    assert run_length(k, h, 0.0, share * h) == pytest.approx(length, rel=1e-7)


SEEDS = st.integers(0, 2**32 - 1)


def birds_with_gaps(seed):
    rng = np.random.default_rng(seed)
    z, weight = rng.normal(-0.4, 1.3, (6, 15)), rng.choice([0.0, 0.5, 1.0], (6, 15))
    z[rng.random((6, 15)) < 0.15] = np.nan
    return z, weight, rng.uniform(0.0, 1.0, 6), rng.uniform(0.5, 4.0, 6)


@settings(max_examples=60, deadline=None)
@given(seed=SEEDS)
def test_each_bird_as_in_a_plain_loop(seed):
    """One bird at a time, its missing weighings left out."""
    z, weight, k, h = birds_with_gaps(seed)
    start = 0.3 * h
    batch = cusum(z, weight, k, h, start)
    for bird in range(6):
        level, began, alarm = start[bird], None, (-1, -1)
        for column in range(15):
            if weight[bird, column] > 0.0 and not math.isnan(z[bird, column]):
                began = column if began is None else began
                level = max(0.0, level - z[bird, column] - k[bird])
                began = None if level == 0.0 else began
                if level > h[bird] and alarm == (-1, -1):
                    alarm = (column, began)
            assert batch.sums[bird, column] == pytest.approx(level, abs=1e-12)
        assert (batch.alarm_at[bird], batch.rising_from[bird]) == alarm
        assert batch.alarmed[bird] == (alarm != (-1, -1))


@settings(max_examples=30, deadline=None)
@given(seed=SEEDS)
def test_order_of_birds_does_not_matter(seed):
    z, weight, k, h = birds_with_gaps(seed)
    order = np.random.default_rng(seed + 1).permutation(6)
    straight, mixed = cusum(z, weight, k, h), cusum(z[order], weight[order], k[order], h[order])
    assert_array_equal(mixed.sums, straight.sums[order])
    assert_array_equal(mixed.alarm_at, straight.alarm_at[order])
    assert_array_equal(mixed.rising_from, straight.rising_from[order])


def test_a_bird_without_weighings_keeps_its_head_start():
    fallen = cusum([[np.nan] * 3, [-9.0, -9.0, -9.0]], [[1, 1, 1], [0, 0, 0]], 0.5, 4.0, 2.0)
    assert_array_equal(fallen.sums, np.full((2, 3), 2.0))
    assert fallen.alarm_at.tolist() == fallen.rising_from.tolist() == [-1, -1]


def test_no_weight_counts_every_weighing():
    z = np.random.default_rng(7).standard_normal((3, 9))
    assert_array_equal(cusum(z, None, 0.5, 4.0).sums, cusum(z, np.full((3, 9), True), 0.5, 4.0).sums)


# Refusals

ONE = [[-1.0, 0.0]]


@pytest.mark.parametrize(
    ("call", "field", "code"),
    [
        (lambda: cusum([-1.0, 0.0], None, 0.5, 4.0), "z", "shape_differs"),
        (lambda: cusum(np.empty((0, 3)), None, 0.5, 4.0), "z", "shape_differs"),
        (lambda: cusum(ONE, [[1.0]], 0.5, 4.0), "z", "shape_differs"),
        (lambda: cusum([[-np.inf, 0.0]], None, 0.5, 4.0), "z", "not_finite"),
        (lambda: cusum(ONE, [[1.0, -1.0]], 0.5, 4.0), "weight", "out_of_domain"),
        (lambda: cusum(ONE, [[1.0, np.nan]], 0.5, 4.0), "weight", "not_finite"),
        (lambda: cusum(ONE, None, -0.1, 4.0), "k", "out_of_domain"),
        (lambda: cusum(ONE, None, [0.5, 0.5], 4.0), "k", "shape_differs"),
        (lambda: cusum(ONE, None, 0.5, 0.0), "h", "out_of_domain"),
        (lambda: cusum(ONE, None, 0.5, [[4.0]]), "h", "shape_differs"),
        (lambda: cusum(ONE, None, 0.5, 4.0, 4.1), "head_start", "out_of_domain"),
        (lambda: cusum(ONE, None, 0.5, 4.0, -0.1), "head_start", "out_of_domain"),
        (lambda: run_length(3.1, 4.0), "k", "out_of_domain"),
        (lambda: run_length(0.5, 30.1), "h", "out_of_domain"),
        (lambda: run_length(0.5, 4.0, 5.1), "shift", "out_of_domain"),
        (lambda: run_length(0.5, 4.0, math.nan), "shift", "not_finite"),
        (lambda: run_length(0.5, 4.0, 0.0, 4.1), "head_start", "out_of_domain"),
        (lambda: alarm_probability(0.5, 4.0, 0), "weighings", "out_of_domain"),
        (lambda: alarm_probability(0.5, 4.0, 10_001), "weighings", "out_of_domain"),
        (lambda: alarm_probability(0.5, 4.0, 2.5), "weighings", "not_whole"),
        (lambda: limit_for(0.5, 0.0, 30), "alarm_probability", "out_of_domain"),
        (lambda: limit_for(0.5, 1.0, 30), "alarm_probability", "out_of_domain"),
        (lambda: limit_for(0.5, 0.7, 3), "alarm_probability", "not_reached"),
        (lambda: limit_for(0.0, 0.01, 10_000), "alarm_probability", "not_reached"),
        (lambda: limit_for(0.5, 0.05, 30, 1.1), "head_start_fraction", "out_of_domain"),
        (lambda: limit_for(-0.5, 0.05, 30), "k", "out_of_domain"),
        (lambda: limit_for_run_length(0.5, 1.0), "run_length", "out_of_domain"),
        (lambda: limit_for_run_length(0.5, 3.2), "run_length", "not_reached"),
        (lambda: limit_for_run_length(0.0, 1_000.0), "run_length", "not_reached"),
    ],
)
def test_refused_by_name(call, field, code):
    """0.7 in 3 weighings: the lowest limit gives 1 - Phi(0.5)^3 = 0.669; a run of 3.2: 1 / (1 - Phi(0.5)) = 3.24."""
    with pytest.raises(DomainError) as refused:
        call()
    assert (refused.value.field, refused.value.code) == (field, code)
    assert refused.value.detail
