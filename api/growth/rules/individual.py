"""The bird's own curve, and what it expects: rules of plain values, each a call of the batched fit for one bird.

A rule takes the same three plain values: ``record``, the bird's weighings; ``prior``, what was known before them;
``residual``, the model of what lies between a weighing and the curve. The several numbers of one answer come from one
fit.
"""

import dataclasses
import math
from collections.abc import Mapping
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from species.biology import weighing_errors
from species.biology.bounds import FloatArray
from species.biology.curve import SpeciesCurve
from species.biology.curve_prior import CurvePrior
from species.biology.growth_fit import FitResult, fit_individuals
from species.biology.growth_forecast import Prediction, one_step_ahead, predict
from species.biology.weighing_errors import ResidualModel, SlowDeviation
from species.domain.record import Record

#: How long a slow deviation lasts, days.
SLOW_DAYS = 2.0
#: A weighing is judged by so many earlier ones at most: of a longer record by the last half of that, and as many
#: spread over the rest. Every one of 400 judged by all before it takes ten seconds, and says the same.
EARLIER_AT_MOST = 60
Plain = Mapping[str, Any]


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
    """Weighings of one bird in order of age; weight 0 for those that are not used."""

    age_days: tuple[float, ...]
    mass_g: tuple[float, ...]
    weight: tuple[float, ...]


class OwnCurve(Record, frozen=True, kw_only=True):
    """What an answer's numbers of one bird are computed from, whole."""

    record: Weights
    prior: Prior
    residual: ResidualModel

    def plain(self) -> dict[str, Any]:
        """The same as keyword arguments of the rules, plain values."""
        return {
            "record": msgspec.to_builtins(self.record),
            "prior": msgspec.to_builtins(self.prior),
            "residual": residual_plain(self.residual),
        }


class ForecastDay(Record, frozen=True, kw_only=True):
    """What a weighing on a day to come should bring, with its 90 % interval."""

    on: date
    expected_g: float
    low_g: float
    high_g: float


def usual_residual(residual_log_sd: float) -> ResidualModel:
    """What lies between a weighing and the bird's curve: half of it lasts a few days, half is fresh each time.

    The slow half (a bad day, the weather, a sibling's share) keeps a forecast near the last weights; with fresh noise
    alone the forecast of a chick that stands still would leap back to its old curve. The halves and the two days are
    the design's first figures from real common terns; a later issue measures them by species.
    """
    half = residual_log_sd / math.sqrt(2)
    return SlowDeviation(noise_log_sd=half, slow_log_sd=half, time_constant_days=SLOW_DAYS)


def residual_plain(model: ResidualModel) -> dict[str, Any]:
    """A residual model as plain values: its name in ``species.biology.weighing_errors`` and its parameters."""
    return {"model": type(model).__name__, **dataclasses.asdict(model)}  # type: ignore[call-overload]


