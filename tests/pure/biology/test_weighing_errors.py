"""Residual models against densities and conditional normals written out with explicit matrices."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import multivariate_normal

from species.biology.weighing_errors import IndependentNoise, SlowDeviation
from species.domain.errors import DomainError

AGES = np.array([[3.0, 4.0, 4.0, 7.5, 12.0], [0.0, 1.0, 2.0, 3.0, 30.0]])
WEIGHT = np.array([[1.0, 0.0, 2.0, 1.0, 1.0], [1.0, 1.0, 1.0, 0.0, 0.5]])
MODELS = [
    pytest.param(IndependentNoise(0.07), 0.07, 0.0, 1.0, id="independent noise"),
    pytest.param(SlowDeviation(0.04, 0.06, 2.0), 0.04, 0.06, 2.0, id="slow deviation"),
]


def covariance(ages, others, slow, days):
    return slow**2 * np.exp(-np.abs(ages[:, None] - others[None, :]) / days)


@pytest.mark.parametrize(("model", "noise", "slow", "days"), MODELS)
def test_whitened_squares_and_determinant_are_scipys_density(model, noise, slow, days):
    rows = np.random.default_rng(3).normal(0.0, 0.1, (2, 2, 5))
    errors = model.at(AGES, WEIGHT)
    white = errors.whiten(rows)
    for bird in range(2):
        used = WEIGHT[bird] > 0
        matrix = covariance(AGES[bird, used], AGES[bird, used], slow, days)
        matrix += np.diag(noise**2 / WEIGHT[bird, used])
        density = multivariate_normal(np.zeros(used.sum()), matrix)
        for row in range(2):
            own = -0.5 * (
                np.square(white[bird, row]).sum() + errors.log_determinant()[bird] + used.sum() * np.log(2 * np.pi)
            )
            assert own == pytest.approx(density.logpdf(rows[bird, row, used]), rel=1e-10)
        # products of two rows keep their meaning too: a' S^-1 b
        a, b = rows[bird][:, used]
        assert white[bird, 0] @ white[bird, 1] == pytest.approx(a @ np.linalg.inv(matrix) @ b, rel=1e-9)


@pytest.mark.parametrize(("model", "noise", "slow", "days"), MODELS)
def test_carry_over_is_the_conditional_normal(model, noise, slow, days):
    """Textbook: mean K' S^-1 r and variance s^2 - K' S^-1 K + noise^2."""
    rows = np.random.default_rng(4).normal(0.0, 0.1, (2, 3, 5))
    new = np.array([[4.0, 5.0, 13.0], [2.5, 31.0, 60.0]])
    carried, left = model.at(AGES, WEIGHT).carry_over(new, rows)
    assert carried.shape == (2, 3, 3)
    for bird in range(2):
        used = WEIGHT[bird] > 0
        matrix = covariance(AGES[bird, used], AGES[bird, used], slow, days) + np.diag(noise**2 / WEIGHT[bird, used])
        shared = covariance(AGES[bird, used], new[bird], slow, days)
        weights = np.linalg.solve(matrix, shared)
        assert_allclose(carried[bird], rows[bird][:, used] @ weights, atol=1e-14)
        assert_allclose(left[bird], slow**2 - np.sum(shared * weights, axis=0) + noise**2, rtol=1e-10)


@pytest.mark.parametrize("model", [IndependentNoise(0.07), SlowDeviation(0.04, 0.06, 2.0)])
def test_what_a_column_of_weight_0_held_is_gone(model):
    rows = np.ones((2, 1, 5))
    rows[0, 0, 1], rows[1, 0, 3] = np.nan, -np.inf
    assert np.isfinite(model.at(AGES, WEIGHT).whiten(rows)).all()


@pytest.mark.parametrize("model", [IndependentNoise(0.07), SlowDeviation(0.04, 0.06, 2.0)])
def test_some_of_the_birds(model):
    rows = np.random.default_rng(5).normal(size=(2, 2, 5))
    second = np.array([False, True])
    errors = model.at(AGES, WEIGHT)
    assert_allclose(errors.of(second).whiten(rows[1:]), errors.whiten(rows)[1:])
    assert_allclose(errors.of(second).log_determinant(), errors.log_determinant()[1:])


def test_slow_deviation_dies_away():
    """exp(-1) after one time constant (definition)."""
    model = SlowDeviation(1e-4, 0.06, 2.0)
    carried, _ = model.at(np.array([[5.0]]), np.ones((1, 1))).carry_over(np.array([[7.0]]), np.array([[[0.05]]]))
    assert carried[0, 0, 0] == pytest.approx(0.05 * np.exp(-1.0), rel=1e-4)


@pytest.mark.parametrize(
    ("build", "field"),
    [
        (lambda: IndependentNoise(0.0), "log_sd"),
        (lambda: SlowDeviation(0.0, 0.1, 2.0), "noise_log_sd"),
        (lambda: SlowDeviation(0.1, -0.1, 2.0), "slow_log_sd"),
        (lambda: SlowDeviation(0.1, 0.1, float("nan")), "time_constant_days"),
    ],
)
def test_no_spread_is_refused(build, field):
    with pytest.raises(DomainError) as caught:
        build()
    assert caught.value.field == field
