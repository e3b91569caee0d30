"""Ages from mass and milestones: by an oracle of SciPy's own, by its limits, and on chicks of known age."""

from datetime import date
from math import exp, log, pi, sqrt

import msgspec
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import norm

from api.growth.rules.age_posterior import age_at_centile_days, log_likelihood, milestone_age
from api.growth.rules.ageing import AgeAsked, MilestoneTold, age_estimate
from species.domain.errors import DomainError
from species.domain.milestone import Milestone
from species.domain.sourcing import Band, Reach
from species.domain.vocabulary import CurveForm, MilestoneKey
from tests.pure.growth.birds import TREE_SWALLOW, known, quantity
from tests.pure.growth.test_real_chicks import chicks

ON = date(2027, 5, 2)
EYES, PINS, SHEATHS = MilestoneKey.EYES_OPEN, MilestoneKey.PINS_VISIBLE, MilestoneKey.PINS_UNSHEATHING


def with_milestones(species, **ages):
    milestones = tuple(
        Milestone(
            key=MilestoneKey(key), seen_days=Band(low=low, high=high, reach=Reach.GROUP, sources=("TEST growth.md",))
        )
        for key, (low, high) in ages.items()
    )
    return msgspec.structs.replace(
        species, profile=msgspec.structs.replace(species.profile, milestones=milestones, key="test-feathers")
    )


def keyed(species, key):
    return msgspec.structs.replace(species, profile=msgspec.structs.replace(species.profile, key=key))


#: growth.md section 5, passerines in general [HRB2]: pins pierce the skin at 4-5, unsheathe at 7-8, eyes open at 7-8.
PASSERINE = with_milestones(TREE_SWALLOW, pins_visible=(4, 5), pins_unsheathing=(7, 8), eyes_open=(7, 8))


def told(mass_g=None, **milestones):
    return AgeAsked(
        on=ON,
        mass_g=mass_g,
        milestones=tuple(MilestoneTold(key=MilestoneKey(key), seen=seen) for key, seen in milestones.items()),
    )


def estimate(species=PASSERINE, mass_g=None, **milestones):
    return age_estimate([species], told(mass_g, **milestones))


def codes(answer):
    return [caution.code for caution in answer.cautions]


# --- an oracle written out here, by adaptive quadrature and root finding


def oracle_posterior(age):
    """Tree swallow of 12 g, pins through the skin (4-5 d), not yet unsheathing (7-8 d); unnormalised."""
    rate, asymptote, inflection = 0.51089, 25.004, 4.8167
    x = rate * (age - inflection)
    mean = asymptote / (1 + exp(-x))
    slope = 1 / (1 + exp(x))  # d ln m / dx of a logistic
    variance = 0.08**2 + (slope * x * 0.13) ** 2 + (slope * rate * 1.0) ** 2 + 0.09**2
    mass = exp(-(log(12.0 / mean) ** 2) / (2 * variance)) / sqrt(2 * pi * variance)
    # (5 - 4) / (2 x 1.645) is 0.30 d; 0.5 d is the least.
    return mass * norm.cdf((age - 4.5) / 0.5) * norm.sf((age - 7.5) / 0.5)


def test_ages_are_those_of_an_independent_quadrature():
    """SciPy's quad and brentq on the equations of docs/methods/age_estimate.md; the answer is rounded to 0.1 d."""
    end = 60.0  # 1.5 times the curve's last age of 40 d
    cuts = {"points": [4.5, 7.5, 12], "limit": 200}
    whole = quad(oracle_posterior, 0, end, **cuts)[0]

    def oracle_age(share):
        return brentq(lambda age: quad(oracle_posterior, 0, age, limit=200)[0] / whole - share, 0.1, 20)

    answer = estimate(mass_g=12.0, pins_visible=True, pins_unsheathing=False)
    got = (answer.low_days, answer.days, answer.high_days)
    assert got == pytest.approx([oracle_age(share) for share in (0.05, 0.5, 0.95)], abs=0.051)
    (first, *_) = answer.likely
    day = quad(oracle_posterior, first.days - 0.5, first.days + 0.5)[0] / whole
    assert first.probability == pytest.approx(day, abs=0.03)  # a grid of ten ages to the day


def test_worked_example():
    """docs/methods/age_estimate.md, by hand: four decimals there."""
    (entry, *_) = estimate(mass_g=12.0, pins_visible=True, pins_unsheathing=False).basis
    evidence = {name: entry.inputs[name] for name in ("mass", "milestones")}
    told_by_hand = (-1.8204, 0.1604)
    assert log_likelihood(np.array([4.0, 5.0]), **evidence) == pytest.approx(told_by_hand, abs=1e-4)


