"""How old a foundling is: every age weighed by how well it explains the bird's mass and its visible development.

The posterior itself is age_posterior.py. The method, its constants and its limits stand in
docs/methods/age_estimate.md.
"""

import math
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np
from scipy.special import logsumexp

from api.catalog.rules.known import Known
from api.growth.rules.age_cautions import AgeTold, age_cautions
from api.growth.rules.age_posterior import (
    USUAL_PACE_SD,
    LikelyDay,
    age_at_centile_days,
    age_at_least_days,
    at_least_days,
    centile_days,
    grid_days,
    log_likelihood,
    milestone_age,
    open_ended,
    pace_sd,
    whole_days,
)
from api.web.rules.cautions import Caution
from api.web.rules.ledger import BasisEntry, Ledger
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.milestone import Milestone
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Reach
from species.domain.vocabulary import MilestoneKey

#: The grid goes on so far past the last age that the profile knows.
BEYOND = 1.5
#: The ends and the middle of what is answered, per cent of the posterior.
LOW_CENTILE, MEDIAN_CENTILE, HIGH_CENTILE = 5.0, 50.0, 95.0
#: No bird weighs more than so many adults, or less than this share of its hatching mass.
ADULTS_AT_MOST, HATCH_AT_LEAST = 2.0, 0.5
MASS = "mass"


class MilestoneTold(Record, frozen=True, kw_only=True):
    """A visible step of development, seen or looked for and not seen; so long after the day asked, below 0 before."""

    key: MilestoneKey
    seen: bool
    days_later: float = 0.0


class AgeAsked(Record, frozen=True, kw_only=True):
    """What was told of a bird on a day."""

    on: date
    mass_g: float | None = None
    milestones: tuple[MilestoneTold, ...] = ()


class CandidateAge(Record, frozen=True, kw_only=True):
    """A species the bird may be, how probable that is among those asked about, and its age if it is one."""

    species: str
    probability: float
    days: float
    low_days: float
    high_days: float


class AgeEstimate(Record, frozen=True, kw_only=True):
    """An age with its 90 % interval; that of the most probable candidate, where there are several."""

    days: float
    low_days: float
    high_days: float
    hatched_on: date
    likely: tuple[LikelyDay, ...]
    used: tuple[str, ...]
    candidates: tuple[CandidateAge, ...]
    cautions: tuple[Caution, ...]
    basis: tuple[BasisEntry, ...]


class _Evidence(Record, frozen=True, kw_only=True):
    """What a profile makes of what was told, as plain values that :func:`age_at_centile_days` takes."""

    known: Known
    end_days: float
    pace_sd: float
    mass: dict[str, Any] | None
    milestones: tuple[dict[str, Any], ...]
    unknown: tuple[str, ...]
    plausible: bool

    @property
    def used(self) -> tuple[str, ...]:
        return (*((MASS,) if self.mass is not None else ()), *(milestone["key"] for milestone in self.milestones))

    def only(self, kept: Sequence[str]) -> dict[str, Any]:
        """The arguments of :func:`log_likelihood` for some of the evidence."""
        return {
            "pace_sd": self.pace_sd,
            "mass": self.mass if MASS in kept else None,
            "milestones": [milestone for milestone in self.milestones if milestone["key"] in kept],
        }

    @property
    def name(self) -> str:
        return self.known.profile.key if self.known.listed else self.known.profile.scientific_name


