"""Ages from mass and milestones: by an oracle of SciPy's own, and by their limits. Real chicks: tests/validation."""

from datetime import date
from math import exp, hypot, log

import msgspec
import numpy as np
import pytest
from scipy.integrate import cumulative_simpson, quad_vec
from scipy.stats import norm

from api.growth.rules import age_posterior
from api.growth.rules.age_posterior import (
    age_at_centile_days,
    at_least_days,
    centile_days,
    grid_days,
    log_likelihood,
    milestone_age,
    pace_sd,
)
from api.growth.rules.ageing import AgeAsked, MilestoneTold, age_estimate
from species.domain.errors import DomainError
from species.domain.milestone import Milestone
from species.domain.sourcing import Band, Reach
from species.domain.vocabulary import CurveForm, MilestoneKey
from tests.pure.growth.birds import TREE_SWALLOW, known, quantity

ON = date(2027, 5, 2)
EYES, PINS, SHEATHS = MilestoneKey.EYES_OPEN, MilestoneKey.PINS_VISIBLE, MilestoneKey.PINS_UNSHEATHING


def with_milestones(species, reach=Reach.GROUP, **ages):
    milestones = tuple(
        Milestone(key=MilestoneKey(key), seen_days=Band(low=low, high=high, reach=reach, sources=("TEST growth.md",)))
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


def looked(mass_g, *looks):
    milestones = tuple(MilestoneTold(key=key, seen=seen, days_later=days) for key, seen, days in looks)
    return AgeAsked(on=ON, mass_g=mass_g, milestones=milestones)


def fitted_to(species, day):
    """With the curve known to a day, which sets where the grid ends."""
    curve = msgspec.structs.replace(species.profile.growth_curve, valid_to_day=day)
    return msgspec.structs.replace(
        species, profile=msgspec.structs.replace(species.profile, growth_curve=curve, fledging_days=None)
    )


def estimate(species=PASSERINE, mass_g=None, **milestones):
    return age_estimate([species], told(mass_g, **milestones))


def codes(answer):
    return [caution.code for caution in answer.cautions]


# --- an oracle written out here: the equations of docs/methods/age_estimate.md by SciPy's adaptive quadrature

#: Tree swallow: sd(ln K) 0.13; sd(t_i) 1.0 d over 4.8167 d, where a logistic is at half its asymptote.
PACE = hypot(0.13, 1.0 / 4.8167)
NOISE = hypot(0.08, 0.09)


#: Log likelihoods at 4 and 5 d of the worked example.
WORKED = (-0.7901, -0.6108)


def lead(age, z):
    return np.sqrt(0.6**2 + (PACE * age) ** 2) * z


def mass_density(mass_g, asymptote, developed):
    curve = log(asymptote) - np.logaddexp(0, -0.51089 * (developed - 4.8167))
    return norm.pdf(log(mass_g), curve, NOISE)


def feathers(age, z, mean, sd):
    """Probability that the step shows; nothing shows before hatching."""
    age = np.maximum(age, 0.0)
    return norm.cdf((age + 0.7 * lead(age, z) - mean) / sd)


def oracle(evidence, ages):
    """Likelihood at ages: ``evidence(age, z)`` over a standard normal lead z."""
    return quad_vec(lambda z: evidence(ages, z) * norm.pdf(z), -8, 8, epsabs=1e-12, points=[-2, 0, 2])[0]


def oracle_ages(evidence, end, shares=(0.05, 0.5, 0.95)):
    ages = np.linspace(0, end, 2001)
    below = cumulative_simpson(oracle(evidence, ages), x=ages, initial=0)
    return np.interp(np.array(shares) * below[-1], below, ages)


#: Printed for passerines, not for this species: spread 0.3 of the mean.
PINS_TOLD, SHEATHS_TOLD = (4.5, 1.35), (7.5, 2.25)


def pins_and_no_vanes(age, z):
    """12 g, pins through the skin (4-5 d), not yet unsheathing (7-8 d)."""
    mass = mass_density(12.0, 25.004, age + lead(age, z))
    return mass * feathers(age, z, *PINS_TOLD) * (1 - feathers(age, z, *SHEATHS_TOLD))


def test_ages_are_those_of_an_independent_quadrature():
    """The answer is rounded to 0.1 d; the grid ends at 1.5 times the curve's last age of 40 d."""
    answer = estimate(mass_g=12.0, pins_visible=True, pins_unsheathing=False)
    got = (answer.low_days, answer.days, answer.high_days)
    assert got == pytest.approx(oracle_ages(pins_and_no_vanes, 60.0), abs=0.051)
    (first, *_) = answer.likely
    ages = np.linspace(0, 60, 2001)
    density = oracle(pins_and_no_vanes, ages)
    day = density[np.abs(ages - first.days) < 0.5].sum() / density.sum()
    assert first.probability == pytest.approx(day, abs=0.03)  # a grid of ten ages to the day


def test_worked_example():
    """docs/methods/age_estimate.md: four decimals there."""
    (entry, *_) = estimate(mass_g=12.0, pins_visible=True, pins_unsheathing=False).basis
    evidence = {name: entry.inputs[name] for name in ("pace_sd", "mass", "milestones")}
    got = log_likelihood(np.array([4.0, 5.0]), **evidence)
    assert got == pytest.approx(WORKED, abs=1e-4)
    assert np.log(oracle(pins_and_no_vanes, np.array([4.0, 5.0]))) == pytest.approx(WORKED, abs=1e-3)


def test_a_step_not_seen_before_and_seen_then_counts_exactly():
    """Pins looked for in vain 2.5 days before and there now: the probability that they came between, by quadrature."""

    def between(age, z):
        mass = mass_density(12.0, 25.004, age + lead(age, z))
        return mass * (feathers(age, z, *PINS_TOLD) - feathers(age - 2.5, z, *PINS_TOLD))

    answer = age_estimate([PASSERINE], looked(12.0, (PINS, False, -2.5), (PINS, True, 0.0)))
    got = (answer.low_days, answer.days, answer.high_days)
    assert got == pytest.approx(oracle_ages(between, 60.0), abs=0.051)
    assert answer.used == ("mass", "pins_visible")


def test_a_step_first_seen_days_later_counts_from_then():
    def later(age, z):
        return feathers(age + 3.0, z, *PINS_TOLD) - feathers(age + 1.0, z, *PINS_TOLD)

    answer = age_estimate([PASSERINE], looked(None, (PINS, False, 1.0), (PINS, True, 3.0)))
    got = (answer.low_days, answer.days, answer.high_days)
    assert got == pytest.approx(oracle_ages(later, 60.0), abs=0.051)


def test_the_ages_of_simulated_birds_lie_in_nine_of_ten_intervals():
    """Birds made by the words of the page: any age beforehand, one lead for mass and feathers. 3 sd of 600: 3.7 %."""
    rng = np.random.default_rng(20270502)
    (entry, *_) = estimate(mass_g=12.0, pins_visible=True, pins_unsheathing=False).basis
    evidence = {name: entry.inputs[name] for name in ("pace_sd", "mass", "milestones")}
    steps = evidence.pop("milestones")
    grid, inside = grid_days(12.0), 0
    for age, z, noise, *own in zip(rng.uniform(0, 12, 600), *rng.normal(size=(4, 600)), strict=True):
        mass_g = 25.004 / (1 + exp(-0.51089 * (age + lead(age, z) - 4.8167))) * exp(NOISE * noise)
        shown = [age + 0.7 * lead(age, z) > mean + sd * late
                 for (mean, sd), late in zip((PINS_TOLD, SHEATHS_TOLD), own, strict=True)]  # fmt: skip
        told_of = [{**step, "seen_days": 0.0 if seen else None, "not_yet_days": None if seen else 0.0}
                   for step, seen in zip(steps, shown, strict=True)]  # fmt: skip
        density = log_likelihood(
            grid, **{**evidence, "mass": {**evidence["mass"], "mass_g": mass_g}, "milestones": told_of}
        )
        low, high = (centile_days(grid, density, each) for each in (5.0, 95.0))
        inside += low - 0.05 <= age <= high + 0.05
    assert inside / 600 == pytest.approx(0.90, abs=0.037)


def test_candidates_are_ranked_by_the_integral_of_their_likelihood():
    """Two species alike but for the asymptote, 25 and 50 g, at 12 g: quadrature of the mass density of each."""

    def area(asymptote):
        ages = np.linspace(0, 60, 2001)
        density = oracle(lambda age, z: mass_density(12.0, asymptote, age + lead(age, z)), ages)
        return cumulative_simpson(density, x=ages)[-1]

    areas = [area(a) for a in (25.004, 50.0)]
    twice = keyed(known("Passeriformes", 50.0, 0.51089, 4.8167, adult_g=42.0), "twice-size")
    answer = age_estimate([twice, keyed(TREE_SWALLOW, "tree-swallow")], told(12.0))
    got = {candidate.species: candidate.probability for candidate in answer.candidates}
    assert got["tree-swallow"] == pytest.approx(areas[0] / sum(areas), abs=0.005)
    assert sum(got.values()) == pytest.approx(1.0, abs=0.002)
    assert [c.probability for c in answer.candidates] == sorted(got.values(), reverse=True)
    best = answer.candidates[0]
    assert (answer.days, answer.low_days, answer.high_days) == (best.days, best.low_days, best.high_days)


# --- what must hold


def test_none_wins_by_staying_long_at_a_weight():
    """The same species with another last age: as probable, not four times so."""
    short, long = (keyed(fitted_to(TREE_SWALLOW, day), name) for name, day in (("short", 15.0), ("long", 60.0)))
    answer = age_estimate([long, short], told(12.0))
    got = {candidate.species: candidate.probability for candidate in answer.candidates}
    # 12 g are of days 2 to 10: a quarter of those ages in the one is a sixteenth in the other.
    assert got["short"] == pytest.approx(0.8, abs=0.02)


@pytest.mark.parametrize(
    ("low", "high", "usual", "species", "mean", "sd"),
    [
        pytest.param(9.5, 28, None, True, 18.75, 4.962, id="what leads leave of a wide range"),
        pytest.param(4, 5, None, True, 4.5, 0.5, id="never better than half a day"),
        pytest.param(2, 4, 2.5, True, 2.5, 0.5, id="a usual age is the mean"),
        pytest.param(4, 5, None, False, 4.5, 1.35, id="another species' range may be off by three tenths"),
    ],
)
def test_age_of_a_milestone(low, high, usual, species, mean, sd):
    """By hand, pace 0.2: (28 - 9.5) / (2 x 1.6449) = 5.6236; 0.7 sqrt(0.6^2 + 3.75^2) = 2.6584; 4.9556 is left."""
    got = milestone_age(low_days=low, high_days=high, usual_days=usual, of_the_species=species, pace_sd=0.2)
    assert got == pytest.approx((mean, sd), abs=0.01)


@pytest.mark.parametrize(
    ("form", "half"),
    [("logistic", 6.0), ("gompertz", 6.0 + 0.36651 / 0.2), ("bertalanffy", 6.0 + 0.47981 / 0.2)],
)
def test_pace_counts_from_half_the_asymptote(form, half):
    """By hand: e^-e^-x is a half at x = -ln ln 2 = 0.36651; (1 - e^-x / 3)^3 at x = -ln(3 - 3 / 2^(1/3)) = 0.47981."""
    got = pace_sd(form=form, rate_per_day=0.2, inflection_days=6.0, log_rate_sd=0.1, inflection_sd_days=1.2)
    assert got == pytest.approx(hypot(0.1, 1.2 / half), abs=1e-5)


def test_chicks_of_like_eggs_do_not_develop_alike():
    """Profiles of the chicks that were weighed have 0.182 (tree swallow) to 0.263 (zebra finch), and held on them."""
    got = pace_sd(form="gompertz", rate_per_day=0.0467, inflection_days=26.4, log_rate_sd=0.01, inflection_sd_days=1.0)
    assert 0.1 < got < 0.182


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
    own = with_milestones(TREE_SWALLOW, reach=Reach.SPECIES, pins_unsheathing=(7, 8))
    answers = [estimate(species, mass_g=20.0, pins_unsheathing=False) for species in (own, PASSERINE)]
    assert not any("age_only_at_least" in codes(answer) for answer in answers)
    # Most tree swallows show them by day 8, and a late one is a third late; the range of a group says less.
    assert answers[0].high_days < 11 < answers[1].high_days < 15


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


def test_the_last_look_counts_where_a_step_was_seen_and_then_was_not_there():
    mistaken = looked(12.0, (EYES, True, 0.0), (EYES, False, 1.0), (EYES, True, 2.5))
    straight = looked(12.0, (EYES, False, 1.0), (EYES, True, 2.5))
    assert age_estimate([PASSERINE], mistaken) == age_estimate([PASSERINE], straight)


def test_a_step_seen_between_two_looks_says_more_than_one_look():
    seen = estimate(mass_g=12.0, pins_visible=True)
    between = age_estimate([PASSERINE], looked(12.0, (PINS, False, -1.0), (PINS, True, 0.0)))
    assert between.high_days < seen.high_days
    assert between.low_days <= seen.low_days


def test_what_mass_and_feathers_share_is_not_counted_twice():
    """With one lead in both, the interval of both is wider than by independent leads; the oracle draws two of them."""
    species = with_milestones(TREE_SWALLOW, reach=Reach.SPECIES, pins_visible=(4, 5), pins_unsheathing=(7, 8))
    ages = np.linspace(0, 60, 2001)
    mass = oracle(lambda age, z: mass_density(9.0, 25.004, age + lead(age, z)), ages)
    feather = oracle(lambda age, z: feathers(age, z, 4.5, 0.5) * (1 - feathers(age, z, 7.5, 0.5)), ages)
    below = cumulative_simpson(mass * feather, x=ages, initial=0)
    low, high = np.interp(np.array((0.05, 0.95)) * below[-1], below, ages)
    answer = estimate(species, mass_g=9.0, pins_visible=True, pins_unsheathing=False)
    assert answer.high_days - answer.low_days > high - low + 0.2


def test_at_least_does_not_hang_on_where_the_grid_ends():
    """24 g: half a gram under the asymptote, where every later age is as good."""
    lows = {estimate(fitted_to(TREE_SWALLOW, day), mass_g=24.0).low_days for day in (20.0, 40.0, 80.0)}
    assert len(lows) == 1
    by_centile = [age_at_centile_days(**{**estimate(fitted_to(TREE_SWALLOW, day), mass_g=24.0).basis[0].inputs,
                                         "centile": 5.0}) for day in (20.0, 80.0)]  # fmt: skip
    assert by_centile[1] > by_centile[0] + 1


def test_at_least_is_where_the_likelihood_ratio_ends():
    """ln Phi(x) is 1.92 below its greatest value where Phi(x) = e^-1.92 = 0.1466 (R: qnorm(exp(-1.92)) = -1.0511)."""
    ages = grid_days(60.0)
    assert at_least_days(ages, norm.logcdf(ages - 20.0)) == pytest.approx(20 - 1.0511, abs=0.1)


def test_the_same_milestone_told_twice_counts_once():
    eyes = MilestoneTold(key=EYES, seen=True)
    once, twice = (age_estimate([PASSERINE], AgeAsked(on=ON, milestones=(eyes,) * n)) for n in (1, 2))
    assert once == twice


def test_reasons_give_the_values_back():
    answer = estimate(mass_g=12.0, pins_visible=True)
    for found in (answer, estimate(mass_g=24.0)):
        assert {
            entry.field: getattr(age_posterior, entry.rule.rpartition(".")[2])(**entry.inputs) for entry in found.basis
        } == {"/days": found.days, "/low_days": found.low_days, "/high_days": found.high_days}
