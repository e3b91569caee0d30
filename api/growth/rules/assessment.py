"""The growth assessment: the bird's own curve, every weighing against it and against its species, and findings."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from api.catalog.rules.known import Known
from api.catalog.rules.strain import curve_of_strain
from api.growth.rules import individual
from api.growth.rules.asked import GrowthAsked
from api.growth.rules.findings import AlarmRule, Finding, GrowthSeen, Seen, first_rules
from api.growth.rules.individual import Prior, Weights, shown_g
from api.growth.rules.series import Placed, ages_days, hatched_at, placed
from api.web.rules.cautions import Caution, Severity
from api.web.rules.ledger import BasisEntry, Ledger
from species.biology import growth_forms, population
from species.biology.growth_forecast import predict
from species.biology.weighing_errors import ResidualModel
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.record import Record

FORECAST_DAYS = 7
#: Fewer weighings than this tell of a bird, but not of its growth.
FEWEST = 2
#: The last weighing this far under what its own record led to expect is watched.
WATCH_Z = -1.5
WATCH_CENTILE = 10.0


class Status(StrEnum):
    """How the bird grows, in a word."""

    ON_TRACK = "on_track"
    WATCH = "watch"
    FALLING_BEHIND = "falling_behind"
    LOSING_WEIGHT = "losing_weight"
    TOO_LITTLE_DATA = "too_little_data"


class CurveRead(Record, frozen=True, kw_only=True):
    """The bird's own curve with its Laplace standard deviations."""

    form: str
    asymptote_g: float
    rate_per_day: float
    inflection_days: float
    age_shift_days: float
    asymptote_sd_g: float
    rate_sd_per_day: float
    inflection_sd_days: float
    age_shift_sd_days: float
    settled: bool


class PointRead(Record, frozen=True, kw_only=True):
    """One weighing among its species and after its own record."""

    at: datetime
    age_days: float
    mass_g: float
    expected_g: float
    low_g: float
    high_g: float
    centile: float | None
    z: float | None
    conditional_z: float | None
    conditional_expected_g: float | None
    gain_g_per_day: float | None
    expected_gain_g_per_day: float | None
    state: str
    index: int


class ForecastDay(Record, frozen=True, kw_only=True):
    """What a weighing on a day to come should bring, with its 90 % interval."""

    on: date
    expected_g: float
    low_g: float
    high_g: float


class Assessment(Record, frozen=True, kw_only=True):
    """How a bird grows."""

    curve: CurveRead
    points: tuple[PointRead, ...]
    status: Status
    findings: tuple[Finding, ...]
    forecast: tuple[ForecastDay, ...]
    cautions: tuple[Caution, ...]
    basis: tuple[BasisEntry, ...]


def assess(
    known: Known,
    asked: GrowthAsked,
    *,
    residual: Callable[[float], ResidualModel] = individual.usual_residual,
    alarm: AlarmRule = first_rules,
) -> Assessment:
    """Judge the growth of one bird.

    Parameters
    ----------
    known
        Its species.
    asked
        The bird and its weighings.
    residual
        Model of what lies between a weighing and the bird's curve, of the profile's size.
    alarm
        Rule that turns what was seen into findings.

    Raises
    ------
    DomainError
        If the species has no growth curve, or a weighing lies before hatching.
    """
    curve = _curve_of(known, asked)
    ages = ages_days(asked)
    _, age_sd_days = hatched_at(asked)
    prior = _prior(curve, age_sd_days)
    noise = residual(curve.residual_log_sd.value)
    sigmoid = (prior.form, prior.asymptote_g, prior.rate_per_day, prior.inflection_days)
    middle = [float(growth_forms.mass_g(sigmoid[0], age, *sigmoid[1:])) for age in ages]
    series = placed(asked.weighings, ages, middle, curve.residual_log_sd.value)
    weights = Weights(
        age_days=tuple(p.age_days for p in series),
        mass_g=tuple(p.weighing.mass_g for p in series),
        weight=tuple(p.weight for p in series),
    )
    ledger = Ledger()
    own = _own_curve(prior, weights, noise, curve, ledger)
    points = _points(series, weights, prior, noise, curve)
    findings = alarm(_growth_seen(known, asked, points, series, own, prior))
    return Assessment(
        curve=own,
        points=points,
        status=_status(points, findings),
        findings=findings,
        forecast=_forecast(asked, weights, prior, noise, curve, ledger),
        cautions=_cautions(known, curve, points),
        basis=ledger.entries(),
    )


