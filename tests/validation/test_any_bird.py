"""Any bird from its adult mass: species, and whole genera, that nothing had seen. Prints the table of
docs/methods/validation.md, section "Any bird"."""

import itertools
from collections.abc import Callable

import numpy as np
import pytest

from species.biology.allometry import GROUP_OF_FAMILY, GROUP_OF_ORDER
from species.biology.any_bird import T_QUANTILE
from species.biology.pooled_lines import Relatives, fit_spreads, lines
from species.management.open_growth import MeasuredSpecies, mass_of_fit, measured_species, relatives
from tests.reference_data import needs_reference


def _species() -> list[MeasuredSpecies]:
    return measured_species(needs_reference("data", "amp_bird_growth_fits.csv").parents[1])


def _has_line(one: MeasuredSpecies) -> bool:
    return bool(GROUP_OF_FAMILY.get(one.family) or GROUP_OF_ORDER.get(one.order))


def plain(measured: Relatives, groups: np.ndarray, left_out: np.ndarray, asked: np.ndarray) -> np.ndarray:
    """Least squares of the group of each asked species, its left-out ones unseen; NaN under four more species."""
    told = np.full(len(asked), np.nan)
    design = np.column_stack([np.ones(len(groups)), measured.regressors])
    for at, i in enumerate(asked):
        mates = (groups == groups[i]) & ~left_out
        if mates.sum() >= design.shape[1] + 2:
            told[at] = design[i] @ np.linalg.lstsq(design[mates], measured.values[mates], rcond=None)[0]
    return told


def left_out_errors(species: list[MeasuredSpecies], target: str, key: Callable[[MeasuredSpecies], str]):
    """Of each species: error of ln m, whether inside 80 %, error of the plain line; spreads fitted anew each time."""
    measured = relatives(species, target)
    keys = np.array([key(one) for one in species])
    groups = np.array([GROUP_OF_FAMILY.get(s.family) or GROUP_OF_ORDER.get(s.order) or s.order for s in species])
    error, inside, plainly = (np.full(len(species), np.nan) for _ in range(3))
    for name in np.unique(keys):
        out = keys == name
        asked = np.flatnonzero(out)
        seen = measured.only(~out)
        taxa = ["", *np.unique(measured.orders[out]), *np.unique(measured.families[out])]
        rows = lines(seen, fit_spreads(seen), taxa)
        for i in asked:
            row = rows.get(str(measured.families[i])) or rows.get(str(measured.orders[i])) or rows[""]
            error[i] = row.level + float(np.dot(row.slopes, measured.regressors[i])) - measured.values[i]
            inside[i] = abs(error[i]) < T_QUANTILE * row.scale
        plainly[asked] = plain(measured, groups, out, asked) - measured.values[asked]
    return error, inside, plainly


def _percent(errors: np.ndarray) -> float:
    return 100.0 * float(np.nanmedian(np.abs(np.expm1(errors))))


@pytest.mark.drill
def test_left_out_birds():
    species = _species()
    lined = np.array([_has_line(one) for one in species])
    orders = np.array([one.order for one in species])
    table = {}
    print(f"\n{len(species)} species, {lined.sum()} of groups with a line")
    for out, key in (("species", lambda one: one.name), ("genus", lambda one: one.genus)):
        for target in ("halfway", "halfway_told"):
            error, inside, plainly = left_out_errors(species, target, key)
            table[out, target] = (error, inside, plainly)
            print(
                f"| {out} | {target} | {_percent(plainly[lined]):.1f} | {_percent(error[lined]):.1f} "
                f"| {_percent(error[~lined]):.1f} | {_percent(error):.1f} | {100 * inside.mean():.1f} |"
            )
    for order in sorted(set(orders), key=lambda name: (-int((orders == name).sum()), name)):
        at = orders == order
        if at.sum() >= 5:
            cells = [f"{_percent(table['species', t][j][at]):.1f}" for t in ("halfway", "halfway_told") for j in (2, 0)]
            held = [f"{100 * table['species', t][1][at].mean():.0f}" for t in ("halfway", "halfway_told")]
            print(f"| {order} | {at.sum()} | {' | '.join([*cells, *held])} |")
    # The plain regression is the 17.7 % that was to be beaten; intervals are wanted to hold 75 to 85 in 100.
    assert _percent(table["species", "halfway"][2][lined]) == pytest.approx(17.7, abs=0.3)
    for (_, target), (error, inside, plainly) in table.items():
        assert _percent(error[lined]) < _percent(plainly[lined]), target
        assert 0.75 <= inside.mean() <= 0.85


@pytest.mark.drill
def test_two_papers_on_one_species_differ():
    """What no model from mass can undercut: curves of one species from different papers, at one age."""
    apart = [
        np.log(mass_of_fit(a, one.fledging_days / 2.0) / mass_of_fit(b, one.fledging_days / 2.0))
        for one in _species()
        for a, b in itertools.combinations(one.series, 2)
        if a["bibkey"] != b["bibkey"]
    ]
    print(f"\n{len(apart)} pairs, median |difference| {100 * np.median(np.abs(apart)):.1f} %")
    assert len(apart) > 20
    assert np.median(np.abs(apart)) > 0.05