def test_candidates_are_ranked_by_the_integral_of_their_likelihood():
    """Two species alike but for the asymptote, 25 and 50 g, at 12 g: quadrature of the mass density of each."""

    def density(age, asymptote):
        x = 0.51089 * (age - 4.8167)
        slope = 1 / (1 + exp(x))
        sd = sqrt(0.08**2 + (slope * x * 0.13) ** 2 + (slope * 0.51089) ** 2 + 0.09**2)
        return norm.pdf(log(12.0), log(asymptote / (1 + exp(-x))), sd)

    areas = [quad(density, 0, 60, args=(a,), points=[3, 5, 10], limit=200)[0] for a in (25.004, 50.0)]
    twice = keyed(known("Passeriformes", 50.0, 0.51089, 4.8167, adult_g=42.0), "twice-size")
    answer = age_estimate([twice, keyed(TREE_SWALLOW, "tree-swallow")], told(12.0))
    got = {candidate.species: candidate.probability for candidate in answer.candidates}
    assert got["tree-swallow"] == pytest.approx(areas[0] / sum(areas), abs=0.005)
    assert sum(got.values()) == pytest.approx(1.0, abs=0.002)
    assert [c.probability for c in answer.candidates] == sorted(got.values(), reverse=True)
    best = answer.candidates[0]
    assert (answer.days, answer.low_days, answer.high_days) == (best.days, best.low_days, best.high_days)


# --- what must hold


@pytest.mark.parametrize(
    ("low", "high", "mean", "sd"),
    [
        pytest.param(10, 28, 19.0, 18 / (2 * norm.ppf(0.95)), id="a wide range is its 5th to 95th centile"),
        pytest.param(4, 5, 4.5, 0.5, id="never better than half a day"),
        pytest.param(53, 58, 55.5, 2.775, id="nor than a twentieth of the age"),
    ],
)
def test_age_of_a_milestone(low, high, mean, sd):
    assert milestone_age(low_days=low, high_days=high) == pytest.approx((mean, sd), abs=1e-4)


def test_hatching_day_is_counted_back_from_the_day_asked():
    answer = estimate(mass_g=12.0)
    assert (ON - answer.hatched_on).days == pytest.approx(answer.days, abs=0.5)


def test_a_heavier_bird_is_older_and_a_milestone_moves_the_age_its_way():
    ages = [estimate(mass_g=mass_g).days for mass_g in (2, 4, 8, 12, 16, 20)]
    assert ages == sorted(ages)
    assert len(set(ages)) == len(ages)
    alone = estimate(mass_g=12.0)
    assert estimate(mass_g=12.0, pins_visible=False).days < alone.days < estimate(mass_g=12.0, eyes_open=True).days


def test_more_evidence_narrows():
    wide, narrow = estimate(mass_g=12.0), estimate(mass_g=12.0, pins_visible=True, pins_unsheathing=False)
    assert narrow.high_days - narrow.low_days < wide.high_days - wide.low_days
    assert (wide.used, narrow.used) == (("mass",), ("mass", "pins_visible", "pins_unsheathing"))
    assert ("age_from_mass_alone" in codes(wide), "age_from_mass_alone" in codes(narrow)) == (True, False)


def test_likely_days_are_the_most_probable_ones():
    likely = estimate(mass_g=12.0).likely
    assert 1 <= len(likely) <= 5
    assert [day.probability for day in likely] == sorted((day.probability for day in likely), reverse=True)
    assert sum(day.probability for day in likely) <= 1.002


@pytest.mark.parametrize("mass_g", [24.0, 25.0, 33.0, 42.0])
def test_near_and_above_the_asymptote_mass_sets_no_upper_end(mass_g):
    answer = estimate(mass_g=mass_g)
    assert "age_only_at_least" in codes(answer)
    assert answer.high_days - answer.days > 10
    assert answer.low_days > 6


def test_a_milestone_not_yet_seen_sets_one():
    answer = estimate(mass_g=20.0, pins_unsheathing=False)
    assert "age_only_at_least" not in codes(answer)
    assert answer.high_days < 9


def test_a_thin_fledgling_is_not_taken_for_a_hatchling_in_silence():
    """growth.md section 5, practical point: light with normal feathers is thin, not young."""
    answer = estimate(mass_g=5.0, eyes_open=True, pins_unsheathing=True)
    assert "age_evidence_disagrees" in codes(answer)
    assert answer.cautions[0].severity == "act_today"
    assert "age_evidence_disagrees" not in codes(estimate(mass_g=18.0, eyes_open=True, pins_unsheathing=True))