def _curve_of(known: Known, asked: GrowthAsked) -> GrowthCurve:
    curve = curve_of_strain(known.profile, asked.adult_mass_g)
    if curve is None:
        raise DomainError(
            f"There is no growth curve of {known.profile.scientific_name} or its order.",
            field="/species" if known.listed else "/unlisted_species/order",
            code="no_growth_curve",
            remedy="Compare the bird with its own weight of yesterday, and ask a vet.",
        )
    return curve


def _prior(curve: GrowthCurve, age_sd_days: float) -> Prior:
    return Prior(
        form=curve.form.value,
        asymptote_g=curve.asymptote_g.value,
        rate_per_day=curve.rate_per_day.value,
        inflection_days=curve.inflection_days.value,
        log_asymptote_sd=curve.log_asymptote_sd.value,
        log_rate_sd=curve.log_rate_sd.value,
        age_shift_sd_days=curve.inflection_sd_days.value,
        age_sd_days=age_sd_days,
    )


def _own_curve(prior: Prior, weights: Weights, noise: ResidualModel, curve: GrowthCurve, ledger: Ledger) -> CurveRead:
    fit = individual.fit_of(prior, weights, noise)
    sources = curve.asymptote_g.sources + curve.rate_per_day.sources
    inputs = _fit_inputs(prior, weights, curve)
    asymptote = ledger.derive("/curve/asymptote_g", individual.own_asymptote_g, sources=sources, **inputs)
    rate = ledger.derive("/curve/rate_per_day", individual.own_rate_per_day, sources=sources, **inputs)
    shift = ledger.derive("/curve/age_shift_days", individual.own_age_shift_days, sources=sources, **inputs)
    log_a_sd, log_k_sd, shift_sd = (float(sd) for sd in fit.parameter_sd[0])
    return CurveRead(
        form=prior.form,
        asymptote_g=asymptote,
        rate_per_day=rate,
        inflection_days=round(prior.inflection_days - shift, 2),
        age_shift_days=shift,
        asymptote_sd_g=round(asymptote * log_a_sd, 1),
        rate_sd_per_day=round(rate * log_k_sd, 4),
        inflection_sd_days=round(shift_sd, 2),
        age_shift_sd_days=round(shift_sd, 2),
        settled=bool(fit.converged[0]),
    )


def _fit_inputs(prior: Prior, weights: Weights, curve: GrowthCurve) -> dict[str, Any]:
    fields = {name: getattr(prior, name) for name in Prior.__struct_fields__}
    return {
        "age_days": list(weights.age_days),
        "mass_g": list(weights.mass_g),
        "weight": list(weights.weight),
        "residual_log_sd": curve.residual_log_sd.value,
        **fields,
    }


def _points(
    series: tuple[Placed, ...], weights: Weights, prior: Prior, noise: ResidualModel, curve: GrowthCurve
) -> tuple[PointRead, ...]:
    ages, masses = np.array(weights.age_days), np.array(weights.mass_g)
    sigmoid = (prior.asymptote_g, prior.rate_per_day, prior.inflection_days)
    spread = (
        prior.log_asymptote_sd,
        prior.log_rate_sd,
        float(np.hypot(prior.age_shift_sd_days, prior.age_sd_days)),
    )
    band = population.mass_band_g(prior.form, ages, *sigmoid, *spread, curve.residual_log_sd.value)
    z = np.atleast_1d(population.z_of_mass(prior.form, masses, ages, *sigmoid, *spread, curve.residual_log_sd.value))
    centiles = np.atleast_1d(
        population.centile_of_mass(prior.form, masses, ages, *sigmoid, *spread, curve.residual_log_sd.value)
    )
    steps = individual.steps_of(prior, weights, noise)
    conditional = steps.expected.mass_g[0]
    low, middle, high = (np.atleast_1d(end) for end in (band.low_g, band.expected_g, band.high_g))
    read: list[PointRead] = []
    before: PointRead | None = None
    for n, place in enumerate(series):
        used = place.state == "accepted"
        apart = place.age_days - before.age_days if before else 0.0
        known_apart = before is not None and apart > 0 and used
        point = PointRead(
            at=place.weighing.at,
            age_days=round(place.age_days, 2),
            mass_g=place.weighing.mass_g,
            expected_g=shown_g(float(middle[n])),
            low_g=shown_g(float(low[n])),
            high_g=shown_g(float(high[n])),
            centile=round(float(centiles[n]), 1) if used else None,
            z=round(float(z[n]), 2) if used else None,
            conditional_z=round(float(steps.z[0, n]), 2) if used else None,
            conditional_expected_g=shown_g(float(conditional[n])) if used else None,
            gain_g_per_day=_per_day(place.weighing.mass_g, before, apart) if known_apart else None,
            expected_gain_g_per_day=_per_day(float(conditional[n]), before, apart) if known_apart else None,
            state=place.state,
            index=place.weighing.index,
        )
        read.append(point)
        before = point if used else before
    return tuple(read)


