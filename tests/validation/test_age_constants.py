"""The constants of an age, fitted on the fitting half of the weighed chicks, and on what profiles print twice.

Nothing here reads the half to judge by. The model is written out again, in NumPy and SciPy alone; of ours it takes the
profiles' values, and the constants that it holds against the fit.
"""

from dataclasses import dataclass
from importlib.resources import files
from math import hypot, log, sqrt

import numpy as np
import pytest
from scipy.optimize import minimize, minimize_scalar
from scipy.special import log_ndtr, logsumexp
from scipy.stats import norm

from api.growth.rules.age_posterior import FEATHERS_FOLLOW, GROUP_MISSES_BY, START_SD_DAYS
from species.packs.read import read_pack
from tests.validation.ageing_chicks import SETS, pins_told
from tests.validation.chicks import chicks

PROFILES = {profile.key: profile for profile in read_pack(files("species.builtin")).profiles.values()}
Z = np.linspace(-5, 5, 81)
LOG_WEIGHT = norm.logpdf(Z) - logsumexp(norm.logpdf(Z))


@dataclass(frozen=True)
class Weighed:
    """Weighings of nestlings of the fitting half, with their profile's logistic curve and spreads."""

    age: np.ndarray
    log_mass: np.ndarray
    rows: list
    nests: list
    log_asymptote: float
    rate: float
    inflection: float
    noise: float
    pace: float

    def log_mass_density(self, developed, log_asymptote=None, rate=None, inflection=None, log_noise=None):
        curve = (log_asymptote or self.log_asymptote) - np.logaddexp(
            0, -(rate or self.rate) * (developed - (inflection or self.inflection))
        )
        noise = self.noise if log_noise is None else np.exp(log_noise)
        return norm.logpdf(self.log_mass[:, None], curve, noise)

    def lead(self, start_sd):
        return np.hypot(start_sd, self.pace * self.age)[:, None] * Z


def weighed(name):
    file, key = SETS[name]
    profile = PROFILES[key]
    curve, last = profile.growth_curve, profile.fledging_days.high
    assert curve.form == "logistic"
    found = chicks(file, "fit")
    each = [
        (row, nest)
        for rows, nest in zip(found.rows, found.nests, strict=True)
        for row in rows
        if float(row["age_d"]) <= last
    ]
    inflection = curve.inflection_days.value
    return Weighed(
        age=np.array([float(row["age_d"]) for row, _ in each]),
        log_mass=np.log([float(row["mass_g"]) for row, _ in each]),
        rows=[row for row, _ in each],
        nests=[nest for _, nest in each],
        log_asymptote=log(curve.asymptote_g.value),
        rate=curve.rate_per_day.value,
        inflection=inflection,
        noise=hypot(curve.log_asymptote_sd.value, curve.residual_log_sd.value),
        pace=hypot(curve.log_rate_sd.value, curve.inflection_sd_days.value / inflection),
    )


def log_likelihood_of_start(sets, start_sd):
    return sum(
        logsumexp(one.log_mass_density(one.age[:, None] + one.lead(start_sd)) + LOG_WEIGHT, axis=1).sum()
        for one in sets
    )


def fitted_start(sets):
    return minimize_scalar(
        lambda start: -log_likelihood_of_start(sets, start), bounds=(0.05, 3), method="bounded", options={"xatol": 0.01}
    ).x


def test_spread_at_hatching():
    """Maximum likelihood of the three species together, profiles' curves and spreads as they stand."""
    sets = [weighed(name) for name in SETS]
    assert fitted_start(sets) == pytest.approx(START_SD_DAYS, abs=0.1)


@pytest.mark.drill
def test_spread_at_hatching_of_each_species():
    print()
    for name in SETS:
        others = [weighed(other) for other in SETS if other != name]
        print(f"{name}: {fitted_start([weighed(name)]):.2f} d; of the two others: {fitted_start(others):.2f} d")


