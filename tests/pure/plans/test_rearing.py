"""A rearing day by day, and practice against need: the sums done again from the data files."""

import math
import tomllib
from itertools import pairwise

import pytest

from api.plans.rules.practice import practice_against_need
from api.plans.rules.rearing import last_day, rearing
from species.domain.errors import DomainError
from tests.safety.birds import pack, plan_for, profiles, request_for
from tests.species.builtin_files import BUILTIN, document

COCKATIEL = next(profile for profile in profiles() if profile.key == "nymphicus-hollandicus")
MALLARD = next(profile for profile in profiles() if profile.key == "anas-platyrhynchos")
DOVE = next(profile for profile in profiles() if profile.key == "zenaida-macroura")


def helped(profile):
    formula = next((formula for formula in pack().formulas if formula.key == profile.default_formula), None)
    return {"formula": formula, "foods": {food.key: food for food in pack().foods}}


def kj_per_g_dm(key):
    formulas = tomllib.loads((BUILTIN / "formulas.toml").read_text("utf-8"))["formula"]
    return next(formula["energy_kj_per_g_dm"]["value"] for formula in formulas if formula["key"] == key)


def test_practice_of_a_cockatiel_on_day_20():
    # Three feeds (VHH, PRH) of 8.5 % of mass, 30 % solids; logistic of OURFIT, 1/(1 + exp(-0.2207 (20 - 13.332))).
    [on_20] = [day for day in practice_against_need(COCKATIEL, **helped(COCKATIEL)) if day.day == 20]
    mass_g = 89.126 / (1 + math.exp(-0.2207 * (20 - 13.332)))
    assert on_20.practice_kj == pytest.approx(3 * 0.085 * mass_g * 0.30 * kj_per_g_dm("parrot-rearing-powder"))


def test_practice_of_a_dove_is_the_row_of_its_mass():
    # HRB Table 27.1: 40-50 g 5 mL every 3 h; 13 h of day are 13/3 + 1 feeds; 22 % solids.
    [on_10] = [day for day in practice_against_need(DOVE, **helped(DOVE)) if day.day == 10]
    thick = document("columbiformes/zenaida-macroura")["stages"][1]["dry_matter_fraction"]
    solids = (thick["low"] + thick["high"]) / 2
    expected = (13 / 3 + 1) * 5 * solids * kj_per_g_dm("columbid-rearing-powder")
    assert on_10.practice_kj == pytest.approx(expected)


def test_a_duckling_has_no_practice_to_weigh_and_a_whole_rearing():
    assert list(practice_against_need(MALLARD, **helped(MALLARD))) == []
    days = list(rearing(MALLARD, **helped(MALLARD)))
    assert [day.day for day in days] == list(range(last_day(MALLARD) + 1))
    assert {day.decision for day in days[2:]} == {"self_feeding"}


def test_a_cockatiel_grows_and_its_solids_thicken():
    days = list(rearing(COCKATIEL, **helped(COCKATIEL), to_day=30))
    assert len(days) == 31
    assert all(later.mass_g > earlier.mass_g for earlier, later in pairwise(days))
    # R&G86: 7 % to day 4, 30 % after; the plan's own steps lie between.
    assert [day.dry_matter_fraction for day in days[:4]] == [0.07] * 4
    assert days[10].dry_matter_fraction == pytest.approx(0.30)
    assert all(day.percent_of_mass <= 10 for day in days)


def test_an_unweighed_hatchling_is_not_fed_as_one_that_could_not_live():
    # The goldfinch's curve has 0.15 g for its 3rd centile at hatching; it hatches with 1.3 g (AmP life history, ROD16).
    # Half of that no living hatchling is below: common practice, no source.
    profile = next(profile for profile in pack().profiles if profile.key == "carduelis-carduelis")
    mass = plan_for(profile, request_for(profile, 0.0, mass_g=None)).mass
    assert (mass.value_g, mass.basis) == (0.65, "low_end_of_expected")


@pytest.mark.parametrize(
    "profile", [one for one in pack().profiles if one.feeding_kind in ("solid", "mixed")], ids=lambda one: one.key
)
def test_a_meal_is_known_for_the_heaviest_adult_and_a_slip_is_called_one(profile):
    # Adult masses: AVONET, Amniote and AnAge, as the profile names them. No chick reaches twice that (growth notes 4).
    masses = profile.masses
    adult = max(one.value for one in (masses.adult_g, masses.adult_high_g, masses.peak_g) if one is not None)
    last = float(last_day(profile))
    plan_for(profile, request_for(profile, last, mass_g=adult))
    with pytest.raises(DomainError) as refused:
        plan_for(profile, request_for(profile, last, mass_g=2.05 * adult))
    assert refused.value.code == "implausible_weight"
