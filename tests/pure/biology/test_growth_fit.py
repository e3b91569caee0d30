"""The batched fit against SciPy's optimisers, numerical Hessians, a brute-force posterior and simulated birds.

The oracles write the curve and the posterior out again in plain NumPy and import nothing of ours.
"""

import csv
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import least_squares, minimize
from scipy.stats import multivariate_normal, norm

from species.biology.curve import SpeciesCurve
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import fit_individuals
from species.biology.growth_forecast import predict
from species.biology.weighing_errors import IndependentNoise, SlowDeviation
from species.domain.errors import DomainError
from tests.reference_data import needs_reference

NOISE = 0.06
PIGEON = CurvePrior(SpeciesCurve("logistic", 326.0, 0.28, 10.78), 0.055, 0.126, 1.58)
SWIFT = CurvePrior(SpeciesCurve("gompertz", 52.0, 0.16, 9.5), 0.09, 0.12, 1.1)
PARROT = CurvePrior(SpeciesCurve("bertalanffy", 110.0, 0.09, 9.4), 0.1, 0.12, 0.8)
PRIORS = {"logistic": PIGEON, "gompertz": SWIFT, "bertalanffy": PARROT}

SHARES = {
    "logistic": lambda x: 1 / (1 + np.exp(-x)),
    "gompertz": lambda x: np.exp(-np.exp(-x)),
    "bertalanffy": lambda x: (1 - np.exp(-x) / 3) ** 3,
}


def log_mass(form, p, ages, inflection):
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return p[0] + np.log(SHARES[form](np.exp(p[1]) * (ages + p[2] - inflection)))


def moments(prior):
    curve = prior.curve
    mean = np.array([math.log(curve.asymptote_g), math.log(curve.rate_per_day), 0.0])
    return mean, np.array([prior.log_asymptote_sd, prior.log_rate_sd, prior.age_shift_sd_days], dtype=float)


def residual_vector(prior, ages, masses, noise):
    """Whitened residuals of the weighings and of the prior, by hand."""
    mean, sd = moments(prior)
    curve = prior.curve

    def at(p):
        away = (np.log(masses) - log_mass(curve.form, p, ages, curve.inflection_days)) / noise
        return np.concatenate([away, (p - mean) / sd])

    return at


def simulate(prior, birds, ages, seed, noise=NOISE):
    rng = np.random.default_rng(seed)
    mean, sd = moments(prior)
    truth = mean + sd * rng.standard_normal((birds, 3))
    curve = prior.curve
    logs = np.array([log_mass(curve.form, p, ages, curve.inflection_days) for p in truth])
    masses = np.exp(logs + noise * rng.standard_normal(logs.shape))
    return truth, np.tile(ages, (birds, 1)), masses


def chicks(file, *keys, last_day=math.inf):
    """Ages and masses by individual of a chick file, in the file's order."""
    found = {}
    with needs_reference("data", file).open(encoding="utf-8") as handle:
        for row in csv.DictReader(handle):
            if row["age_d"] and row["mass_g"] and float(row["mass_g"]) > 0 and 0 <= float(row["age_d"]) <= last_day:
                key = tuple(row[name] for name in keys)
                found.setdefault(key, []).append((float(row["age_d"]), float(row["mass_g"])))
    return {key: np.array(rows).T for key, rows in found.items()}


@pytest.mark.parametrize("form", [pytest.param(form, id=f"scipy least_squares, 40 birds, {form}") for form in SHARES])
@pytest.mark.parametrize("weighings", [1, 3, 12])
def test_mode_is_scipys(form, weighings):
    prior = PRIORS[form]
    _, ages, masses = simulate(prior, 40, np.linspace(5.0, 27.0, weighings), seed=3)
    fit = fit_individuals(ages, masses, None, prior, IndependentNoise(NOISE))
    assert fit.converged.all()
    mean, _ = moments(prior)
    for bird in range(40):
        found = least_squares(residual_vector(prior, ages[bird], masses[bird], NOISE), mean, xtol=1e-12, ftol=1e-12)
        assert_allclose(fit.parameters[bird], found.x, atol=2e-5)