def age_estimate(candidates: Sequence[Known], asked: AgeAsked) -> AgeEstimate:
    """Estimate an age, and with several species also which it is likely to be.

    Parameters
    ----------
    candidates
        The species, or those that it may be.
    asked
        Mass, milestones and the day they were seen on.

    Returns
    -------
    AgeEstimate
        Days to 0.1; the candidates ranked, their probabilities summing to 1 as far as rounding lets them.

    Raises
    ------
    DomainError
        Codes ``milestones_disagree``, ``age_missing`` where nothing told can be used, ``implausible_weight`` where no
        bird of any of the species weighs that.

    Notes
    -----
    Species are compared by the mean of the likelihood over the ages of each, so that all are as probable beforehand and
    none wins by staying long at a weight; and only by the evidence that all of them can use: one that says nothing of a
    milestone must not win by it.
    """
    seen = _brackets(asked.milestones)
    several = len(candidates) > 1
    found = [_evidence(known, asked.mass_g, seen) for known in candidates]
    for n, evidence in enumerate(found):
        if not evidence.used:
            raise _nothing_used(evidence, f"/candidates/{n}" if several else "/milestones")
    if not any(evidence.plausible for evidence in found):
        raise _implausible(asked.mass_g or 0.0, found)
    shared = [name for name in found[0].used if all(name in evidence.used for evidence in found)]
    log_marginals = np.array([_log_marginal(evidence, shared) for evidence in found])
    probabilities = np.exp(log_marginals - logsumexp(log_marginals))
    order = np.argsort(-probabilities, kind="stable")
    ledger = Ledger()
    best = found[int(order[0])]
    by_best = {"end_days": best.end_days, **best.only(best.used)}
    ages = grid_days(best.end_days)
    density = log_likelihood(ages, **best.only(best.used))
    endless = open_ended(density)

    def at_centile(field: str, centile: float) -> float:
        return ledger.derive(field, age_at_centile_days, sources=_sources(best), centile=centile, **by_best)

    days = at_centile("/days", MEDIAN_CENTILE)
    low = (
        ledger.derive("/low_days", age_at_least_days, sources=_sources(best), **by_best)
        if endless
        else at_centile("/low_days", LOW_CENTILE)
    )
    high = at_centile("/high_days", HIGH_CENTILE)
    told = AgeTold(
        known=best.known,
        low_days=low,
        open_ended=endless,
        used=best.used,
        unknown=best.unknown,
        disagree=_disagree(best),
        probability=float(probabilities[order[0]]),
        not_compared=tuple(name for name in best.used if name not in shared),
    )
    return AgeEstimate(
        days=days,
        low_days=low,
        high_days=high,
        hatched_on=asked.on - timedelta(days=math.floor(days + 0.5)),
        likely=whole_days(ages, density),
        used=best.used,
        candidates=tuple(_candidate(found[n], float(probabilities[n])) for n in order),
        cautions=age_cautions(told),
        basis=ledger.entries(),
    )


def _brackets(milestones: Sequence[MilestoneTold]) -> dict[MilestoneKey, dict[str, float | None]]:
    """When each step was last looked for in vain and first seen after that; the last word counts."""
    looks: dict[MilestoneKey, dict[float, bool]] = {}
    for n, told in enumerate(milestones):
        if looks.setdefault(told.key, {}).setdefault(told.days_later, told.seen) != told.seen:
            raise DomainError(
                f"{told.key} is told as seen and as not seen.",
                field=f"/milestones/{n}/seen",
                code="milestones_disagree",
                remedy="Tell each milestone once; leave out what was not looked for.",
            )
    found: dict[MilestoneKey, dict[str, float | None]] = {}
    for key, seen in looks.items():
        not_yet = max((day for day, was in seen.items() if not was), default=None)
        first = min((day for day, was in seen.items() if was and (not_yet is None or day > not_yet)), default=None)
        found[key] = {"not_yet_days": not_yet, "seen_days": first}
    return found


def _evidence(known: Known, mass_g: float | None, seen: Mapping[MilestoneKey, Mapping[str, float | None]]) -> _Evidence:
    profile, curve = known.profile, known.profile.growth_curve
    pace = USUAL_PACE_SD if curve is None else _pace(curve)
    of_key = {milestone.key: milestone for milestone in profile.milestones}
    milestones = tuple(_milestone(of_key[key], looks, pace) for key, looks in seen.items() if key in of_key)
    unknown = [key.value for key in seen if key not in of_key]
    if mass_g is not None and curve is None:
        unknown.insert(0, MASS)
    return _Evidence(
        known=known,
        end_days=_end_days(profile),
        pace_sd=pace,
        mass=None if mass_g is None or curve is None else {"mass_g": mass_g, **_parameters(curve)},
        milestones=milestones,
        unknown=tuple(unknown),
        plausible=mass_g is None or _lightest_g(profile) <= mass_g <= _heaviest_g(profile),
    )


def _pace(curve: GrowthCurve) -> float:
    pace = pace_sd(
        form=curve.form.value,
        rate_per_day=curve.rate_per_day.value,
        inflection_days=curve.inflection_days.value,
        log_rate_sd=curve.log_rate_sd.value,
        inflection_sd_days=curve.inflection_sd_days.value,
    )
    return round(pace, 4)