def own_asymptote_g(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Asymptote of the bird's own most probable curve, to 0.1 g. docs/methods/growth_fit.md."""
    return round(float(_fit(record, prior, residual).asymptote_g[0]), 1)


def own_rate_per_day(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Rate of the bird's own curve, to 0.0001 per day."""
    return round(float(_fit(record, prior, residual).rate_per_day[0]), 4)


def own_age_shift_days(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Days the bird is ahead of the age told, to 0.01 d."""
    return round(float(_fit(record, prior, residual).age_shift_days[0]), 2)


def own_inflection_days(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Told age at which the bird passes the inflection of its curve, to 0.01 d."""
    return round(float(prior["inflection_days"]) - float(_fit(record, prior, residual).age_shift_days[0]), 2)


def own_asymptote_sd_g(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Posterior standard deviation of the asymptote, Laplace's, to 0.1 g."""
    fit = _fit(record, prior, residual)
    return round(float(fit.asymptote_g[0] * fit.parameter_sd[0, 0]), 1)


def own_rate_sd_per_day(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Posterior standard deviation of the rate, Laplace's, to 0.0001 per day."""
    fit = _fit(record, prior, residual)
    return round(float(fit.rate_per_day[0] * fit.parameter_sd[0, 1]), 4)


def own_age_shift_sd_days(*, record: Plain, prior: Plain, residual: Plain) -> float:
    """Posterior standard deviation of the shift, and so of the age at inflection, Laplace's, to 0.01 d."""
    return round(float(_fit(record, prior, residual).parameter_sd[0, 2]), 2)


def settled(own: OwnCurve) -> bool:
    """Whether the fit came to rest."""
    return bool(_fit_once(own).converged[0])


def forecast(
    *, after_on: date | str, age_days: float, days: int, record: Plain, prior: Plain, residual: Plain
) -> tuple[ForecastDay, ...]:
    """What weighings on the days to come should bring, with the 90 % interval of a weighing.

    Parameters
    ----------
    after_on, age_days
        A day, and the age on it at the hour of the last weighing; the forecast begins the day after.
    days
        How many days it holds.
    """
    first = date.fromisoformat(after_on) if isinstance(after_on, str) else after_on
    ahead = predict(_fit(record, prior, residual), [age_days + n for n in range(1, days + 1)])
    low, high = ahead.interval_g(0.90)
    return tuple(
        ForecastDay(
            on=first + timedelta(days=n + 1),
            expected_g=shown_g(float(ahead.mass_g[0, n])),
            low_g=shown_g(float(low[0, n])),
            high_g=shown_g(float(high[0, n])),
        )
        for n in range(days)
    )


def conditional_expected_g(*, place: int, record: Plain, prior: Plain, residual: Plain) -> float:
    """Weight that the weighings before one led to expect of it, as a scale shows it.

    Parameters
    ----------
    place
        Its place in ``record``, from 0.
    """
    return shown_g(float(_expected(record, prior, residual).mass_g[0, place]))


def conditional_z(*, place: int, record: Plain, prior: Plain, residual: Plain) -> float:
    """Standard score of a weighing among what those before it led to expect, to 0.01."""
    expected = _expected(record, prior, residual)
    return round(float(expected.z(np.asarray(record["mass_g"]))[0, place]), 2)


def expected_of_each(own: OwnCurve) -> Prediction:
    """What each weighing of a bird was expected to be by those before it, the first by its species; (1, m)."""
    return _expected_once(own)


def shown_g(mass_g: float) -> float:
    """A mass as a scale shows it."""
    return round(mass_g, 2 if abs(mass_g) < 10 else 1)


def _fit(record: Plain, prior: Plain, residual: Plain) -> FitResult:
    return _fit_once(_read(record, prior, residual))


def _expected(record: Plain, prior: Plain, residual: Plain) -> Prediction:
    return _expected_once(_read(record, prior, residual))


def _read(record: Plain, prior: Plain, residual: Plain) -> OwnCurve:
    parameters = {name: value for name, value in residual.items() if name != "model"}
    model: ResidualModel = getattr(weighing_errors, residual["model"])(**parameters)
    return OwnCurve(record=msgspec.convert(record, Weights), prior=msgspec.convert(prior, Prior), residual=model)


@lru_cache(maxsize=8)
def _fit_once(own: OwnCurve) -> FitResult:
    record = own.record
    return fit_individuals([record.age_days], [record.mass_g], [record.weight], own.prior.for_fit(), own.residual)


@lru_cache(maxsize=8)
def _expected_once(own: OwnCurve) -> Prediction:
    record, prior = own.record, own.prior.for_fit()
    age, mass, weight = (np.asarray(part) for part in (record.age_days, record.mass_g, record.weight))
    if len(age) <= EARLIER_AT_MOST:
        return one_step_ahead([age], [mass], [weight], prior, own.residual).expected
    rows = [_earlier(age, weight, place) for place in range(len(age))]
    fit = fit_individuals(
        _padded(age, rows, 0.0), _padded(mass, rows, 1.0), _padded(weight, rows, 0.0), prior, own.residual
    )
    ahead = predict(fit, age[:, None])
    return Prediction(ahead.log_mass.T, ahead.log_mass_sd.T)


def _earlier(age: FloatArray, weight: FloatArray, place: int) -> NDArray[np.int64]:
    """Places of the weighings that one is judged by."""
    before = np.flatnonzero((age < age[place]) & (weight > 0.0))
    if len(before) <= EARLIER_AT_MOST:
        return before
    half = EARLIER_AT_MOST // 2
    spread = np.linspace(0, len(before) - half - 1, half).round().astype(np.int64)
    return np.asarray(np.concatenate([before[spread], before[-half:]]))


def _padded(values: FloatArray, rows: list[NDArray[np.int64]], fill: float) -> FloatArray:
    table = np.full((len(rows), EARLIER_AT_MOST), fill)
    for row, places in zip(table, rows, strict=True):
        row[: len(places)] = values[places]
    return table
