"""How much chicks and nests differ, found from weighings: against R, a dense likelihood, and simulated birds."""

import csv

import numpy as np
import pytest
from scipy import optimize, stats

from species.biology.curve import SpeciesCurve
from species.biology.nested_effects import nested_effects
from species.biology.species_fit import fit_species
from species.biology.weighing_errors import IndependentNoise, Settling, SlowDeviation
from species.domain.errors import DomainError
from tests.reference_data import needs_reference


def few_birds(seed=4):
    rng = np.random.default_rng(seed)
    age = np.sort(rng.uniform(0, 12, (5, 4)), axis=1)
    design = np.stack([np.ones_like(age), age], axis=1)
    return age, rng.normal(0, 1, (5, 4)) + 0.3 * age, design, np.array([0, 0, 1, 1, 1])


@pytest.mark.parametrize("restricted", [False, True])
def test_the_likelihood_is_that_of_the_dense_normal(restricted):
    age, response, design, nest = few_birds()
    own, of_nest, noise = np.array([0.5, 0.1]), np.array([0.0, 0.2]), 0.7
    weight = np.ones_like(age)
    weight[1, 3] = 0.0
    errors = IndependentNoise(noise).at(age, weight)
    found = nested_effects(response, design, errors, nest, individual_sd=own, nest_sd=of_nest, restricted=restricted)

    kept = weight.ravel() > 0
    X = design.transpose(0, 2, 1).reshape(-1, 2)[kept]
    bird, y = np.repeat(np.arange(5), 4)[kept], response.ravel()[kept]
    same_bird, same_nest = bird[:, None] == bird, nest[bird][:, None] == nest[bird]
    V = noise**2 * np.eye(len(y)) + same_bird * (X * own**2 @ X.T) + same_nest * (X * of_nest**2 @ X.T)
    information = X.T @ np.linalg.solve(V, X)
    mean = np.linalg.solve(information, X.T @ np.linalg.solve(V, y))
    expected = stats.multivariate_normal(X @ mean, V).logpdf(y)
    if restricted:  # Harville 1974: the likelihood of error contrasts, up to the determinant of X'X
        expected += 0.5 * (2 * np.log(2 * np.pi) - np.linalg.slogdet(information)[1])
    assert found.mean == pytest.approx(mean)
    assert found.mean_covariance == pytest.approx(np.linalg.inv(information))
    assert found.log_likelihood == pytest.approx(expected)
    pull = np.linalg.solve(V, y - X @ mean)
    first = mean + own**2 * (X[bird == 0].T @ pull[bird == 0])
    first += of_nest**2 * (X[nest[bird] == 0].T @ pull[nest[bird] == 0])
    assert found.expected[0] == pytest.approx(first)


def test_r_nlme_on_the_chicks_of_one_data_set():
    # R 4.2.2, nlme 3.1-162, SSlogis with random Asym on ChickWeight (growth notes, check 10): fixed 298.02, 14.214,
    # 7.117; sd of Asym 79.43; residual 14.90; log likelihood -2484.84; within 2e-3.
    with needs_reference("data", "chickweight.csv").open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    chicks = sorted({row["chick_id"] for row in rows})
    age, mass, weight = (np.zeros((len(chicks), 12)) for _ in range(3))
    for i, chick in enumerate(chicks):
        own = [row for row in rows if row["chick_id"] == chick]
        age[i, : len(own)] = [float(row["age_d"]) for row in own]
        mass[i, : len(own)] = [float(row["mass_g"]) for row in own]
        weight[i, : len(own)] = 1.0

    def curve(p):
        asymptote, middle, scale = (p[..., k, None] for k in range(3))
        share = 1 / (1 + np.exp((middle - age) / scale))
        steep = asymptote * share * (1 - share)
        return asymptote * share, np.stack([share, -steep / scale, steep * (middle - age) / scale**2], axis=-2)

    birds = np.tile([300.0, 14.0, 7.0], (len(chicks), 1))
    search = np.log([80.0, 15.0])
    for _ in range(40):
        expected, jacobian = curve(birds)
        response = mass - expected + np.einsum("ncm,nc->nm", jacobian, birds)

        def effects(at, response=response, jacobian=jacobian):
            errors = IndependentNoise(float(np.exp(at[1]))).at(age, weight)
            own = np.array([np.exp(at[0]), 0.0, 0.0])
            return nested_effects(
                response, jacobian, errors, np.arange(len(chicks)), individual_sd=own, nest_sd=np.zeros(3)
            )

        search = optimize.minimize(lambda at: -effects(at).log_likelihood, search, method="Nelder-Mead").x
        found = effects(search)
        birds = found.expected
    assert found.mean == pytest.approx([298.02, 14.214, 7.117], rel=2e-3)
    assert np.exp(search) == pytest.approx([79.43, 14.90], rel=2e-3)
    assert found.log_likelihood == pytest.approx(-2484.84, rel=2e-3)