def _milestone(milestone: Milestone, looks: Mapping[str, float | None], pace: float) -> dict[str, Any]:
    printed = milestone.seen_days
    mean, spread = milestone_age(
        low_days=printed.low,
        high_days=printed.high,
        usual_days=printed.usual,
        of_the_species=printed.reach is Reach.SPECIES,
        pace_sd=pace,
    )
    return {"key": milestone.key.value, "mean_days": mean, "sd_days": round(spread, 4), **looks}


def _end_days(profile: Profile) -> float:
    last = [milestone.seen_days.high for milestone in profile.milestones]
    last += [band.high for band in (profile.fledging_days, profile.weaning.age_days) if band is not None]
    if profile.growth_curve is not None:
        last.append(profile.growth_curve.valid_to_day)
    return round(BEYOND * max(last, default=0.0), 1)


def _parameters(curve: GrowthCurve) -> dict[str, Any]:
    return {
        "form": curve.form.value,
        "asymptote_g": curve.asymptote_g.value,
        "rate_per_day": curve.rate_per_day.value,
        "inflection_days": curve.inflection_days.value,
        "log_mass_sd": round(math.hypot(curve.log_asymptote_sd.value, curve.residual_log_sd.value), 4),
    }


def _heaviest_g(profile: Profile) -> float:
    masses = profile.masses
    adult = masses.adult_high_g or masses.adult_g
    return ADULTS_AT_MOST * max(adult.value, masses.peak_g.value if masses.peak_g else 0.0)


def _lightest_g(profile: Profile) -> float:
    hatch = profile.masses.hatch_g
    return HATCH_AT_LEAST * hatch.value if hatch is not None else 0.0


def _log_marginal(evidence: _Evidence, shared: Sequence[str]) -> float:
    if not evidence.plausible:
        return -math.inf
    if not shared:  # nothing tells them apart
        return 0.0
    density = log_likelihood(grid_days(evidence.end_days), **evidence.only(shared))
    return float(logsumexp(density)) - math.log(len(density))


def _candidate(evidence: _Evidence, probability: float) -> CandidateAge:
    low, days, high = _ages(evidence, evidence.used)
    return CandidateAge(
        species=evidence.name, probability=round(probability, 3), days=days, low_days=low, high_days=high
    )


def _ages(evidence: _Evidence, kept: Sequence[str]) -> tuple[float, float, float]:
    """Lower end, median and upper end of the age by some of the evidence."""
    ages = grid_days(evidence.end_days)
    density = log_likelihood(ages, **evidence.only(kept))
    low, days, high = (centile_days(ages, density, each) for each in (LOW_CENTILE, MEDIAN_CENTILE, HIGH_CENTILE))
    return at_least_days(ages, density) if open_ended(density) else low, days, high


def _disagree(evidence: _Evidence) -> bool:
    """Whether mass alone and milestones alone put the bird into ages that do not meet, by their 90 % intervals."""
    if evidence.mass is None or not evidence.milestones:
        return False
    (mass_low, _, mass_high), (low, _, high) = (_ages(evidence, kept) for kept in ([MASS], evidence.used[1:]))
    return mass_high < low or high < mass_low


def _sources(evidence: _Evidence) -> tuple[str, ...]:
    profile = evidence.known.profile
    curve = profile.growth_curve.asymptote_g.sources if profile.growth_curve and evidence.mass else ()
    used = [milestone for milestone in profile.milestones if milestone.key.value in evidence.used]
    return (*curve, *(source for milestone in used for source in milestone.seen_days.sources))


def _nothing_used(evidence: _Evidence, field: str) -> DomainError:
    profile = evidence.known.profile
    keys = ", ".join(milestone.key.value for milestone in profile.milestones)
    usable = [*(["mass_g"] if profile.growth_curve else []), *([f"one of the milestones {keys}"] if keys else [])]
    return DomainError(
        f"Nothing that was told says how old a {profile.vernacular_name} is.",
        field=field,
        code="age_missing",
        remedy=f"Give {' or '.join(usable)}." if usable else "Its profile knows no ages; take another species.",
    )


def _implausible(mass_g: float, found: Sequence[_Evidence]) -> DomainError:
    profiles = [evidence.known.profile for evidence in found]
    names = " or ".join(profile.vernacular_name for profile in profiles)
    low, high = min(map(_lightest_g, profiles)), max(map(_heaviest_g, profiles))
    return DomainError(
        f"{mass_g:g} g is no weight of a {names}: between {low:.3g} and {high:.4g} g would be.",
        field="/mass_g",
        code="implausible_weight",
        remedy="Weigh again; check the decimal point, grams against kilograms, the bird and the species.",
    )
