"""A bird's last mornings, each judged with what was known by then: whether a finding is new, stays or has gone."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

import msgspec

from api.birds.rules.words import Context
from api.catalog.rules.known import Known
from api.growth.rules.asked import GrowthAsked
from api.growth.rules.assessment import Assessment, assess
from api.growth.rules.mornings import one_a_day
from species.domain.record import Record

#: Two mornings tell that a finding has gone (practice, rule 13: a gain is believed when it holds), one more that it
#: was there.
MORNINGS = 3


class Morning(Record, frozen=True, kw_only=True):
    """A day's assessment from the record up to that day's last weighing.

    Attributes
    ----------
    at
        The weighing that speaks for the day: the emptiest that is believed. So a day's later weighings, fed, are no
        new morning.
    judged
        False where the day has no weighing that is believed: then the assessment speaks of an earlier day, and ``at``
        is the last weighing.
    """

    on: date
    at: datetime
    judged: bool
    assessment: Assessment


class _Believed(Record, frozen=True, kw_only=True):
    """A weighing of one day, as the rules of mornings want it."""

    on: date
    at: datetime
    age_days: float
    mass_g: float
    context: Context


def last_mornings(known: Known, asked: GrowthAsked, *, mornings: int = MORNINGS) -> tuple[Morning, ...]:
    """Judge a bird as of each of its last days with a believed weighing, oldest first.

    Parameters
    ----------
    known, asked
        As for :func:`api.growth.rules.assessment.assess`, which is called once for each morning.
    mornings
        How many days. A later last day whose weighings are all asked about is added to them.

    Returns
    -------
    tuple of Morning
        The last is of the whole record. It does not depend on the order in which the weighings were told.

    Raises
    ------
    DomainError
        As :func:`api.growth.rules.assessment.assess`.
    """
    whole = assess(known, asked)
    zone = ZoneInfo(asked.time_zone)
    believed = {point.at.astimezone(zone).date() for point in whole.points if point.state == "accepted"}
    last = max(weighing.at for weighing in asked.weighings).astimezone(zone).date()
    earlier = sorted(believed - {last}, reverse=True)[: mornings - (last in believed)]
    return tuple(_morning(known, asked, day, zone, whole if day == last else None) for day in [*earlier[::-1], last])


def _morning(known: Known, asked: GrowthAsked, day: date, zone: ZoneInfo, whole: Assessment | None) -> Morning:
    until = tuple(weighing for weighing in asked.weighings if weighing.at.astimezone(zone).date() <= day)
    assessment = whole or assess(known, msgspec.structs.replace(asked, weighings=until, on=None))
    of_the_day = [point for point in assessment.points if point.at.astimezone(zone).date() == day]
    context = {weighing.index: weighing.context for weighing in until}
    believed = one_a_day(
        _Believed(on=day, at=p.at, age_days=p.age_days, mass_g=p.mass_g, context=context[p.index])
        for p in of_the_day
        if p.state == "accepted"
    )
    return Morning(
        on=day,
        at=believed[0].at if believed else max(point.at for point in of_the_day),
        judged=bool(believed),
        assessment=assessment,
    )
