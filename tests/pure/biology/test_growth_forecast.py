"""Forecasts and one-step-ahead scores: simulated birds, refits by hand, and real chicks."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from species.biology.curve import SpeciesCurve
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import fit_individuals
from species.biology.growth_forecast import one_step_ahead, predict
from species.biology.recession import Recession
from species.biology.weighing_errors import IndependentNoise, SlowDeviation
from species.domain.errors import DomainError

NOISE = IndependentNoise(0.06)
SLOW = SlowDeviation(0.04, 0.05, 2.0)
PIGEON = CurvePrior(SpeciesCurve("logistic", 326.0, 0.28, 10.78), 0.055, 0.126, 1.0)
SWALLOW = CurvePrior(SpeciesCurve("gompertz", 22.0, 0.3, 4.0, recession=Recession(0.15, 14.0, 21.0)), 0.07, 0.12, 0.6)
DAYS = np.arange(1.0, 22.0)


def simulate(prior, birds, ages, seed, slow):
    """Birds of the prior with their residuals, in plain NumPy."""
    rng = np.random.default_rng(seed)
    curve = prior.curve
    shift = prior.age_shift_sd_days * rng.standard_normal((birds, 1))
    rate = curve.rate_per_day * np.exp(prior.log_rate_sd * rng.standard_normal((birds, 1)))
    log_a = math.log(curve.asymptote_g) + prior.log_asymptote_sd * rng.standard_normal((birds, 1))
    x = rate * (ages + shift - curve.inflection_days)
    logs = log_a + (-np.log1p(np.exp(-x)) if curve.form == "logistic" else -np.exp(-x))
    if curve.recession is not None:
        z = np.clip((ages + shift - 14.0) / 7.0, 0.0, 1.0)
        logs = logs + np.log(1.0 - 0.15 * z**3 * (10.0 - 15.0 * z + 6.0 * z**2))
    if slow:
        apart = np.abs(ages[:, None] - ages)
        logs = logs + rng.standard_normal(logs.shape) @ np.linalg.cholesky(0.05**2 * np.exp(-apart / 2.0)).T
    noise = 0.04 if slow else 0.06
    return np.tile(ages, (birds, 1)), np.exp(logs + noise * rng.standard_normal(logs.shape))


@pytest.mark.parametrize(
    ("prior", "residual"),
    [
        pytest.param(PIGEON, NOISE, id="2,000 simulated logistic birds, independent noise"),
        pytest.param(SWALLOW, NOISE, id="2,000 simulated Gompertz birds with recession"),
        pytest.param(PIGEON, SLOW, id="2,000 simulated logistic birds, slow deviation"),
    ],
)
def test_forecast_of_a_week_holds_what_it_says(prior, residual):
    ages, masses = simulate(prior, 2_000, DAYS, 21, slow=residual is SLOW)
    seen = DAYS <= 10.0
    fit = fit_individuals(ages[:, seen], masses[:, seen], None, prior, residual)
    ahead = predict(fit, DAYS[10:17])
    low, high = ahead.interval_g(0.90)
    held = np.mean((low < masses[:, 10:17]) & (masses[:, 10:17] < high), axis=0)
    assert np.all((held > 0.87) & (held < 0.93)), held
    assert_allclose(ahead.centile(high), 95.0, atol=1e-6)


@pytest.mark.parametrize(
    ("prior", "residual"),
    [
        pytest.param(PIGEON, NOISE, id="2,000 simulated logistic birds, independent noise"),
        pytest.param(SWALLOW, NOISE, id="2,000 simulated Gompertz birds with recession"),
        pytest.param(PIGEON, SLOW, id="2,000 simulated logistic birds, slow deviation"),
    ],
)
def test_conditional_scores_are_standard_and_do_not_echo(prior, residual):
    """One-step-ahead scores of the right model: mean 0, sd 1, 90 % inside, neighbours uncorrelated."""
    ages, masses = simulate(prior, 2_000, DAYS[:14], 22, slow=residual is SLOW)
    steps = one_step_ahead(ages, masses, None, prior, residual)
    assert steps.converged.all()
    z = steps.z[:, 1:]
    assert np.all(np.abs(z.mean(axis=0)) < 0.09)
    assert np.all(np.abs(z.std(axis=0) - 1.0) < 0.07)
    echo = np.corrcoef(z[:, :-1].ravel(), z[:, 1:].ravel())[0, 1]
    assert abs(echo) < 0.03
    held = np.mean((steps.low_g < masses) & (masses < steps.high_g))
    assert 0.89 < held < 0.91


def test_independent_noise_echoes_where_the_deviation_is_slow():
    """Why a residual model is an argument: design page 4 saw an echo of 0.40 on real terns."""
    ages, masses = simulate(PIGEON, 1_000, DAYS[:14], 23, slow=True)
    wrong = one_step_ahead(ages, masses, None, PIGEON, IndependentNoise(math.hypot(0.04, 0.05))).z[:, 1:]
    assert np.corrcoef(wrong[:, :-1].ravel(), wrong[:, 1:].ravel())[0, 1] > 0.15


@pytest.mark.parametrize("residual", [NOISE, SLOW])
def test_one_step_ahead_is_the_fit_of_the_beginning(residual):
    ages, masses = simulate(PIGEON, 4, np.array([2.0, 3.0, 5.0, 8.0]), 5, slow=False)
    steps = one_step_ahead(ages, masses, None, PIGEON, residual)
    for upto in range(1, 4):
        fit = fit_individuals(ages[:, :upto], masses[:, :upto], None, PIGEON, residual)
        ahead = predict(fit, ages[:, upto : upto + 1])
        assert_allclose(steps.expected.log_mass[:, upto], ahead.log_mass[:, 0], atol=1e-9)
        assert_allclose(steps.expected.log_mass_sd[:, upto], ahead.log_mass_sd[:, 0], rtol=1e-8)
        assert_allclose(steps.z[:, upto], ahead.z(masses[:, upto : upto + 1])[:, 0], atol=1e-8)


def test_order_and_gaps_do_not_change_the_scores():
    ages, masses = simulate(PIGEON, 6, np.array([2.0, 3.0, 5.0, 8.0, 9.0]), 6, slow=False)
    order = [3, 0, 4, 2, 1]
    straight = one_step_ahead(ages, masses, None, PIGEON, SLOW)
    shuffled = one_step_ahead(ages[:, order], masses[:, order], None, PIGEON, SLOW)
    assert_allclose(shuffled.z, straight.z[:, order], atol=1e-8)
    weight = np.tile([1.0, 0.0, 1.0, 1.0, 1.0], (6, 1))
    spoiled = np.where(weight > 0, masses, np.nan)
    gappy = one_step_ahead(ages, spoiled, weight, PIGEON, SLOW)
    kept = [0, 2, 3, 4]
    assert_allclose(gappy.z[:, kept], one_step_ahead(ages[:, kept], masses[:, kept], None, PIGEON, SLOW).z, atol=1e-8)
    assert np.all(gappy.z[:, 1] == 0.0)
    assert np.isfinite(gappy.low_g).all()


def test_weighings_of_one_instant_do_not_speak_for_one_another():
    steps = one_step_ahead([[5.0, 5.0, 6.0]], [[60.0, 63.0, 80.0]], None, PIGEON, NOISE)
    assert steps.expected.log_mass[0, 0] == pytest.approx(steps.expected.log_mass[0, 1], rel=1e-12)


def test_one_step_ahead_in_blocks_is_the_same(monkeypatch):
    ages, masses = simulate(PIGEON, 40, DAYS[:9], 7, slow=False)
    whole = one_step_ahead(ages, masses, None, PIGEON, NOISE)
    monkeypatch.setattr("species.biology.growth_forecast.PREFIX_CELLS", 500)
    monkeypatch.setattr("species.biology.growth_fit.BLOCK_CELLS", 64)
    assert_allclose(one_step_ahead(ages, masses, None, PIGEON, NOISE).z, whole.z, atol=1e-11)


def test_a_decimal_slip_stands_out_from_its_past():
    """Common practice, no source: a point missed makes ten times the mass."""
    ages = np.arange(2.0, 9.0)[None]
    masses = np.asarray(PIGEON.curve.mass_g(ages)).copy()
    masses[0, 4] *= 10.0
    z = one_step_ahead(ages, masses, None, PIGEON, NOISE).z[0]
    assert z[4] > 20.0
    assert np.all(np.abs(z[:4]) < 1.0)


def test_forecast_knows_more_after_more_weighings():
    ages, masses = simulate(PIGEON, 50, DAYS, 9, slow=False)
    few, many = (
        predict(fit_individuals(ages[:, :n], masses[:, :n], None, PIGEON, NOISE), [20.0], weighing=False)
        for n in (2, 14)
    )
    assert np.all(many.log_mass_sd < few.log_mass_sd)
    of_weighing = predict(fit_individuals(ages[:, :14], masses[:, :14], None, PIGEON, NOISE), [20.0])
    assert_allclose(of_weighing.log_mass_sd**2, many.log_mass_sd**2 + 0.06**2)
    assert_allclose(of_weighing.mass_g, many.mass_g)


def test_slow_deviation_is_carried_into_tomorrow_and_not_into_next_week():
    """A bird 10 % under its curve this morning is expected under it tomorrow too."""
    ages = np.arange(6.0, 15.0)[None]
    masses = np.asarray(PIGEON.curve.mass_g(ages)) * np.where(ages == 14.0, 0.9, 1.0)
    fit = fit_individuals(ages, masses, None, PIGEON, SlowDeviation(0.01, 0.08, 2.0))
    near, far = predict(fit, [14.5, 24.0]).log_mass[0] - predict(fit, [14.5, 24.0], weighing=False).log_mass[0]
    assert near < -0.05
    assert abs(far) < 0.01


@pytest.mark.parametrize(
    ("ages", "code"),
    [
        pytest.param([-1.0], "out_of_domain", id="before hatching"),
        pytest.param([math.nan], "not_finite", id="no number"),
        pytest.param([[1.0], [2.0]], "shape_differs", id="two birds of one"),
    ],
)
def test_no_age_to_forecast(ages, code):
    fit = fit_individuals([[5.0]], [[60.0]], None, PIGEON, NOISE)
    with pytest.raises(DomainError) as caught:
        predict(fit, ages)
    assert caught.value.code == code


def test_no_forecast_before_a_curve_that_starts_from_nothing():
    prior = CurvePrior(SpeciesCurve("bertalanffy", 110.0, 0.3, 9.4), 0.1, 0.12, 0.8)
    fit = fit_individuals([[12.0]], [[70.0]], None, prior, NOISE)
    with pytest.raises(DomainError) as caught:
        predict(fit, [0.5])
    assert caught.value.code == "before_curve"
