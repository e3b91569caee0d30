"""The growth assessment: the bird's own curve, every weighing against it and against its species, and findings."""

from collections.abc import Callable, Sequence
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np

from api.catalog.rules.known import Known
from api.catalog.rules.strain import curve_of_strain, refuse_other_adult_mass
from api.growth.rules import individual
from api.growth.rules.among import Species, species_of
from api.growth.rules.asked import GrowthAsked
from api.growth.rules.assessment_cautions import assessment_cautions
from api.growth.rules.findings import AlarmRule, Finding, GrowthSeen, Seen, first_rules
from api.growth.rules.individual import ForecastDay, OwnCurve, Prior, Weights
from api.growth.rules.points import PointRead, points_read
from api.growth.rules.series import Placed, ages_days, hatched_at, placed
from api.web.rules.cautions import Caution
from api.web.rules.ledger import BasisEntry, Ledger
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
        If the species has no growth curve, no strain of it has the adult mass told, or a weighing lies before hatching.
    """
    curve = _curve_of(known, asked)
    ages = ages_days(asked)
    _, age_sd_days = hatched_at(asked)
    prior = _prior(curve, age_sd_days)
    species = species_of(prior, curve.residual_log_sd.value)
    series = _series(asked, ages, species, age_sd_days)
    own = OwnCurve(
        record=Weights(
            age_days=tuple(p.age_days for p in series),
            mass_g=tuple(p.weighing.mass_g for p in series),
            weight=tuple(p.weight for p in series),
        ),
        prior=prior,
        residual=residual(curve.residual_log_sd.value),
    )
    sources = curve.asymptote_g.sources + curve.rate_per_day.sources
    ledger = Ledger()
    read = _own_curve(own, sources, ledger)
    points = points_read(series, own, species, sources, ledger)
    findings = alarm(_growth_seen(known, asked, points, series, read, species))
    return Assessment(
        curve=read,
        points=points,
        status=_status(points, findings, ledger),
        findings=findings,
        forecast=_forecast(asked, own, sources, ledger),
        cautions=tuple(
            assessment_cautions(
                known,
                curve,
                last_age_days=points[-1].age_days,
                strain=asked.strain,
                adult_mass_g=asked.adult_mass_g,
            )
        ),
        basis=ledger.entries(),
    )


def _curve_of(known: Known, asked: GrowthAsked) -> GrowthCurve:
    refuse_other_adult_mass(adult_mass_g=asked.adult_mass_g, usual_g=known.profile.masses.adult_g.value)
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


def _series(asked: GrowthAsked, ages: Sequence[float], species: Species, age_sd_days: float) -> tuple[Placed, ...]:
    at = np.asarray(ages)
    middle = species.middle_g(at)
    age_log_sd = age_sd_days * np.abs(species.gain_g_per_day(at)) / middle
    return placed(asked.weighings, ages, middle.tolist(), age_log_sd.tolist(), species.residual_log_sd)


def _own_curve(own: OwnCurve, sources: tuple[str, ...], ledger: Ledger) -> CurveRead:
    def derived(field: str, rule: Callable[..., float]) -> float:
        return ledger.derive(f"/curve/{field}", rule, sources=sources, **own.plain())

    return CurveRead(
        form=own.prior.form,
        asymptote_g=derived("asymptote_g", individual.own_asymptote_g),
        rate_per_day=derived("rate_per_day", individual.own_rate_per_day),
        inflection_days=derived("inflection_days", individual.own_inflection_days),
        age_shift_days=derived("age_shift_days", individual.own_age_shift_days),
        asymptote_sd_g=derived("asymptote_sd_g", individual.own_asymptote_sd_g),
        rate_sd_per_day=derived("rate_sd_per_day", individual.own_rate_sd_per_day),
        inflection_sd_days=derived("inflection_sd_days", individual.own_age_shift_sd_days),
        age_shift_sd_days=derived("age_shift_sd_days", individual.own_age_shift_sd_days),
        settled=individual.settled(own),
    )


def _growth_seen(
    known: Known,
    asked: GrowthAsked,
    points: tuple[PointRead, ...],
    series: tuple[Placed, ...],
    own: CurveRead,
    species: Species,
) -> GrowthSeen:
    profile, zone = known.profile, ZoneInfo(asked.time_zone)
    limit = profile.weaning.loss_limit_fraction
    gains = species.gain_g_per_day(np.array([place.age_days for place in series]))
    return GrowthSeen(
        order=profile.order,
        family=profile.family,
        food_guild=profile.food_guild,
        points=tuple(
            Seen(
                index=point.index,
                at=point.at,
                on=point.at.astimezone(zone).date(),
                age_days=point.age_days,
                mass_g=point.mass_g,
                context=place.weighing.context,
                state=point.state,
                meant_g=place.meant_g,
                centile=point.centile,
                expected_g=point.expected_g,
                low_g=point.low_g,
                species_gain_g_per_day=float(gain),
                conditional_z=point.conditional_z,
                conditional_expected_g=point.conditional_expected_g,
            )
            for point, place, gain in zip(points, series, gains, strict=True)
        ),
        feathered=asked.feathered,
        weaning=asked.weaning,
        fledging_from_day=profile.fledging_days.low if profile.fledging_days else None,
        loss_limit_fraction=limit.value if limit else None,
        age_shift_days=own.age_shift_days,
        age_shift_prior_sd_days=species.inflection_sd_days,
    )


def status_of(*, accepted: int, findings: Sequence[str], conditional_z: float | None, centile: float | None) -> Status:
    """How the bird grows, in a word.

    Parameters
    ----------
    accepted
        How many weighings were not questioned.
    findings
        Codes of what was found.
    conditional_z, centile
        Of the last accepted weighing.
    """
    codes = set(findings)
    if codes & {"weight_loss", "weaning_loss"}:
        return Status.LOSING_WEIGHT
    if accepted < FEWEST:
        return Status.TOO_LITTLE_DATA
    if codes & {"no_gain", "low_for_age", "light_for_milestones"}:
        return Status.FALLING_BEHIND
    low = conditional_z is not None and conditional_z < WATCH_Z
    light = centile is not None and centile < WATCH_CENTILE
    return Status.WATCH if low or light or codes else Status.ON_TRACK


def _status(points: tuple[PointRead, ...], findings: tuple[Finding, ...], ledger: Ledger) -> Status:
    accepted = [point for point in points if point.state == "accepted"]
    return ledger.derive(
        "/status",
        status_of,
        accepted=len(accepted),
        findings=[finding.code for finding in findings],
        conditional_z=accepted[-1].conditional_z if accepted else None,
        centile=accepted[-1].centile if accepted else None,
    )


def _forecast(asked: GrowthAsked, own: OwnCurve, sources: tuple[str, ...], ledger: Ledger) -> tuple[ForecastDay, ...]:
    """Seven days from the day asked for, at the hour of the last weighing."""
    last = max(asked.weighings, key=lambda weighing: weighing.at)
    last_on = last.at.astimezone(ZoneInfo(asked.time_zone)).date()
    start = asked.on or last_on
    age_days = max(own.record.age_days) + (start - last_on).days
    if age_days < 0:
        raise DomainError(
            "By this the bird has not hatched on the day asked for.",
            field="/on",
            code="hatched_in_the_future",
            remedy="Give the day of the last weighing or a later one, or leave it out.",
        )
    return ledger.derive(
        "/forecast",
        individual.forecast,
        sources=sources,
        after_on=start,
        age_days=age_days,
        days=FORECAST_DAYS,
        **own.plain(),
    )