def fit_of_feathers(sparrows, follow=None):
    """Mass and pins together; the curve, its noise, and mean ages and own spreads of the pins are free."""
    told = [pins_told(row) for row in sparrows.rows]
    sign = {
        key: np.array([{True: 1.0, False: -1.0, None: 0.0}[one.get(key)] for one in told])[:, None]
        for key in ("pins_visible", "pins_unsheathing")
    }
    lead = sparrows.lead(START_SD_DAYS)

    def badness(free):
        share = free[0] if follow is None else follow
        total = LOG_WEIGHT + sparrows.log_mass_density(sparrows.age[:, None] + lead, *free[5:])
        feathers = sparrows.age[:, None] + share * lead
        for signs, mean, log_sd in zip(sign.values(), free[1:3], free[3:5], strict=True):
            shown = log_ndtr(signs * (feathers - mean) / (0.05 + np.exp(log_sd)))
            total = total + np.where(signs == 0.0, 0.0, shown)
        return -logsumexp(total, axis=1).sum()

    start = [0.6, 2.8, 6.5, -0.5, -0.9, log(16.0), 0.52, 3.9, log(0.1)]
    found = minimize(badness, start, method="Nelder-Mead", options={"maxfev": 4000, "xatol": 2e-3, "fatol": 2e-3})
    return -found.fun, found.x


@pytest.mark.drill
def test_feathers_follow_the_mass():
    """Maximum likelihood of song sparrows; independence of mass and feathers is far less likely."""
    sparrows = weighed("song sparrow")
    best, free = fit_of_feathers(sparrows)
    apart, _ = fit_of_feathers(sparrows, follow=0.0)
    wholly, _ = fit_of_feathers(sparrows, follow=1.0)
    own = 0.05 + np.exp(free[3:5])
    print(
        f"\nshare {free[0]:.2f}; pins {free[1]:.2f} d, own sd {own[0]:.2f} d; sheaths {free[2]:.2f} d, {own[1]:.2f} d"
    )
    print(f"ln L {best:.1f}; independent {apart:.1f}; wholly one {wholly:.1f}")
    assert free[0] == pytest.approx(FEATHERS_FOLLOW, abs=0.1)
    assert best - apart > 10


def test_a_group_misses_a_species():
    """Steps that HRB Table 2.2 p.25 prints for passerines in general, against those printed of one species."""
    in_general = {
        "pins_under_skin": (1, 2),
        "eyes_slit": (3, 3),
        "pins_visible": (4, 5),
        "eyes_open": (7, 8),
        "pins_unsheathing": (7, 8),
        "holds_temperature": (9, 10),
        "fully_feathered": (9, 10),
    }
    apart = [
        log(milestone.seen_days.middle / (sum(in_general[milestone.key.value]) / 2))
        for profile in PROFILES.values()
        if profile.order == "Passeriformes"
        for milestone in profile.milestones
        if milestone.seen_days.reach == "species" and milestone.key.value in in_general
    ]
    assert len(apart) >= 15
    print(f"\n{len(apart)} steps of songbirds, off by {sqrt(np.mean(np.square(apart))):.2f}")
    assert sqrt(np.mean(np.square(apart))) == pytest.approx(GROUP_MISSES_BY, abs=0.1)


@pytest.mark.drill
def test_what_a_nest_has_in_common():
    """Share of the variance of leads, as the mass alone tells them, that lies between nests (one-way, one a chick)."""
    print()
    for name in SETS:
        one = weighed(name)
        lead = one.lead(START_SD_DAYS)
        log_weight = one.log_mass_density(one.age[:, None] + lead) + LOG_WEIGHT
        told = np.exp(log_weight - logsumexp(log_weight, axis=1, keepdims=True)) @ Z
        chick = np.array([row["chick_id"] for row in one.rows])
        first = np.unique(chick, return_index=True)[1]
        by_nest = {}
        for index in first:
            mine = chick == chick[index]
            by_nest.setdefault(one.nests[index], []).append(told[mine].mean())
        groups = [np.array(each) for each in by_nest.values() if len(each) > 1]
        count = sum(map(len, groups))
        whole = np.concatenate(groups).mean()
        between = sum(len(g) * (g.mean() - whole) ** 2 for g in groups) / (len(groups) - 1)
        within = sum(((g - g.mean()) ** 2).sum() for g in groups) / (count - len(groups))
        size = (count - sum(len(g) ** 2 for g in groups) / count) / (len(groups) - 1)
        share = (between - within) / (between + (size - 1) * within)
        print(f"{name}: {share:.0%} between nests ({len(groups)} nests, {count} chicks)")
