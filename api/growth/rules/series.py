"""A bird's weighings on its scale of age: in order of time, each with how far it may be trusted."""

import math
from collections.abc import Sequence
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from api.birds.rules.words import Context
from api.growth.rules.asked import GrowthAsked, Weighing
from api.growth.rules.slips import meant_g, slips
from species.domain.errors import DomainError
from species.domain.record import Record

#: A hatching day stands for its noon, evenly spread half a day either way: standard deviation 1/sqrt(12) d.
HATCHING_DAY_SD_DAYS = 1 / math.sqrt(12)
#: Share of a morning weighing's information that another one carries: a full crop is up to a tenth of the bird
#: (APN), several times the day's scatter. From memory, the cautious side.
WEIGHT_OF = {
    Context.BEFORE_FIRST_FEED: 1.0,
    Context.BEFORE_FEED: 0.7,
    Context.UNKNOWN: 0.5,
    Context.AFTER_FEED: 0.25,
}


class Placed(Record, frozen=True, kw_only=True):
    """A weighing with its age, its weight in the fit, and what is held of it."""

    weighing: Weighing
    age_days: float
    weight: float
    state: str
    meant_g: float | None = None


def hatched_at(asked: GrowthAsked) -> tuple[datetime, float]:
    """Instant of hatching, and the standard deviation of the age that follows from it, in days."""
    if asked.hatched_at is not None:
        return asked.hatched_at, 0.0
    zone = ZoneInfo(asked.time_zone)
    if asked.hatched_on is not None:
        return datetime.combine(asked.hatched_on, time(12), tzinfo=zone), HATCHING_DAY_SD_DAYS
    if asked.age_estimate is not None:
        told = asked.age_estimate
        noon = datetime.combine(told.on, time(12), tzinfo=zone)
        return noon - timedelta(days=told.days), told.sd_days
    raise DomainError(
        "There is nothing to tell the age from.",
        field="/hatched_on",
        code="age_missing",
        remedy="Give hatched_on, hatched_at or age_estimate.",
    )


def ages_days(asked: GrowthAsked) -> tuple[float, ...]:
    """Age at each weighing, in the order of the request.

    A weighing in the hours before the noon of a hatching day is of age 0.

    Raises
    ------
    DomainError
        Of a weighing from before the bird hatched.
    """
    hatching, _ = hatched_at(asked)
    ages = []
    for weighing in asked.weighings:
        age = (weighing.at - hatching) / timedelta(days=1)
        if before_hatching(asked, weighing.at):
            raise DomainError(
                "By this the bird was weighed before it hatched.",
                field=f"/weighings/{weighing.index}/at",
                code="weighed_before_hatching",
                remedy="Check the date of the weighing, and that of hatching.",
            )
        ages.append(max(age, 0.0))
    return tuple(ages)


def before_hatching(asked: GrowthAsked, at: datetime) -> bool:
    """Whether an instant lies before the bird hatched, beyond what is not known of its age."""
    hatching, sd_days = hatched_at(asked)
    slack_days = 0.5 if asked.hatched_on is not None else 2 * sd_days
    return hatching - at > timedelta(days=slack_days)


def placed(
    weighings: Sequence[Weighing],
    ages: Sequence[float],
    expected_g: Sequence[float],
    age_log_sd: Sequence[float],
    residual_log_sd: float,
) -> tuple[Placed, ...]:
    """Put weighings in order, weigh them, and question those that are slips; what was answered stands.

    Parameters
    ----------
    weighings, ages, expected_g
        In one order: the weighings, their ages, and the species' middle mass at those ages.
    age_log_sd
        What the uncertainty of the age is on ln of that middle mass.
    residual_log_sd
        Scatter of one morning weighing on ln mass, beside which a coarse scale adds its own.

    Returns
    -------
    tuple of Placed
        By age, then by mass, so that the order of the request does not matter.
    """
    order = sorted(range(len(weighings)), key=lambda n: (ages[n], weighings[n].mass_g, weighings[n].index))
    masses, expected = [weighings[n].mass_g for n in order], [expected_g[n] for n in order]
    questioned = np.array([weighings[n].questioned for n in order], dtype=np.bool_)
    heard = [n for n, out in zip(order, questioned, strict=True) if not out]
    questioned[~questioned] = slips(
        [ages[n] for n in heard],
        [weighings[n].mass_g for n in heard],
        [expected_g[n] for n in heard],
        [age_log_sd[n] for n in heard],
        [weighings[n].confirmed for n in heard],
    )
    ratios = np.log(np.asarray(masses) / np.asarray(expected))
    usual = math.exp(float(np.median(ratios[~questioned]))) if not questioned.all() else 1.0
    return tuple(
        Placed(
            weighing=weighings[n],
            age_days=ages[n],
            weight=0.0 if questioned[place] else _weight(weighings[n], residual_log_sd),
            state="questioned" if questioned[place] else "accepted",
            meant_g=meant_g(mass_g=weighings[n].mass_g, expected_g=expected_g[n] * usual)
            if questioned[place]
            else None,
        )
        for place, n in enumerate(order)
    )


def _weight(weighing: Weighing, residual_log_sd: float) -> float:
    context = WEIGHT_OF[weighing.context]
    if weighing.scale_step_g is None:
        return context
    rounding = (weighing.scale_step_g / weighing.mass_g) ** 2 / 12
    variance = residual_log_sd**2
    return variance / (variance / context + rounding)