def test_simulated_birds_give_back_what_they_were_made_with():
    rng = np.random.default_rng(20261125)
    nests, of_nest, days = 60, 3, np.arange(1.0, 19.0, 2.0)
    own, between, noise, slow, lasting = np.array([0.06, 0.10, 0.4]), np.array([0.05, 0.06, 0.5]), 0.03, 0.05, 2.0
    nest = np.repeat(np.arange(nests), of_nest)
    effects = rng.normal(0, between, (nests, 3))[nest] + rng.normal(0, own, (nest.size, 3))
    age = np.tile(days, (nest.size, 1))
    cov = slow**2 * np.exp(-np.abs(days[:, None] - days) / lasting) + noise**2 * np.eye(days.size)
    apart = rng.multivariate_normal(np.zeros(days.size), cov, nest.size)
    a, k, s = np.log(120) + effects[:, :1], 0.22 * np.exp(effects[:, 1:2]), effects[:, 2:]
    mass = np.exp(a - np.log1p(np.exp(-k * (age + s - 10.0))) + apart)
    found = fit_species("logistic", age, mass, np.ones_like(age), nest)
    assert found.converged
    told = [np.log(found.curve.asymptote_g), np.log(found.curve.rate_per_day), found.curve.inflection_days]
    assert np.abs((told - np.array([np.log(120), np.log(0.22), 10.0])) / found.mean_sd).max() < 3.5
    # Standard deviations of 60 nests and 180 chicks are known to 1 / sqrt(2 n), 9 % and 5 %; three of these.
    assert found.total_sd == pytest.approx(np.hypot(own, between), rel=0.27)
    assert found.residual.young_ratio == pytest.approx(1.0, abs=0.25)


def test_errors_that_settle_are_whitened_as_their_dense_covariance_is():
    age = np.array([[0.0, 3.0, 3.5, 12.0]])
    curve = SpeciesCurve("logistic", 100.0, 0.4, 6.0)
    model = Settling(SlowDeviation(0.03, 0.06, 2.0), 2.5, curve)
    share = 1 / (1 + np.exp(-0.4 * (age[0] - 6.0)))
    factor = 1 + 1.5 * (1 - share)
    dense = 0.06**2 * np.exp(-np.abs(age[0][:, None] - age[0]) / 2.0) + 0.03**2 * np.eye(4)
    dense *= factor[:, None] * factor
    errors = model.at(age, np.ones((1, 4)))
    rows = np.array([[[0.1, -0.2, 0.05, 0.3]]])
    assert np.square(errors.whiten(rows)).sum() == pytest.approx(rows[0, 0] @ np.linalg.solve(dense, rows[0, 0]))
    assert errors.log_determinant()[0] == pytest.approx(np.linalg.slogdet(dense)[1])
    there = np.array([[4.0]])
    far = factor[:, None] * 0.06**2 * np.exp(-np.abs(age[0][:, None] - 4.0) / 2.0)
    ahead = 1 + 1.5 * (1 - 1 / (1 + np.exp(-0.4 * (4.0 - 6.0))))
    far = far[:, 0] * ahead
    expected, left = errors.carry_over(there, rows)
    assert expected[0, 0, 0] == pytest.approx(far @ np.linalg.solve(dense, rows[0, 0]))
    variance = ahead**2 * (0.06**2 + 0.03**2)
    assert left[0, 0] == pytest.approx(variance - far @ np.linalg.solve(dense, far))


@pytest.mark.parametrize(("nest", "code"), [([0, 0, 0], "too_few"), ([0, 1], "shape_differs")])
def test_what_cannot_be_fitted_is_refused_by_name(nest, code):
    age = np.tile(np.arange(8.0), (3, 1))
    with pytest.raises(DomainError) as refused:
        fit_species("logistic", age, 10 + age, np.ones_like(age), nest)
    assert (refused.value.field, refused.value.code) == ("nest", code)