def _per_day(mass_g: float, before: PointRead | None, apart_days: float) -> float | None:
    return None if before is None else shown_g((mass_g - before.mass_g) / apart_days)


def _growth_seen(
    known: Known,
    asked: GrowthAsked,
    points: tuple[PointRead, ...],
    series: tuple[Placed, ...],
    own: CurveRead,
    prior: Prior,
) -> GrowthSeen:
    sigmoid = (prior.asymptote_g, prior.rate_per_day, prior.inflection_days)
    profile = known.profile
    limit = profile.weaning.loss_limit_fraction
    return GrowthSeen(
        order=profile.order,
        points=tuple(
            Seen(
                index=point.index,
                at=point.at,
                age_days=point.age_days,
                mass_g=point.mass_g,
                state=point.state,
                meant_g=place.meant_g,
                centile=point.centile,
                expected_g=point.expected_g,
                species_gain_g_per_day=float(growth_forms.gain_g_per_day(prior.form, place.age_days, *sigmoid)),
                conditional_z=point.conditional_z,
                conditional_expected_g=point.conditional_expected_g,
            )
            for point, place in zip(points, series, strict=True)
        ),
        feathered=asked.feathered,
        weaning=asked.weaning,
        fledging_from_day=profile.fledging_days.low if profile.fledging_days else None,
        loss_limit_fraction=limit.value if limit else None,
        age_shift_days=own.age_shift_days,
        age_shift_prior_sd_days=float(np.hypot(prior.age_shift_sd_days, prior.age_sd_days)),
    )


def _status(points: tuple[PointRead, ...], findings: tuple[Finding, ...]) -> Status:
    accepted = [point for point in points if point.state == "accepted"]
    codes = {finding.code for finding in findings}
    if codes & {"weight_loss", "weaning_loss"}:
        return Status.LOSING_WEIGHT
    if len(accepted) < FEWEST:
        return Status.TOO_LITTLE_DATA
    if codes & {"no_gain", "low_for_age", "light_for_milestones"}:
        return Status.FALLING_BEHIND
    last = accepted[-1]
    low = last.conditional_z is not None and last.conditional_z < WATCH_Z
    light = last.centile is not None and last.centile < WATCH_CENTILE
    return Status.WATCH if low or light or findings else Status.ON_TRACK


def _forecast(
    asked: GrowthAsked, weights: Weights, prior: Prior, noise: ResidualModel, curve: GrowthCurve, ledger: Ledger
) -> tuple[ForecastDay, ...]:
    """Seven days from the day asked for, at the hour of the last weighing."""
    last = max(asked.weighings, key=lambda weighing: weighing.at)
    last_on = last.at.astimezone(ZoneInfo(asked.time_zone)).date()
    start = asked.on or last_on
    age = max(weights.age_days) + (start - last_on).days
    ages = [age + n for n in range(1, FORECAST_DAYS + 1)]
    ahead = predict(individual.fit_of(prior, weights, noise), ages)
    low, high = ahead.interval_g()
    # Every day comes from the same rule; its reason is given once, for tomorrow.
    for name, share in (("expected_g", 0.5), ("low_g", 0.05), ("high_g", 0.95)):
        ledger.derive(
            f"/forecast/0/{name}",
            individual.forecast_g,
            at_age_days=ages[0],
            share=share,
            **_fit_inputs(prior, weights, curve),
        )
    return tuple(
        ForecastDay(
            on=start + timedelta(days=n + 1),
            expected_g=shown_g(float(ahead.mass_g[0, n])),
            low_g=shown_g(float(low[0, n])),
            high_g=shown_g(float(high[0, n])),
        )
        for n in range(FORECAST_DAYS)
    )


def _cautions(known: Known, curve: GrowthCurve, points: tuple[PointRead, ...]) -> tuple[Caution, ...]:
    found = [
        Caution(
            code="ask_a_vet",
            severity=Severity.NOTE,
            text="A curve replaces no licensed avian vet. Where bird and curve disagree, believe the bird and ask.",
        )
    ]
    if not known.listed:
        found.append(
            Caution(
                code="inferred_profile",
                severity=Severity.NOTE,
                text="It is reckoned from adult mass and relatives: its bands are wide, the own record says more.",
            )
        )
    if points[-1].age_days > curve.valid_to_day:
        found.append(
            Caution(
                code="age_beyond_curve",
                severity=Severity.NOTE,
                text=(
                    f"The species' curve ends at day {curve.valid_to_day:g}; later it shows its plateau, and many "
                    "birds lose mass before they fly."
                ),
            )
        )
    return tuple(found)
