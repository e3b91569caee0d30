"""Centiles of a population against simulated individuals, the LMS formula and real chicks."""

import csv

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.stats import norm

from species.biology import population
from species.domain.errors import DomainError
from tests.reference_data import needs_reference

SPREADS = {"log_asymptote_sd": 0.07, "log_rate_sd": 0.10, "inflection_sd_days": 0.8, "residual_log_sd": 0.04}


def _simulated_centiles(form, age, asymptote, rate, inflection, centiles, seed):
    """Masses of individuals drawn one by one: formulas of RIC67 written out again, nothing of ours."""
    draw = np.random.default_rng(seed)
    n = 400_000
    a = asymptote * np.exp(SPREADS["log_asymptote_sd"] * draw.standard_normal(n))
    k = rate * np.exp(SPREADS["log_rate_sd"] * draw.standard_normal(n))
    x = k * (age - inflection - SPREADS["inflection_sd_days"] * draw.standard_normal(n))
    share = {
        "logistic": lambda: 1 / (1 + np.exp(-x)),
        "gompertz": lambda: np.exp(-np.exp(-x)),
        "bertalanffy": lambda: (1 - np.exp(-x) / 3) ** 3,
    }[form]()
    return np.percentile(a * share * np.exp(SPREADS["residual_log_sd"] * draw.standard_normal(n)), centiles)


FORMS = pytest.mark.parametrize(
    ("form", "rate", "inflection", "early_error"),
    [
        pytest.param("logistic", 0.245, 11.2, 0.06, id="simulated individuals, logistic"),
        pytest.param("gompertz", 0.151, 8.9, 0.16, id="simulated individuals, Gompertz"),
        pytest.param("bertalanffy", 0.12, 7.0, 0.19, id="simulated individuals, von Bertalanffy"),
    ],
)


@FORMS
@pytest.mark.parametrize("age", [8.0, 12.0, 20.0, 30.0])
def test_delta_method_against_simulated_individuals(form, rate, inflection, early_error, age):
    """Within 5 % of mass at the 3rd, 50th and 97th centile, which first order in the spreads should reach."""
    centiles = [3.0, 50.0, 97.0]
    expected = _simulated_centiles(form, age, 50.4, rate, inflection, centiles, seed=20261125)
    found = population.mass_centiles_g(form, age, 50.4, rate, inflection, centiles=centiles, **SPREADS)
    assert_allclose(found, expected, rtol=0.05)


@FORMS
def test_delta_method_errs_early_as_its_docstring_says(form, rate, inflection, early_error):
    """On day 4, at less than a fifth of the asymptote, both ends lie too high, by up to 6 to 19 % of mass."""
    centiles = [3.0, 50.0, 97.0]
    expected = _simulated_centiles(form, 4.0, 50.4, rate, inflection, centiles, seed=20261125)
    found = population.mass_centiles_g(form, 4.0, 50.4, rate, inflection, centiles=centiles, **SPREADS)
    error = found / expected - 1
    assert 0.0 < error[2] <= error[0] < early_error
    assert abs(error[1]) < 0.01


def test_full_grown_population_is_lognormal_in_its_asymptote():
    """Exact: far beyond the inflection only ln A is left, so the centile is A exp(z sd)."""
    found = population.mass_centiles_g("logistic", 400.0, 100.0, 0.3, 10.0, 0.1, 0.2, 2.0, [3.0, 97.0])
    assert_allclose(found, 100.0 * np.exp(0.1 * norm.ppf([0.03, 0.97])), rtol=1e-9)


def test_lms_with_l_zero():
    """CG92 by growth.md section 6: z = ln(y/M)/S, so two spreads above the median is z 2, centile 97.725."""
    arguments = (400.0, 100.0, 0.3, 10.0, 0.12, 0.0, 0.0)
    assert population.z_of_mass("logistic", 100.0 * np.exp(0.24), *arguments) == pytest.approx(2.0, rel=1e-9)
    centile = population.centile_of_mass("logistic", 100.0 * np.exp(0.24), *arguments)
    assert centile == pytest.approx(97.7250, abs=1e-4)