@pytest.mark.parametrize("form", list(CurveForm))
@pytest.mark.parametrize("mass_g", [1e-3, 0.5, 12.0, 42.0])
@pytest.mark.parametrize("seen", [{}, {"eyes_open": True, "pins_visible": False}])
def test_whatever_is_told_the_numbers_are_finite_and_in_order(form, mass_g, seen):
    curve = msgspec.structs.replace(PASSERINE.profile.growth_curve, form=form, inflection_days=quantity(1.0))
    species = msgspec.structs.replace(PASSERINE, profile=msgspec.structs.replace(PASSERINE.profile, growth_curve=curve))
    answer = estimate(species, mass_g=mass_g, **seen)
    assert np.isfinite([answer.days, *(day.probability for day in answer.likely)]).all()
    assert 0.0 <= answer.low_days <= answer.days <= answer.high_days <= 60.0


def test_evidence_against_all_reason_still_gives_a_number():
    """Feathers of day 305 told as seen, eyes of day 1.5 as not yet open: a likelihood far below the least double."""
    odd = with_milestones(TREE_SWALLOW, eyes_open=(1, 2), fully_feathered=(300, 310))
    answer = estimate(odd, eyes_open=False, fully_feathered=True)
    assert np.isfinite([answer.low_days, answer.days, answer.high_days]).all()


def test_an_impossible_candidate_has_no_probability_and_alone_is_refused():
    dwarf, giant = keyed(known("Passeriformes", 5.0, 0.5, 4.0, adult_g=5.0), "dwarf"), keyed(TREE_SWALLOW, "fits")
    answer = age_estimate([dwarf, giant], told(20.0))
    assert [(c.species, c.probability) for c in answer.candidates] == [("fits", 1.0), ("dwarf", 0.0)]
    for asked_about in ([dwarf], [dwarf, keyed(dwarf, "dwarf-too")]):
        with pytest.raises(DomainError) as refused:
            age_estimate(asked_about, told(20.0))
        assert (refused.value.code, refused.value.field) == ("implausible_weight", "/mass_g")


def test_hardly_possible_candidates_compare_without_underflow():
    """Every likelihood is below the least double: in logs they still compare."""
    sds = (0.001, 0.001, 0.001, 0.001)
    near, far = (
        keyed(known("Passeriformes", a, 0.5, 0.5, adult_g=40.0, sds=sds), name)
        for name, a in (("near", 30.0), ("far", 20.0))
    )
    answer = age_estimate([far, near], told(60.0))
    assert [(c.species, c.probability) for c in answer.candidates] == [("near", 1.0), ("far", 0.0)]


def test_evidence_that_one_candidate_cannot_use_does_not_rank_them():
    """A species whose profile says nothing of eyes must not win by having nothing against it."""
    without, with_eyes = keyed(TREE_SWALLOW, "without"), PASSERINE
    plain = age_estimate([with_eyes, without], told(12.0))
    seen = age_estimate([with_eyes, without], told(12.0, eyes_open=False))
    assert [c.probability for c in plain.candidates] == [c.probability for c in seen.candidates] == [0.5, 0.5]
    assert "evidence_not_compared" in codes(seen)
    assert "species_doubtful" in codes(seen)


def test_a_milestone_without_ages_is_named_and_left_out():
    answer = estimate(mass_g=12.0, perches=False)
    assert answer.used == ("mass",)
    assert "evidence_not_used" in codes(answer)
    assert "perches" in next(c.text for c in answer.cautions if c.code == "evidence_not_used")


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        pytest.param(told(), "age_missing", id="nothing told"),
        pytest.param(told(perches=True), "age_missing", id="nothing usable"),
        pytest.param(told(50.1), "implausible_weight", id="over two adults"),
        pytest.param(
            AgeAsked(on=ON, milestones=(MilestoneTold(key=EYES, seen=True), MilestoneTold(key=EYES, seen=False))),
            "milestones_disagree",
            id="seen and not seen",
        ),
    ],
)
def test_refused(asked, code):
    with pytest.raises(DomainError) as refused:
        age_estimate([PASSERINE], asked)
    assert refused.value.code == code
    assert refused.value.remedy


def test_the_same_milestone_told_twice_counts_once():
    eyes = MilestoneTold(key=EYES, seen=True)
    once, twice = (age_estimate([PASSERINE], AgeAsked(on=ON, milestones=(eyes,) * n)) for n in (1, 2))
    assert once == twice