CHICKS_BY_R = ["5", "7", "21", "35", "48"]  # chick 1 has no asymptote to be found, see below
VAGUE = CurvePrior(SpeciesCurve("logistic", 400.0, 0.13, 16.0), 5.0, 5.0, 60.0)


@pytest.mark.parametrize(
    "chick",
    [pytest.param(chick, id=f"R ChickWeight chick {chick}, scipy least_squares on log mass") for chick in CHICKS_BY_R],
)
def test_vague_prior_gives_least_squares_of_a_chick(chick):
    """With next to no prior the mode is plain least squares on log mass, and the scatter its residual error."""
    ages, masses = chicks("chickweight.csv", "chick_id")[(chick,)]
    fit = fit_individuals([ages], [masses], None, VAGUE, IndependentNoise(0.05))
    assert fit.converged.all()
    plain = least_squares(
        lambda p: np.log(masses) - log_mass("logistic", p, ages, 16.0), fit.parameters[0] + 0.02, xtol=1e-14, ftol=1e-14
    )
    assert np.all(np.abs(fit.parameters[0] - plain.x) < 0.05 * fit.parameter_sd[0])
    residual_error = math.sqrt(2 * plain.cost / (len(ages) - 3))
    assert fit.scatter_ratio[0] * 0.05 == pytest.approx(residual_error, rel=0.02)
    assert fit.effective_parameters[0] == pytest.approx(3.0, abs=0.02)
    assert fit.weighing_count[0] == len(ages)


def test_asymptote_that_no_weighing_tells_is_not_shown_as_found():
    """growth.md checks 3, 4 and 7: R's asymptote of chick 1 is 937 g with an error of half of it; flag it."""
    ages, masses = chicks("chickweight.csv", "chick_id")[("1",)]
    vague = fit_individuals([ages], [masses], None, VAGUE, IndependentNoise(0.05))
    assert vague.converged[0]
    assert vague.parameter_sd[0, 0] > 465.87 / 937.03
    low, high = np.exp(vague.interval(0.90))
    assert low[0, 0] < 937.03 < high[0, 0]
    prior = CurvePrior(SpeciesCurve("logistic", 300.0, 0.13, 16.0), 0.2, 0.2, 2.0)
    first = np.arange(12) < np.array([[0], [1], [2], [4], [12]])
    fit = fit_individuals(np.tile(ages, (5, 1)), np.tile(masses, (5, 1)), first, prior, IndependentNoise(0.05))
    told = fit.told_fraction[:, 0]
    assert np.all(np.diff(told) > 0.0)
    assert told[1] < 0.3 < told[-1]


def test_every_chick_of_chickweight_against_scipy_minimize():
    """R ChickWeight (Crowder & Hand), 50 chicks in one call; the same posterior by scipy's L-BFGS-B one by one."""
    by_chick = chicks("chickweight.csv", "chick_id")
    assert len(by_chick) == 50
    prior = CurvePrior(SpeciesCurve("gompertz", 420.0, 0.07, 17.0), 0.25, 0.2, 2.5)
    width = max(part.shape[1] for part in by_chick.values())
    ages, masses, weight = np.zeros((50, width)), np.full((50, width), np.nan), np.zeros((50, width))
    for row, part in enumerate(by_chick.values()):
        ages[row, : part.shape[1]], masses[row, : part.shape[1]] = part
        weight[row, : part.shape[1]] = 1.0
    fit = fit_individuals(ages, masses, weight, prior, IndependentNoise(0.05))
    assert fit.converged.all()
    mean, sd = moments(prior)
    for row, part in enumerate(by_chick.values()):
        residuals = residual_vector(prior, *part, 0.05)
        found = minimize(
            lambda u, r=residuals: 0.5 * np.sum(r(mean + sd * u) ** 2),
            np.zeros(3),
            bounds=[(-6, 6)] * 3,
            options={"gtol": 1e-9, "ftol": 1e-15},
        )
        assert_allclose((fit.parameters[row] - mean) / sd, found.x, atol=3e-4)


