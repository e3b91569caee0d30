"""Whether what was told of a bird can be true together. A slip of the pen is named, never worked around."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from api.networks.rules.feeding_days import check_feeding_day
from api.plans.rules.ageing import reference_instant
from api.plans.rules.request import PlanRequest
from species.domain.errors import DomainError

#: Hatching days, hours and ages are told to the day: further apart than this they speak of two birds.
AGES_AGREE_WITHIN_DAYS = 1.0
#: Nothing is hand-fed for longer: a condor is independent within two years. Common practice, no source.
OLDEST_DAYS = 1000
#: The carer's clock may be a little ahead of ours.
CLOCK_SKEW = timedelta(minutes=5)


def refuse_contradictions(request: PlanRequest, *, now: datetime) -> None:
    """Refuse a bird that has not hatched, is fed in the future, or is two ages at once.

    Parameters
    ----------
    request
        What was told.
    now
        The present instant.

    Raises
    ------
    DomainError
        Of the first contradiction, with the field to look at and what would do.
    """
    _ages(request, now)
    _last_feed(request, now)
    _feeding_day(request)
    _milestones(request)
    _masses(request)


def _ages(request: PlanRequest, now: datetime) -> None:
    today = now.astimezone(ZoneInfo(request.time_zone)).date()
    ages: dict[str, float] = {}
    if request.age_days is not None:
        ages["/age_days"] = request.age_days
    if request.hatched_on is not None:
        ages["/hatched_on"] = float((request.on - request.hatched_on).days)
    if request.hatched_at is not None:
        elapsed = reference_instant(request, now) - request.hatched_at
        ages["/hatched_at"] = elapsed / timedelta(days=1)
    for field, days in ages.items():
        if days < 0:
            when = "today" if request.on == today else f"{request.on}, the day the plan is for"
            raise DomainError(
                f"By this the bird hatches after {when}.",
                field=field,
                code="hatched_in_the_future",
                remedy="Check the year and the time zone, or ask for a later day with `on`.",
            )
        if days > OLDEST_DAYS:
            raise DomainError(
                f"By this the bird is {days:.0f} days old on {request.on}; no bird is reared by hand beyond "
                f"{OLDEST_DAYS} days.",
                field=field,
                code="too_old",
                remedy="Check the year, or give the age in days since hatching.",
            )
    (first, days), *others = ages.items() or [("", 0.0)]
    for field, other in others:
        if abs(other - days) > AGES_AGREE_WITHIN_DAYS:
            raise DomainError(
                f"By {field[1:]} the bird is {other:.3g} days old on {request.on}, by {first[1:]} {days:.3g}.",
                field=field,
                code="ages_disagree",
                remedy="Give one of the two, or make them agree within a day.",
            )


def _last_feed(request: PlanRequest, now: datetime) -> None:
    last = request.condition.last_feed
    if last is None:
        return
    zone = ZoneInfo(request.time_zone)
    same_day = now.astimezone(zone).date() == request.on
    latest = now + CLOCK_SKEW if same_day else _end_of(request.on, zone)
    if last.at > latest:
        raise DomainError(
            f"The last feed, {last.at.isoformat()}, has not happened yet.",
            field="/condition/last_feed/at",
            code="in_the_future",
            remedy="Give the time at which the bird was fed last, with its offset.",
        )
    if request.age_days is None:
        return
    hatched = reference_instant(request, now) - timedelta(days=request.age_days + AGES_AGREE_WITHIN_DAYS)
    if last.at < hatched:
        raise DomainError(
            f"The last feed, {last.at.isoformat()}, lies before the bird hatched.",
            field="/condition/last_feed/at",
            code="before_hatching",
            remedy="Check its date, or the age.",
        )


def _end_of(on: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(on + timedelta(days=1), datetime.min.time(), tzinfo=zone)


def _feeding_day(request: PlanRequest) -> None:
    day = request.feeding_day
    if day is not None:
        check_feeding_day(first=day.first, last=day.last)


def _milestones(request: PlanRequest) -> None:
    seen = {milestone.key for milestone in request.milestones if milestone.seen}
    for index, milestone in enumerate(request.milestones):
        if not milestone.seen and milestone.key in seen:
            raise DomainError(
                f"{milestone.key.value} is told as seen and as not seen.",
                field=f"/milestones/{index}",
                code="milestones_disagree",
                remedy="Give each milestone once.",
            )


def _masses(request: PlanRequest) -> None:
    if request.peak_mass_g is not None and request.mass_g is not None and request.peak_mass_g < request.mass_g:
        raise DomainError(
            f"The bird weighs {request.mass_g:g} g, more than the peak told, {request.peak_mass_g:g} g.",
            field="/peak_mass_g",
            code="masses_disagree",
            remedy="Give the highest mass it has had so far, or leave it out.",
        )
