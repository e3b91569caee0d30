"""Priors of curves: from a profile, from a group and an adult mass."""

import csv
import math

import numpy as np
import pytest

from species.biology.allometry import GROUP_LINES, GROUP_OF_FAMILY, GROUP_OF_ORDER, GROUP_SPREADS
from species.biology.curve_prior import prior_of_group, prior_of_profile
from species.biology.growth_fit import fit_individuals
from species.biology.weighing_errors import IndependentNoise
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.sourcing import Quantity, Reach
from species.domain.vocabulary import CurveForm
from tests.reference_data import needs_reference


@pytest.mark.parametrize(
    ("group", "adult_g", "rate", "span"),
    [
        pytest.param(
            "Psittaciformes", 500.0, 0.117, 37.5, id="growth.md s.2: parrot of 500 g, K 0.117, t10-t90 37.5 d"
        ),
    ],
)
def test_group_prior_of_a_published_example(group, adult_g, rate, span):
    prior = prior_of_group(group, adult_g)
    assert prior.curve.rate_per_day == pytest.approx(rate, abs=0.0005)
    assert 4.3944 / prior.curve.rate_per_day == pytest.approx(span, abs=0.1)
    assert prior.curve.asymptote_g == pytest.approx(505.0)
    assert float(prior.log_rate_sd) > 0.102 * math.log(10.0)


@pytest.mark.parametrize("group", list(GROUP_LINES))
def test_spreads_of_a_group_are_those_of_its_species(group):
    """growth.md s.2 filter on AmP fits: recomputed from the table of fits."""
    series = {}
    with needs_reference("data", "amp_bird_growth_fits.csv").open(encoding="utf-8") as handle:
        for row in csv.DictReader(handle):
            own = GROUP_OF_FAMILY.get(row["family"]) or GROUP_OF_ORDER.get(row["order"])
            usable = row["quality_ok"] == "True" and row["adult_mass_g"] and float(row["logistic_r2"] or 0) >= 0.9
            if own == group and usable:
                before = series.get(row["species"])
                if before is None or int(row["n_fit"]) > int(before["n_fit"]):
                    series[row["species"]] = row
    assert len(series) == GROUP_LINES[group].species_count
    ratio = np.log([float(row["logistic_A"]) / float(row["adult_mass_g"]) for row in series.values()])
    scaled = np.array([float(row["logistic_K"]) * float(row["logistic_ti"]) for row in series.values()])
    spread = GROUP_SPREADS[group]
    assert spread.log_asymptote_sd == pytest.approx(ratio.std(ddof=1), abs=0.001)
    assert spread.scaled_inflection == pytest.approx(np.median(scaled), abs=0.006)
    assert spread.scaled_inflection_sd == pytest.approx(scaled.std(ddof=1), abs=0.006)


@pytest.mark.parametrize("group", list(GROUP_LINES))
def test_any_bird_hatches_with_a_share_of_its_mass_that_birds_have(group):
    """growth.md: an altricial hatching mass above about a tenth of the adult's is suspect."""
    for adult_g in (GROUP_LINES[group].lightest_g, GROUP_LINES[group].heaviest_g):
        curve = prior_of_group(group, adult_g).curve
        assert 0.03 < float(curve.mass_g(0.0)) / curve.asymptote_g < 0.15


def test_a_group_prior_yields_to_the_bird():
    """A pigeon by its order alone: after two weeks of weighings its own curve is known."""
    prior = prior_of_group("Columbiformes", 354.2)
    days = np.arange(1.0, 25.0)
    masses = 326.0 / (1.0 + np.exp(-0.28 * (days - 10.78)))
    fit = fit_individuals([days], [masses], None, prior, IndependentNoise(0.05))
    assert fit.converged[0]
    assert fit.asymptote_g[0] == pytest.approx(326.0, rel=0.05)
    assert fit.told_fraction[0, 0] > 0.8


def test_groups_without_a_line_are_refused():
    for group, code in (("Charadriiformes", "family_missing"), ("Gruiformes", "no_growth_line")):
        with pytest.raises(DomainError) as caught:
            prior_of_group(group, 300.0)
        assert caught.value.code == code


def test_profile_gives_its_own_spreads():
    def of(value):
        return Quantity(value=value, reach=Reach.INFERRED, equation="test")

    record = GrowthCurve(
        form=CurveForm.GOMPERTZ,
        asymptote_g=of(50.0),
        rate_per_day=of(0.2),
        inflection_days=of(8.0),
        log_asymptote_sd=of(0.07),
        log_rate_sd=of(0.11),
        inflection_sd_days=of(0.9),
        residual_log_sd=of(0.06),
        valid_to_day=40.0,
    )
    mean, sd = prior_of_profile(record, age_sd_days=[0.0, 1.2], adult_mass_ratio=2.0).for_birds(2)
    assert mean[0] == pytest.approx([math.log(100.0), math.log(0.2), 0.0])
    assert sd[0] == pytest.approx([0.07, 0.11, 0.9])
    assert sd[1] == pytest.approx([0.07, 0.11, 1.5])