@pytest.mark.parametrize(
    "form", [pytest.param(form, id=f"numerical Hessian of the log posterior, {form}") for form in SHARES]
)
def test_covariance_is_the_inverse_of_the_numerical_hessian(form):
    prior = PRIORS[form]
    _, ages, masses = simulate(prior, 25, np.array([6.0, 8.0, 11.0, 15.0, 20.0, 26.0]), seed=8, noise=0.12)
    fit = fit_individuals(ages, masses, None, prior, IndependentNoise(NOISE))
    assert fit.observed_information.all()
    for bird in range(25):
        residuals = residual_vector(prior, ages[bird], masses[bird], NOISE)
        hessian = np.empty((3, 3))
        step = 2e-4
        for i in range(3):
            for j in range(3):
                corners = [
                    si
                    * sj
                    * 0.5
                    * np.sum(residuals(fit.parameters[bird] + step * (si * np.eye(3)[i] + sj * np.eye(3)[j])) ** 2)
                    for si in (1, -1)
                    for sj in (1, -1)
                ]
                hessian[i, j] = sum(corners) / (4 * step**2)
        assert_allclose(fit.covariance[bird], np.linalg.inv(hessian), rtol=2e-3, atol=1e-8)


def test_log_posterior_is_scipys_densities():
    """scipy.stats: normal densities of prior and weighings, constants and all."""
    _, ages, masses = simulate(PIGEON, 5, np.array([4.0, 9.0, 15.0]), seed=2)
    mean, sd = moments(PIGEON)
    fit = fit_individuals(ages, masses, None, PIGEON, IndependentNoise(NOISE))
    slow = SlowDeviation(0.04, 0.05, 2.0)
    of_slow = fit_individuals(ages, masses, None, PIGEON, slow)
    apart = np.abs(ages[0][:, None] - ages[0])
    covariance = 0.05**2 * np.exp(-apart / 2.0) + 0.04**2 * np.eye(3)
    for bird in range(5):
        for found, matrix in ((fit, NOISE**2 * np.eye(3)), (of_slow, covariance)):
            p = found.parameters[bird]
            away = np.log(masses[bird]) - log_mass("logistic", p, ages[bird], 10.78)
            expected = norm.logpdf(p, mean, sd).sum() + multivariate_normal(np.zeros(3), matrix).logpdf(away)
            assert found.log_posterior[bird] == pytest.approx(expected, rel=1e-10)
            assert_allclose(found.residuals[bird], away, atol=1e-12)


def test_mode_of_the_slow_deviation_is_scipys():
    _, ages, masses = simulate(SWIFT, 12, np.array([3.0, 4.0, 5.5, 9.0, 14.0, 22.0]), seed=5)
    fit = fit_individuals(ages, masses, None, SWIFT, SlowDeviation(0.04, 0.07, 2.0))
    mean, sd = moments(SWIFT)
    apart = np.abs(ages[0][:, None] - ages[0])
    root = np.linalg.cholesky(np.linalg.inv(0.07**2 * np.exp(-apart / 2.0) + 0.04**2 * np.eye(6))).T
    for bird in range(12):
        y = np.log(masses[bird])
        found = least_squares(
            lambda p, y=y: np.concatenate([root @ (y - log_mass("gompertz", p, ages[0], 9.5)), (p - mean) / sd]),
            mean,
            xtol=1e-12,
        )
        assert_allclose(fit.parameters[bird], found.x, atol=3e-5)


