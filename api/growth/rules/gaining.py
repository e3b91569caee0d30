"""Whether a bird gains, and how long a weight speaks for it."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from api.birds.rules.words import Context
from api.growth.rules.assessment import Assessment
from api.growth.rules.findings import GROWING_FRACTION_PER_DAY
from api.growth.rules.mornings import day_before, food_g, one_a_day, without_gain
from api.growth.rules.record import WeighingKept
from species.biology import growth_forms
from species.domain.growth_curve import GrowthCurve
from species.domain.record import Record

#: A chick that grows is weighed every morning, a round that is two hours late included; one that hardly grows any more
#: is weighed every other day at least (HRB p.599: daily). The two hours and the days are common practice, no source.
GROWING_WEIGHED_WITHIN = timedelta(hours=26)
GROWN_WEIGHED_WITHIN = timedelta(days=3)
#: What says of a bird that it does not gain, however far apart its weighings are.
NOT_GAINING = frozenset({"no_gain", "weight_loss", "weaning_loss"})


class DayWeight(Record, frozen=True, kw_only=True):
    """A believed weighing as the rules of mornings want it."""

    on: date
    at: datetime
    age_days: float
    mass_g: float
    context: Context


def is_growing(curve: GrowthCurve | None, age_days: float) -> bool:
    """Whether its kind still gains at this age; a bird of which no curve is known is taken to.

    Parameters
    ----------
    curve
        The species' growth curve.
    age_days
        Age, hatch day = 0.
    """
    if curve is None:
        return True
    parameters = (curve.asymptote_g.value, curve.rate_per_day.value, curve.inflection_days.value)
    mass_g = float(growth_forms.mass_g(curve.form.value, age_days, *parameters))
    gain_g = float(growth_forms.gain_g_per_day(curve.form.value, age_days, *parameters))
    return gain_g >= GROWING_FRACTION_PER_DAY * mass_g


def day_weights(believed: Sequence[WeighingKept], time_zone: str) -> tuple[DayWeight, ...]:
    """The weight of each day that tells most, in order of time; ages are counted from the first."""
    zone = ZoneInfo(time_zone)
    return one_a_day(
        DayWeight(
            on=one.at.astimezone(zone).date(),
            at=one.at,
            age_days=(one.at - believed[0].at) / timedelta(days=1),
            mass_g=one.mass_g,
            context=one.context,
        )
        for one in believed
    )


def stands_still(days: Sequence[DayWeight], assessment: Assessment | None, *, growing: bool) -> bool | None:
    """Whether the last weights brought no gain; null where they are too few, or too far apart, to tell.

    Parameters
    ----------
    days
        A weight a day, :func:`day_weights`.
    assessment
        Its findings count; null where there is no curve to assess it by.
    growing
        Of a bird that is growing, one morning without gain counts.
    """
    if assessment is not None and any(finding.code in NOT_GAINING for finding in assessment.findings):
        return True
    if day_before(days) is None:
        return None
    return growing and without_gain(days)[0] > 0


def own_peak_g(days: Sequence[DayWeight]) -> float | None:
    """The bird's own highest weight, less the food that the last weighing had not on board; never below the last."""
    if not days:
        return None
    last = days[-1]
    return max(last.mass_g, *(day.mass_g - food_g(day, last) for day in days))