def test_reasons_give_the_values_back():
    answer = estimate(mass_g=12.0, pins_visible=True)
    assert {entry.field: age_at_centile_days(**entry.inputs) for entry in answer.basis} == {
        "/days": answer.days,
        "/low_days": answer.low_days,
        "/high_days": answer.high_days,
    }


# --- chicks of known age


def fitted_to(species, day):
    curve = msgspec.structs.replace(species.profile.growth_curve, valid_to_day=day)
    return msgspec.structs.replace(species, profile=msgspec.structs.replace(species.profile, growth_curve=curve))


#: growth.md section 3, logistic rows (last day fitted 13 and 11); spreads and fledging as tests/pure/growth/birds.py.
SWALLOW = fitted_to(TREE_SWALLOW, 13.0)
SPARROW = fitted_to(known("Passeriformes", 18.8, 0.528, 3.6, adult_g=21.9, fledging=(9, 12)), 11.0)
#: growth.md section 5, passerines in general [HRB2].
PRINTED = with_milestones(SPARROW, pins_visible=(4, 5), pins_unsheathing=(7, 8))
#: The 5th and 95th centile of normal ages through the shares printed in growth.md section 5 for these very chicks.
OWN = with_milestones(SPARROW, pins_visible=(1.1, 4.3), pins_unsheathing=(4.6, 8.8))


def nothing_seen(row):
    return {}


def pins_seen(row):
    return {
        key: row[column] not in ("", "0", "0.0")
        for key, column in (("pins_visible", "pin_total_mm"), ("pins_unsheathing", "feather_beyond_sheath_mm"))
    }


SWALLOWS, SPARROWS = "chick_tree_swallow_2017.csv", "chick_song_sparrow.csv"
DRILLS = [
    ("tree swallow, mass", SWALLOWS, SWALLOW, nothing_seen, True),
    ("song sparrow, mass", SPARROWS, SPARROW, nothing_seen, True),
    ("song sparrow, pins as printed for passerines", SPARROWS, PRINTED, pins_seen, False),
    ("song sparrow, mass and those pins", SPARROWS, PRINTED, pins_seen, True),
    ("song sparrow, pins of these chicks", SPARROWS, OWN, pins_seen, False),
    ("song sparrow, mass and pins of these chicks", SPARROWS, OWN, pins_seen, True),
]


def aged(file, species, seen, with_mass, every=1):
    """(true age, estimate) of weighings, in order of chick and age; every one of them is answered."""
    rows = [row for of_chick in chicks(file).values() for row in of_chick]
    for row in rows[::every]:
        mass_g = float(row["mass_g"]) if with_mass else None
        yield float(row["age_d"]), age_estimate([species], told(mass_g, **seen(row)))


def open_ended(answer):
    return "age_only_at_least" in codes(answer)


def errors_days(found):
    return np.array([answer.days - age for age, answer in found])


@pytest.mark.parametrize(
    ("file", "species", "seen"),
    [
        pytest.param(SWALLOWS, SWALLOW, nothing_seen, id="tree swallow by mass"),
        pytest.param(SPARROWS, OWN, pins_seen, id="song sparrow by mass and pins"),
    ],
)
def test_chicks_of_known_age_are_aged_better_than_by_guessing(file, species, seen):
    """No target is set yet; less error than by calling every chick as old as the middle one is the least."""
    found = [(age, a) for age, a in aged(file, species, seen, with_mass=True, every=10) if not open_ended(a)]
    ages = np.array([age for age, _ in found])
    assert np.median(np.abs(errors_days(found))) < np.median(np.abs(ages - np.median(ages)))


@pytest.mark.drill
def test_table_of_known_ages():
    print("\n\n| evidence | answer | chicks' days | median error, d | mean error, d | covered | width, d |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, file, species, seen, with_mass in DRILLS:
        everything = list(aged(file, species, seen, with_mass))
        whole = [(age, a) for age, a in everything if not open_ended(a)]
        inside = np.mean([a.low_days <= age <= a.high_days for age, a in whole])
        width = np.median([a.high_days - a.low_days for _, a in whole])
        error = errors_days(whole)
        print(
            f"| {name} | interval | {len(whole)} | {np.median(np.abs(error)):.2f} | {np.mean(error):+.2f} "
            f"| {inside:.1%} | {width:.1f} |"
        )
        rest = [(age, a) for age, a in everything if open_ended(a)]
        above = np.mean([age >= a.low_days for age, a in rest])
        print(f"| | at least | {len(rest)} | | | {above:.1%} | |")