def test_laplace_against_a_brute_force_posterior():
    """Mean and spread of one bird's posterior summed over a grid of 71^3 cells."""
    _, ages, masses = simulate(SWIFT, 1, np.array([6.0, 8.0, 10.0, 13.0, 17.0, 22.0]), seed=4)
    fit = fit_individuals(ages, masses, None, SWIFT, IndependentNoise(NOISE))
    mean, sd = moments(SWIFT)
    spans = [np.linspace(-5.0, 5.0, 71) * s + c for s, c in zip(fit.parameter_sd[0], fit.parameters[0], strict=True)]
    grid = np.stack(np.meshgrid(*spans, indexing="ij"), axis=-1).reshape(-1, 3)
    x = np.exp(grid[:, 1, None]) * (ages[0] + grid[:, 2, None] - 9.5)
    away = np.log(masses[0]) - grid[:, 0, None] + np.exp(-x)
    log_density = -0.5 * (np.square(away / NOISE).sum(1) + np.square((grid - mean) / sd).sum(1))
    share = np.exp(log_density - log_density.max())
    share /= share.sum()
    centre = share @ grid
    spread = (share[:, None] * (grid - centre)).T @ (grid - centre)
    assert np.all(np.abs(fit.parameters[0] + fit.mean_shift[0] - centre) < 0.02 * fit.parameter_sd[0])
    ahead = predict(fit, [9.0, 30.0], weighing=False)
    for column, age in enumerate((9.0, 30.0)):
        logs = grid[:, 0] - np.exp(-np.exp(grid[:, 1]) * (age + grid[:, 2] - 9.5))
        at = share @ logs
        assert ahead.log_mass[0, column] == pytest.approx(at, abs=0.001)
        assert ahead.log_mass_sd[0, column] == pytest.approx(math.sqrt(share @ (logs - at) ** 2), rel=0.03)
    assert_allclose(fit.parameter_sd[0], np.sqrt(np.diag(spread)), rtol=0.03)


@pytest.mark.parametrize("form", list(SHARES))
def test_intervals_hold_what_they_say(form):
    """2,000 simulated birds: 90 % intervals hold the truth in 87 to 93 %."""
    truth, ages, masses = simulate(PRIORS[form], 2_000, np.arange(5.0, 26.0, 1.5), seed=11)
    fit = fit_individuals(ages, masses, None, PRIORS[form], IndependentNoise(NOISE))
    low, high = fit.interval(0.90)
    held = np.mean((low < truth) & (truth < high), axis=0)
    assert np.all((held > 0.87) & (held < 0.93)), held
    assert fit.converged.all()


@pytest.mark.parametrize("residual", [IndependentNoise(NOISE), SlowDeviation(0.04, 0.05, 2.0)])
def test_a_bird_is_fitted_as_it_is_in_company(residual):
    _, ages, masses = simulate(PIGEON, 1_000, np.arange(1.0, 26.0), seed=6)
    weight = np.random.default_rng(7).random(ages.shape) > 0.3
    together = fit_individuals(ages, masses, weight, PIGEON, residual)
    for bird in (0, 17, 999):
        alone = fit_individuals(
            ages[bird : bird + 1], masses[bird : bird + 1], weight[bird : bird + 1], PIGEON, residual
        )
        assert_allclose(alone.parameters[0], together.parameters[bird], rtol=1e-12, atol=1e-13)
        assert_allclose(alone.covariance[0], together.covariance[bird], rtol=1e-11, atol=1e-15)


@pytest.mark.parametrize("residual", [IndependentNoise(NOISE), SlowDeviation(0.04, 0.05, 2.0)])
def test_a_masked_weighing_is_as_if_it_were_not_there(residual):
    _, ages, masses = simulate(PIGEON, 30, np.arange(1.0, 17.0, 1.5), seed=9)
    keep = np.array([1, 0, 1, 1, 0, 0, 1, 1, 0, 1, 1], dtype=bool)
    spoiled_age, spoiled_mass = ages.copy(), masses.copy()
    spoiled_age[:, ~keep], spoiled_mass[:, ~keep] = -3.0, np.nan
    masked = fit_individuals(spoiled_age, spoiled_mass, np.tile(keep, (30, 1)), PIGEON, residual)
    cut = fit_individuals(ages[:, keep], masses[:, keep], None, PIGEON, residual)
    assert_allclose(masked.parameters, cut.parameters, rtol=1e-11, atol=1e-12)
    assert_allclose(masked.covariance, cut.covariance, rtol=1e-9, atol=1e-13)
    assert_allclose(masked.log_posterior, cut.log_posterior, rtol=1e-12)
    assert_allclose(masked.scatter_ratio, cut.scatter_ratio, rtol=1e-10)
    assert np.all(masked.residuals[:, ~keep] == 0.0)


