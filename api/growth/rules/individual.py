"""The bird's own curve, and what it expects: rules of plain values, each a call of the batched fit for one bird."""

import math
from collections.abc import Sequence
from functools import lru_cache

from species.biology.curve import SpeciesCurve
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import FitResult, fit_individuals
from species.biology.growth_forecast import OneStepAhead, one_step_ahead, predict
from species.biology.weighing_errors import ResidualModel, SlowDeviation
from species.domain.record import Record

#: How long a slow deviation lasts, days.
SLOW_DAYS = 2.0


class Prior(Record, frozen=True, kw_only=True):
    """What is known of a bird before its first weighing, as plain values."""

    form: str
    asymptote_g: float
    rate_per_day: float
    inflection_days: float
    log_asymptote_sd: float
    log_rate_sd: float
    age_shift_sd_days: float
    age_sd_days: float

    def for_fit(self) -> CurvePrior:
        """The same for the fit."""
        curve = SpeciesCurve(self.form, self.asymptote_g, self.rate_per_day, self.inflection_days)
        return CurvePrior(
            curve, self.log_asymptote_sd, self.log_rate_sd, self.age_shift_sd_days, age_sd_days=self.age_sd_days
        )


class Weights(Record, frozen=True, kw_only=True):
    """Weighings of one bird in order of age."""

    age_days: tuple[float, ...]
    mass_g: tuple[float, ...]
    weight: tuple[float, ...]


def fit_of(prior: Prior, record: Weights, residual: ResidualModel) -> FitResult:
    """Fit one bird."""
    return fit_individuals([record.age_days], [record.mass_g], [record.weight], prior.for_fit(), residual)


def steps_of(prior: Prior, record: Weights, residual: ResidualModel) -> OneStepAhead:
    """Judge each weighing of one bird by the earlier ones."""
    return one_step_ahead([record.age_days], [record.mass_g], [record.weight], prior.for_fit(), residual)


def usual_residual(residual_log_sd: float) -> ResidualModel:
    """What lies between a weighing and the bird's curve: half of it lasts a few days, half is fresh each time.

    The slow half (a bad day, the weather, a sibling's share) keeps a forecast near the last weights; with fresh noise
    alone the forecast of a chick that stands still would leap back to its old curve. The halves and the two days are
    the design's first figures from real common terns; a later issue measures them by species.
    """
    half = residual_log_sd / math.sqrt(2)
    return SlowDeviation(noise_log_sd=half, slow_log_sd=half, time_constant_days=SLOW_DAYS)


def _fit_plain(
    age_days: Sequence[float],
    mass_g: Sequence[float],
    weight: Sequence[float],
    residual_log_sd: float,
    **prior: float | str,
) -> FitResult:
    return _fit_once(
        Weights(age_days=tuple(age_days), mass_g=tuple(mass_g), weight=tuple(weight)),
        Prior(**prior),  # type: ignore[arg-type]
        residual_log_sd,
    )


@lru_cache(maxsize=8)
def _fit_once(record: Weights, prior: Prior, residual_log_sd: float) -> FitResult:
    """The several numbers of one answer come from one fit."""
    return fit_of(prior, record, usual_residual(residual_log_sd))


def own_asymptote_g(
    *,
    age_days: Sequence[float],
    mass_g: Sequence[float],
    weight: Sequence[float],
    residual_log_sd: float,
    **prior: float | str,
) -> float:
    """Asymptote of the bird's own most probable curve, to 0.1 g.

    Parameters
    ----------
    age_days, mass_g, weight
        Weighings in order of age; weight 0 for those that are not used.
    residual_log_sd
        Scatter of a weighing on ln mass.
    **prior
        Fields of :class:`Prior`.

    Notes
    -----
    docs/methods/growth_fit.md.
    """
    return round(float(_fit_plain(age_days, mass_g, weight, residual_log_sd, **prior).asymptote_g[0]), 1)


def own_rate_per_day(
    *,
    age_days: Sequence[float],
    mass_g: Sequence[float],
    weight: Sequence[float],
    residual_log_sd: float,
    **prior: float | str,
) -> float:
    """Rate of the bird's own curve, to 0.0001 per day; arguments as :func:`own_asymptote_g`."""
    return round(float(_fit_plain(age_days, mass_g, weight, residual_log_sd, **prior).rate_per_day[0]), 4)


def own_age_shift_days(
    *,
    age_days: Sequence[float],
    mass_g: Sequence[float],
    weight: Sequence[float],
    residual_log_sd: float,
    **prior: float | str,
) -> float:
    """Days the bird is ahead of the age told, to 0.01 d; arguments as :func:`own_asymptote_g`."""
    return round(float(_fit_plain(age_days, mass_g, weight, residual_log_sd, **prior).age_shift_days[0]), 2)


def forecast_g(
    *,
    at_age_days: float,
    share: float,
    age_days: Sequence[float],
    mass_g: Sequence[float],
    weight: Sequence[float],
    residual_log_sd: float,
    **prior: float | str,
) -> float:
    """Weight expected at an age to come, to 0.1 g (0.01 g below 10 g).

    Parameters
    ----------
    at_age_days
        Age to come.
    share
        0.5 for the middle; 0.05 and 0.95 for the ends of the 90 % interval of a weighing.
    age_days, mass_g, weight, residual_log_sd, **prior
        As :func:`own_asymptote_g`.
    """
    ahead = predict(_fit_plain(age_days, mass_g, weight, residual_log_sd, **prior), [at_age_days])
    if share == 0.5:
        return shown_g(float(ahead.mass_g[0, 0]))
    low, high = ahead.interval_g(1 - 2 * min(share, 1 - share))
    return shown_g(float((low if share < 0.5 else high)[0, 0]))


def shown_g(mass_g: float) -> float:
    """A mass as a scale shows it."""
    return round(mass_g, 2 if abs(mass_g) < 10 else 1)