def test_band_holds_the_real_terns_it_should():
    """Common terns (Nisbet 1975): growth.md check 27, nlme with random A and t_i. The band of the 3rd to 97th
    centile is to hold 94 % of the weighings; 90 to 97 % is asked, since chicks and not weighings are independent."""
    with needs_reference("data", "chick_common_tern.csv").open(encoding="utf-8") as file:
        rows = [(float(row["age_d"]), float(row["mass_g"])) for row in csv.DictReader(file) if row["mass_g"]]
    ages, masses = np.array(rows).T
    residual = 6.179 / np.median(masses)
    band = population.mass_band_g("logistic", ages, 126.16, 0.2236, 10.019, 9.76 / 126.16, 0.0, 1.418, residual)
    assert 0.90 <= np.mean((masses >= band.low_g) & (masses <= band.high_g)) <= 0.97


@given(
    form=st.sampled_from(["logistic", "gompertz"]),
    age=st.floats(0.0, 60.0),
    scaled=st.floats(0.3, 3.0),
    rate=st.floats(0.05, 0.6),
    centile=st.floats(0.1, 99.9),
)
def test_centile_of_mass_is_the_inverse(form, age, scaled, rate, centile):
    curve = {"asymptote_g": 80.0, "rate_per_day": rate, "inflection_days": scaled / rate, **SPREADS}
    mass = population.mass_centiles_g(form, age, centiles=centile, **curve)
    assert population.centile_of_mass(form, mass, age, **curve) == pytest.approx(centile, abs=1e-6)


def test_band_is_the_3rd_50th_and_97th_centile():
    curve = {"asymptote_g": 80.0, "rate_per_day": 0.3, "inflection_days": 8.0, **SPREADS}
    ages = np.linspace(0.0, 40.0, 9)
    band = population.mass_band_g("gompertz", ages, **curve)
    centiles = population.mass_centiles_g("gompertz", ages, centiles=[3, 50, 97], **curve)
    assert_allclose(np.stack([band.low_g, band.expected_g, band.high_g], axis=-1), centiles, rtol=1e-12)
    assert np.all(np.diff(centiles, axis=-1) > 0)


def test_shapes():
    curve = {"asymptote_g": 80.0, "rate_per_day": 0.3, "inflection_days": 8.0, **SPREADS}
    assert type(population.mass_centiles_g("logistic", 5.0, centiles=50.0, **curve)) is float
    assert population.mass_centiles_g("logistic", 5.0, centiles=[3.0, 97.0], **curve).shape == (2,)
    ages = np.ones((4, 2))
    assert population.mass_centiles_g("logistic", ages, centiles=[3.0, 50.0, 97.0], **curve).shape == (4, 2, 3)
    assert population.centile_of_mass("logistic", np.full((4, 2), 30.0), ages, **curve).shape == (4, 2)
    wide = {**curve, "residual_log_sd": [0.1, 0.2, 0.3]}
    assert population.mass_band_g("logistic", 5.0, **wide).expected_g.shape == (3,)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: population.mass_centiles_g("logistic", 5.0, 80, 0.3, 8, 0.1, 0.1, 1.0, 0.0), "centiles"),
        (lambda: population.mass_centiles_g("logistic", 5.0, 80, 0.3, 8, 0.1, 0.1, 1.0, [3.0, 100.0]), "centiles"),
        (lambda: population.mass_centiles_g("logistic", 5.0, 80, 0.3, 8, -0.1, 0.1, 1.0, 50.0), "log_asymptote_sd"),
        (lambda: population.mass_band_g("logistic", -1.0, 80, 0.3, 8, 0.1, 0.1, 1.0), "age_days"),
        (lambda: population.centile_of_mass("logistic", 0.0, 5.0, 80, 0.3, 8, 0.1, 0.1, 1.0), "mass_g"),
        (lambda: population.centile_of_mass("logistic", 9.0, 5.0, 80, 0.3, 8, 0.0, 0.0, 0.0), "residual_log_sd"),
    ],
    ids=["centile 0", "centile 100", "negative spread", "before hatching", "no mass", "no spread"],
)
def test_out_of_domain(call, field):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.field == field