def test_weight_two_is_the_weighing_twice():
    _, ages, masses = simulate(PIGEON, 10, np.array([4.0, 8.0, 13.0]), seed=12)
    weighted = fit_individuals(ages, masses, np.tile([1.0, 2.0, 1.0], (10, 1)), PIGEON, IndependentNoise(NOISE))
    order = [0, 1, 1, 2]
    twice = fit_individuals(ages[:, order], masses[:, order], None, PIGEON, IndependentNoise(NOISE))
    assert_allclose(weighted.parameters, twice.parameters, rtol=1e-10, atol=1e-11)
    assert_allclose(weighted.covariance, twice.covariance, rtol=1e-8)


def test_order_of_weighings_does_not_matter():
    _, ages, masses = simulate(SWIFT, 10, np.array([4.0, 8.0, 13.0, 20.0]), seed=12)
    order = [2, 0, 3, 1]
    for residual in (IndependentNoise(NOISE), SlowDeviation(0.04, 0.05, 2.0)):
        one = fit_individuals(ages, masses, None, SWIFT, residual)
        other = fit_individuals(ages[:, order], masses[:, order], None, SWIFT, residual)
        assert_allclose(one.parameters, other.parameters, rtol=1e-10, atol=1e-11)


def test_bird_without_weighings_keeps_the_prior():
    fit = fit_individuals(np.zeros((2, 3)), np.zeros((2, 3)), np.zeros((2, 3)), PARROT, IndependentNoise(NOISE))
    mean, sd = moments(PARROT)
    assert_allclose(fit.parameters, [mean, mean], atol=1e-12)
    assert_allclose(fit.parameter_sd, [sd, sd], rtol=1e-9)
    assert fit.converged.all()
    assert_allclose(fit.told_fraction, 0.0, atol=1e-9)
    assert np.isnan(fit.scatter_ratio).all()


def test_doubtful_age_widens_the_shift_alone():
    sure = fit_individuals([[5.0]], [[60.0]], [[0]], PIGEON, IndependentNoise(NOISE))
    doubtful = CurvePrior(PIGEON.curve, 0.055, 0.126, 1.58, age_sd_days=[0.0, 3.0])
    both = fit_individuals([[5.0]] * 2, [[60.0]] * 2, np.zeros((2, 1)), doubtful, IndependentNoise(NOISE))
    assert_allclose(both.parameter_sd[0], sure.parameter_sd[0])
    assert both.parameter_sd[1, 2] == pytest.approx(math.hypot(1.58, 3.0))
    assert_allclose(both.parameter_sd[1, :2], sure.parameter_sd[0, :2])


def test_told_age_that_is_wrong_is_found():
    """A bird three days ahead of the age told is seen to be so once its age may be wrong."""
    prior = CurvePrior(PIGEON.curve, 0.055, 0.126, 1.58, age_sd_days=3.0)
    told = np.arange(3.0, 15.0)
    masses = np.exp(log_mass("logistic", moments(PIGEON)[0] + [0, 0, 3.0], told, 10.78))
    fit = fit_individuals([told], [masses], None, prior, IndependentNoise(NOISE))
    assert fit.age_shift_days[0] == pytest.approx(3.0, abs=0.7)


HARD = [
    ("one weighing", [[6.0]], [[90.0]]),
    ("400 weighings", [np.linspace(0.0, 40.0, 400)], [np.linspace(15.0, 330.0, 400)]),
    ("all the same instant", [[7.0] * 6], [[80.0, 81.0, 79.0, 80.0, 82.0, 80.0]]),
    ("a decimal slip in the first", [[1.0, 2.0, 3.0, 4.0]], [[180.0, 22.0, 30.0, 38.0]]),
    ("kilograms for grams", [[1.0, 2.0, 3.0]], [[0.018, 0.022, 0.03]]),
    ("a hundred times too heavy", [[8.0, 9.0]], [[9_000.0, 11_000.0]]),
    ("far beyond the curve", [[400.0, 900.0]], [[300.0, 310.0]]),
    ("only falling", [[5.0, 9.0, 14.0, 20.0]], [[200.0, 150.0, 100.0, 60.0]]),
]


