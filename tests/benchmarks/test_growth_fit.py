"""Birds a second of the batched fit, against scipy.optimize.curve_fit on the same birds in the same run.

    pytest -m drill -s tests/benchmarks/test_growth_fit.py

The likelihood is the same: ln mass of a logistic, normal residual; curve_fit has no prior, so the batch is given one
as wide as to say nothing. curve_fit is timed on a sample and compared bird by bird. The table goes into
docs/benchmarks.md by hand. Nothing passes or fails by the clock.
"""

import resource
import time
from functools import partial

import numpy as np
import pytest
from scipy.optimize import curve_fit

from species.biology.curve import SpeciesCurve
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import fit_individuals
from species.biology.growth_forecast import one_step_ahead
from species.biology.weighing_errors import IndependentNoise, SlowDeviation

pytestmark = pytest.mark.drill

BIRDS, WEIGHINGS, SAMPLE = 100_000, 25, 400
START = (np.log(326.0), np.log(0.28), 0.0)
WIDE = CurvePrior(SpeciesCurve("logistic", 326.0, 0.28, 10.78), 10.0, 10.0, 100.0)
SPECIES = CurvePrior(SpeciesCurve("logistic", 326.0, 0.28, 10.78), 0.055, 0.126, 1.58)
NOISE = 0.06


def log_mass(t, log_asymptote, log_rate, shift):
    return log_asymptote - np.log1p(np.exp(-np.exp(log_rate) * (t + shift - 10.78)))


def timed(call):
    begun = time.perf_counter()
    return call(), time.perf_counter() - begun


def by_curve_fit(ages, logs, **options):
    return np.array([curve_fit(log_mass, t, y, p0=START, **options)[0] for t, y in zip(ages, logs, strict=True)])


def test_birds_a_second():
    rng = np.random.default_rng(1)
    truth = np.array(START) + np.array([0.055, 0.126, 1.58]) * rng.standard_normal((BIRDS, 3))
    ages = np.tile(np.arange(1.0, 1.0 + WEIGHINGS), (BIRDS, 1))
    logs = log_mass(ages, *truth.T[:, :, None]) + NOISE * rng.standard_normal(ages.shape)
    masses = np.exp(logs)
    few, few_logs = ages[:SAMPLE], logs[:SAMPLE]
    noise = IndependentNoise(NOISE)

    held_before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    wide, of_wide = timed(lambda: fit_individuals(ages, masses, None, WIDE, noise))
    held_after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    plain, of_plain = timed(lambda: by_curve_fit(few, few_logs))
    bounds = ([0.0, -6.0, -20.0], [10.0, 1.0, 20.0])
    bounded, of_bounded = timed(lambda: by_curve_fit(few, few_logs, bounds=bounds))
    rest = {
        "batched, prior of the species": (BIRDS, partial(fit_individuals, ages, masses, None, SPECIES, noise)),
        "batched, slow deviation": (
            BIRDS // 10,
            partial(fit_individuals, ages[::10], masses[::10], None, SPECIES, SlowDeviation(0.04, 0.05, 2.0)),
        ),
        "batched, one bird": (1, partial(fit_individuals, ages[:1], masses[:1], None, SPECIES, noise)),
        "one step ahead, 25 fits a bird": (
            BIRDS // 50,
            partial(one_step_ahead, ages[::50], masses[::50], None, SPECIES, noise),
        ),
    }
    rows = [
        ("`curve_fit`, bounded", SAMPLE / of_bounded),
        ("`curve_fit`, default", SAMPLE / of_plain),
        ("batched, no prior to speak of", BIRDS / of_wide),
        *((name, birds / timed(call)[1]) for name, (birds, call) in rest.items()),
    ]
    print(f"\n{BIRDS} birds x {WEIGHINGS} weighings, {held_after - held_before >> 10} MB more at most")
    print("| fit | birds a second | times `curve_fit` default |\n| --- | ---: | ---: |")
    for name, rate in rows:
        print(f"| {name} | {rate:,.0f} | {rate * of_plain / SAMPLE:.2g} |")

    assert wide.converged.all()
    np.testing.assert_allclose(wide.parameters[:SAMPLE], plain, atol=2e-3)
    np.testing.assert_allclose(bounded, plain, atol=2e-3)
