"""Every chick of four species, as it was weighed in the field or the aviary, through fit, forecast and scores.

The priors are the species' pooled curves by R's nls (growth.md checks 25, 26, 28 and 30; of the zebra finch the
mean of its two diets) with the spreads between individuals that the built-in profiles give as OURMIX.
"""

import csv
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import least_squares

from species.biology.curve import SpeciesCurve
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import fit_individuals
from species.biology.growth_forecast import one_step_ahead, predict
from species.biology.weighing_errors import IndependentNoise, SlowDeviation
from tests.reference_data import needs_reference

SPECIES = [
    # file, columns of an individual, last day, chicks, curve, spreads, residual, id
    pytest.param(
        "chick_common_tern.csv", ("chick_id",), 99, 75, (124.548, 0.20905, 10.147), (0.041, 0.151, 1.94), 0.096,
        id="common tern, Nisbet 1975, R nls check 26",
    ),
    pytest.param(
        "chick_tree_swallow_2017.csv", ("chick_id",), 99, 445, (21.380, 0.4587, 5.705), (0.071, 0.136, 0.69), 0.105,
        id="tree swallow, Cox 2019, R nls check 25",
    ),
    pytest.param(
        "chick_song_sparrow.csv", ("chick_id",), 99, 354, (15.329, 0.5356, 3.589), (0.130, 0.109, 0.77), 0.112,
        id="song sparrow, VanDiest, R nls check 28",
    ),
    pytest.param(
        "chick_zebra_finch_diet.csv", ("chick_id",), 35, 147, (10.4, 0.315, 7.85), (0.036, 0.161, 1.67), 0.087,
        id="zebra finch, Krause 2017, R nls check 30",
    ),
]  # fmt: skip


def read(file, keys, last_day):
    found = {}
    with needs_reference("data", file).open(encoding="utf-8") as handle:
        for row in csv.DictReader(handle):
            record = found.setdefault(tuple(row[name] for name in keys), [])
            if row["age_d"] and row["mass_g"] and 0 <= float(row["age_d"]) <= last_day and float(row["mass_g"]) > 0:
                record.append((float(row["age_d"]), float(row["mass_g"])))
    width = max(len(record) for record in found.values())
    ages, masses, weight = (np.zeros((len(found), width)) for _ in range(3))
    for row, record in enumerate(found.values()):
        for column, (age, mass) in enumerate(record):
            ages[row, column], masses[row, column], weight[row, column] = age, mass, 1.0
    return ages, masses, weight


def prior_of(curve, spreads):
    return CurvePrior(SpeciesCurve("logistic", *curve), *spreads)


@pytest.mark.parametrize(("file", "keys", "last_day", "count", "curve", "spreads", "noise"), SPECIES)
def test_every_chick_goes_through(file, keys, last_day, count, curve, spreads, noise):
    ages, masses, weight = read(file, keys, last_day)
    assert len(ages) == count
    prior = prior_of(curve, spreads)
    for residual in (IndependentNoise(noise), SlowDeviation(0.6 * noise, 0.8 * noise, 2.0)):
        fit = fit_individuals(ages, masses, weight, prior, residual)
        assert fit.converged.all()
        assert fit.observed_information.mean() > 0.99
        assert np.isfinite(fit.parameters).all()
        week = predict(fit, np.linspace(0.0, 30.0, 7))
        assert np.isfinite(week.mass_g).all()
        assert np.all(week.log_mass_sd > 0.0)
        steps = one_step_ahead(ages, masses, weight, prior, residual)
        assert steps.converged.all()
        assert np.isfinite(steps.z).all()
        assert np.all(steps.low_g < steps.high_g)


@pytest.mark.parametrize(("file", "keys", "last_day", "count", "curve", "spreads", "noise"), SPECIES)
def test_modes_of_real_chicks_are_scipys(file, keys, last_day, count, curve, spreads, noise):
    """Every tenth chick by scipy.optimize.least_squares on the same posterior, written out here."""
    ages, masses, weight = read(file, keys, last_day)
    fit = fit_individuals(ages, masses, weight, prior_of(curve, spreads), IndependentNoise(noise))
    mean, sd = np.array([math.log(curve[0]), math.log(curve[1]), 0.0]), np.array(spreads)
    for chick in range(0, len(ages), 10):
        seen = weight[chick] > 0
        t, y = ages[chick, seen], np.log(masses[chick, seen])

        def away(p, t=t, y=y):
            expected = p[0] - np.log1p(np.exp(-np.exp(p[1]) * (t + p[2] - curve[2])))
            return np.concatenate([(y - expected) / noise, (p - mean) / sd])

        found = least_squares(away, mean, xtol=1e-12, ftol=1e-12, gtol=1e-12)
        assert_allclose(fit.parameters[chick], found.x, atol=5e-5)


def test_own_curves_leave_less_than_the_pooled_curve():
    """R 4.2.2: pooled tern residual 10.823 g (check 26), 6.179 g about the chicks' own curves (check 27)."""
    file, keys, last_day, _, curve, spreads, noise = SPECIES[0].values
    ages, masses, weight = read(file, keys, last_day)
    fit = fit_individuals(ages, masses, weight, prior_of(curve, spreads), IndependentNoise(noise))
    seen = weight > 0
    own = np.exp(np.log(np.where(seen, masses, 1.0)) - fit.residuals)
    freedom = seen.sum() - fit.effective_parameters.sum()
    scatter_g = math.sqrt(np.sum((masses - own)[seen] ** 2) / freedom)
    assert 5.0 < scatter_g < 7.5


def test_tree_swallows_that_died_scored_lower_before_they_did():
    """Cox 2019: chicks found dead in the nest (at least 3 weighings) against those that fledged: last score."""
    file, keys, last_day, _, curve, spreads, noise = SPECIES[1].values
    fates = {}
    with needs_reference("data", file).open(encoding="utf-8") as handle:
        for row in csv.DictReader(handle):
            fates[row["chick_id"]] = row["why_failed"] if row["fledged"] != "1.0" else "fledged"
    ages, masses, weight = read(file, keys, last_day)
    z = one_step_ahead(ages, masses, weight, prior_of(curve, spreads), IndependentNoise(noise)).z
    count = (weight > 0).sum(axis=1).astype(int)
    last = z[np.arange(len(z)), np.maximum(count - 1, 0)]
    fate = np.array(list(fates.values()))
    dead, fledged = (fate == "NESTLINGS DIED") & (count >= 3), (fate == "fledged") & (count >= 3)
    assert dead.sum() >= 3
    assert np.median(last[dead]) < np.median(last[fledged]) - 0.5