@pytest.mark.parametrize("prior", list(PRIORS.values()), ids=list(PRIORS))
@pytest.mark.parametrize(("ages", "masses"), [pytest.param(*row[1:], id=row[0]) for row in HARD])
def test_hard_input_gets_numbers_or_is_said_not_to_settle(prior, ages, masses):
    for residual in (IndependentNoise(NOISE), SlowDeviation(0.04, 0.05, 2.0)):
        fit = fit_individuals(ages, masses, None, prior, residual)
        assert np.isfinite(fit.parameters).all()
        assert np.isfinite(fit.covariance).all()
        assert np.all(fit.parameter_sd > 0.0)
        assert np.isfinite(fit.residuals).all()
        mean, sd = moments(prior)
        if fit.converged[0] and isinstance(residual, IndependentNoise):
            residuals = residual_vector(prior, np.asarray(ages[0]), np.asarray(masses[0]), NOISE)
            slopes = [
                (np.sum(residuals(fit.parameters[0] + d) ** 2) - np.sum(residuals(fit.parameters[0] - d) ** 2)) / 2e-5
                for d in 1e-5 * np.eye(3) * sd
            ]
            assert_allclose(slopes, 0.0, atol=1e-3 * (1.0 + np.sum(residuals(fit.parameters[0]) ** 2)))


@given(
    form=st.sampled_from(list(SHARES)),
    masses=st.lists(st.floats(0.05, 20_000.0), min_size=1, max_size=6),
    first=st.floats(0.0, 50.0),
    gap=st.floats(0.0, 8.0),
)
@settings(max_examples=150, deadline=None)
def test_no_weighings_break_the_fit(form, masses, first, gap):
    ages = first + gap * np.arange(len(masses))
    fit = fit_individuals([ages], [masses], None, PRIORS[form], IndependentNoise(NOISE))
    assert np.isfinite(fit.parameters).all()
    assert np.isfinite(fit.covariance).all()
    assert np.all(np.linalg.eigvalsh(fit.covariance[0]) > 0.0)


@pytest.mark.parametrize(
    ("ages", "masses", "weight", "field"),
    [
        pytest.param([[1.0]], [[0.0]], None, "mass_g", id="mass 0"),
        pytest.param([[1.0]], [[-3.0]], None, "mass_g", id="negative mass"),
        pytest.param([[1.0]], [[math.nan]], None, "mass_g", id="mass no number"),
        pytest.param([[-0.5]], [[10.0]], None, "age_days", id="before hatching"),
        pytest.param([[math.inf]], [[10.0]], None, "age_days", id="age no number"),
        pytest.param([[1.0]], [[10.0]], [[-1.0]], "weight", id="negative weight"),
        pytest.param([[1.0]], [[10.0]], [[math.nan]], "weight", id="weight no number"),
        pytest.param([1.0, 2.0], [10.0, 12.0], None, "mass_g", id="one row without its bird"),
        pytest.param([[1.0, 2.0]], [[10.0]], None, "mass_g", id="unlike shapes"),
        pytest.param(np.empty((0, 3)), np.empty((0, 3)), None, "mass_g", id="no birds"),
    ],
)
def test_what_is_no_weighing_is_refused(ages, masses, weight, field):
    with pytest.raises(DomainError) as caught:
        fit_individuals(ages, masses, weight, PIGEON, IndependentNoise(NOISE))
    assert caught.value.field == field


def test_priors_are_for_as_many_birds_as_there_are():
    prior = CurvePrior(PIGEON.curve, 0.055, 0.126, 1.58, age_sd_days=[0.0, 1.0])
    with pytest.raises(DomainError) as caught:
        fit_individuals([[1.0]] * 3, [[20.0]] * 3, None, prior, IndependentNoise(NOISE))
    assert caught.value.code == "shape_differs"
    for spread in ("log_asymptote_sd", "log_rate_sd", "age_shift_sd_days"):
        spreads = {"log_asymptote_sd": 0.1, "log_rate_sd": 0.1, "age_shift_sd_days": 1.0} | {spread: 0.0}
        with pytest.raises(DomainError) as caught:
            CurvePrior(PIGEON.curve, **spreads).for_birds(1)
        assert caught.value.field == spread
