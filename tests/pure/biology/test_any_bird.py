"""Any bird that is fed in the nest: against species that no line was fitted to, and against the command."""

import csv

import numpy as np
import pytest

from species.biology import any_bird, pooled_lines
from species.biology.any_bird import fledging_age_days, halfway_mass_g, typical_curve
from species.biology.any_bird_lines import LINES, SPREADS
from species.biology.curve import SpeciesCurve
from species.biology.pooled_lines import fit_spreads, lines
from species.domain.errors import DomainError
from species.management.commands.fit_allometry import TARGETS
from species.management.open_growth import measured_species, relatives
from tests.reference_data import needs_reference


def _others(file, genus, species):
    folder = needs_reference("data", file).parents[1]
    fitted = {one.name for one in measured_species(folder)}
    with (folder / "data" / file).open(encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if f"{row[genus]}_{row[species]}" not in fitted]


def test_fledging_ages_of_a_thousand_species_that_were_not_fitted():
    """Amniote (Myhrvold et al. 2015), species without a growth curve: four in five are to lie in the interval."""
    errors, inside = [], []
    for row in _others("amniote_birds.csv", "genus", "species"):
        if not row["fledging_age_d"] or not row["adult_body_mass_g"]:
            continue
        try:
            told = fledging_age_days(row["order"], float(row["adult_body_mass_g"]), family=row["family"])
        except DomainError:  # precocial, or heavier than a flying bird
            continue
        days = float(row["fledging_age_d"])
        errors.append(abs(told.median / days - 1.0))
        inside.append(told.low <= days <= told.high)
    assert len(errors) > 1000
    assert np.median(errors) < 0.13
    assert 0.75 < np.mean(inside) < 0.85


def test_rates_of_species_that_were_not_fitted():
    """AnAge growth rates, which behave as a logistic K (growth.md section 2: ratio to our K 1.01 in the median)."""
    ratios = []
    for row in _others("anage_birds.csv", "Genus", "Species"):
        if row["Growth rate (1/days)"] and row["Adult weight (g)"]:
            try:
                curve = typical_curve(row["Order"], float(row["Adult weight (g)"]), family=row["Family"])
            except DomainError:
                continue
            ratios.append(curve.rate_per_day / float(row["Growth rate (1/days)"]))
    assert len(ratios) > 80
    assert np.median(ratios) == pytest.approx(1.01, abs=0.07)
    assert np.median(np.abs(np.array(ratios) - 1.0)) < 0.2


@pytest.mark.parametrize("target", TARGETS)
def test_committed_lines_are_those_of_the_data(target):
    """``fit_allometry``'s rows, at the committed spreads; 0.002 of a natural logarithm, since spreads are rounded."""
    species = measured_species(needs_reference("data", "amp_bird_growth_fits.csv").parents[1])
    again = lines(relatives(species, target), SPREADS[target])
    assert set(again) == set(LINES[target])
    for taxon, row in LINES[target].items():
        assert again[taxon].species_count == row.species_count
        assert _values(again[taxon]) == pytest.approx(_values(row), abs=2e-3)


@pytest.mark.parametrize(
    "target", [pytest.param(name, marks=[pytest.mark.drill] if name != "halfway" else []) for name in TARGETS]
)
def test_committed_spreads_are_what_the_command_finds(target):
    """One of the five in every run; 0.002, because other linear algebra stops its search elsewhere."""
    species = measured_species(needs_reference("data", "amp_bird_growth_fits.csv").parents[1])
    found = fit_spreads(relatives(species, target))
    assert np.exp(found.logs()) == pytest.approx(np.exp(SPREADS[target].logs()), abs=2e-3)


def _values(line):
    return (line.level, *line.slopes, line.scale)


@pytest.mark.parametrize("fledging_days", [None, 70.0], ids=["expected age", "told age"])
def test_curve_passes_the_halfway_mass(fledging_days):
    at = {"family": "Psittacidae", "fledging_days": fledging_days}
    curve = typical_curve("Psittaciformes", 400.0, **at)
    whole = SpeciesCurve("logistic", curve.asymptote_g, curve.rate_per_day, curve.inflection_days)
    halfway = halfway_mass_g("Psittaciformes", 400.0, **at)
    assert float(whole.mass_g(curve.fledging_days / 2.0)) == pytest.approx(halfway.median)


def test_intervals_widen_with_what_is_not_known():
    widths = [
        np.log(told.high / told.low)
        for told in (
            halfway_mass_g("Passeriformes", 20.0, family="Paridae", fledging_days=18.0),
            halfway_mass_g("Passeriformes", 20.0, family="Paridae"),
            halfway_mass_g("Passeriformes", 20.0),
            halfway_mass_g("Apteryformes", 20.0),
        )
    ]
    assert widths == sorted(widths)


def test_shapes():
    assert type(halfway_mass_g("Strigiformes", 300.0).median) is float
    told = halfway_mass_g("Strigiformes", [[300.0], [400.0]], fledging_days=[40.0, 50.0, 60.0])
    assert told.low.shape == told.median.shape == told.high.shape == (2, 3)
    assert typical_curve("Strigiformes", [300.0, 400.0]).asymptote_g.shape == (2,)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (("Anseriformes", 900.0), "order"),
        (("Charadriiformes", 50.0, "Charadriidae"), "family"),
        (("Passeriformes", 0.5), "adult_mass_g"),
        (("Passeriformes", float("nan")), "adult_mass_g"),
        (("Passeriformes", 20.0, "", 2.0), "fledging_days"),
    ],
    ids=["ducks", "plovers", "no mass", "nan", "no age"],
)
def test_out_of_domain(arguments, field):
    order, mass, *rest = arguments
    with pytest.raises(DomainError) as caught:
        halfway_mass_g(order, mass, **dict(zip(("family", "fledging_days"), rest, strict=False)))
    assert caught.value.field == field


def test_quantile_is_that_of_the_printed_tables():
    # Student's t, 4 degrees of freedom, 90 % one-sided: 1.533 in any table.
    assert any_bird.T_QUANTILE == pytest.approx(1.533, abs=5e-4)  # noqa: SIM300
    assert pooled_lines.FREEDOM == 4.0
