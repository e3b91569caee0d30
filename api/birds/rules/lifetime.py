"""When something can have happened to a bird: after it hatched, before it left care, not tomorrow."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from species.domain.errors import ConflictError, DomainError
from species.domain.record import Record

#: A carer's clock may be a little ahead of ours.
CLOCK_SKEW = timedelta(minutes=5)
#: A hatching day stands for its noon, half a day either way.
HALF_A_DAY = timedelta(days=0.5)
#: How long a finder may have kept a bird, and weighed it, before it came into care; beyond, the year was mistyped.
#: Common practice, no source.
WITH_THE_FINDER = timedelta(days=90)


class AgeEstimate(Record, frozen=True, kw_only=True):
    """An age on a day, with its standard deviation."""

    on: date
    days: float
    sd_days: float


class Lifetime(Record, frozen=True, kw_only=True):
    """What bounds the records of a bird; at most one of the three ways to tell its hatching stands.

    Days are those of ``time_zone``, where the bird is.
    """

    time_zone: str
    intake_at: datetime
    hatched_on: date | None = None
    hatched_at: datetime | None = None
    age_estimate: AgeEstimate | None = None
    left_at: datetime | None = None


def hatched_after(bird: Lifetime) -> datetime | None:
    """The earliest instant at which a bird can have hatched; none where nothing tells its age.

    An estimated age is allowed two standard deviations, as growth assessments allow it.
    """
    zone = ZoneInfo(bird.time_zone)
    if bird.hatched_at is not None:
        return bird.hatched_at
    if bird.hatched_on is not None:
        return datetime.combine(bird.hatched_on, time(12), tzinfo=zone) - HALF_A_DAY
    if bird.age_estimate is not None:
        told = bird.age_estimate
        return datetime.combine(told.on, time(12), tzinfo=zone) - timedelta(days=told.days + 2 * told.sd_days)
    return None


def first_possible(bird: Lifetime) -> datetime:
    """The earliest instant that a record of a bird can speak of."""
    return hatched_after(bird) or bird.intake_at - WITH_THE_FINDER


def refuse_unborn(bird: Lifetime, *, now: datetime) -> None:
    """Refuse a bird that has yet to hatch, or has yet to come.

    Raises
    ------
    DomainError
        ``hatched_in_the_future`` or ``in_the_future``, at the field to be mended.
    """
    today = now.astimezone(ZoneInfo(bird.time_zone)).date()
    if bird.hatched_on is not None and bird.hatched_on > today:
        raise _unborn("/hatched_on", "Check the year and the month.")
    if bird.hatched_at is not None and bird.hatched_at > now + CLOCK_SKEW:
        raise _unborn("/hatched_at", "Check the date and the offset.")
    if bird.age_estimate is not None and bird.age_estimate.on > today:
        raise _not_yet("The day of the estimate", "/age_estimate/on")
    refuse_future(bird.intake_at, what="The intake", field="/intake/at", now=now)
    if bird.left_at is not None and bird.intake_at > bird.left_at:
        raise DomainError(
            "By this the bird came after it left care.",
            field="/intake/at",
            code="after_outcome",
            remedy="Give an earlier time, or correct the outcome first.",
        )


def refuse_future(at: datetime, *, what: str, field: str, now: datetime) -> None:
    """Refuse what has not happened yet, a few minutes of a fast clock apart."""
    if at > now + CLOCK_SKEW:
        raise _not_yet(what, field)


def refuse_before_intake(at: datetime, *, bird: Lifetime) -> None:
    """Refuse an outcome from before the bird came, a few minutes apart.

    Raises
    ------
    DomainError
        ``before_intake``.
    """
    if at < bird.intake_at - CLOCK_SKEW:
        raise DomainError(
            "By this the bird left care before it came.",
            field="/at",
            code="before_intake",
            remedy="Check the date, or correct the bird's intake first.",
        )


def refuse_instant(at: datetime, *, bird: Lifetime, what: str, field: str, now: datetime) -> None:
    """Refuse an instant at which nothing can have been seen of a bird.

    Parameters
    ----------
    what
        What the instant is of, as a sentence begins: ``The weighing``.
    field
        Pointer of the instant.

    Raises
    ------
    DomainError
        ``in_the_future``, ``before_hatching`` or ``long_before_intake``.
    ConflictError
        ``bird_left_care``: it lies after the bird's outcome.
    """
    refuse_future(at, what=what, field=field, now=now)
    if at < first_possible(bird):
        if hatched_after(bird) is not None:
            raise DomainError(
                f"{what} lies before the bird hatched.",
                field=field,
                code="before_hatching",
                remedy="Check its date, or correct the bird's hatching first.",
            )
        raise DomainError(
            f"{what} lies more than {WITH_THE_FINDER.days} days before the bird came into care.",
            field=field,
            code="long_before_intake",
            remedy="Check its date, or tell the bird's age first.",
        )
    if bird.left_at is not None and at > bird.left_at:
        raise ConflictError(
            f"{what} lies after the bird left care.",
            field=field,
            code="bird_left_care",
            remedy="Record what was before; if the bird is still here, correct its outcome first.",
        )


def refuse_records_outside(bird: Lifetime, *, first_at: datetime | None, last_at: datetime | None, field: str) -> None:
    """Refuse bounds of a life that leave records outside.

    Parameters
    ----------
    bird
        As it would be.
    first_at, last_at
        The earliest and latest instant that its records speak of.
    field
        Pointer of what is being corrected.

    Raises
    ------
    DomainError
        ``records_before`` or ``records_after``.
    """
    if first_at is not None and first_at < first_possible(bird):
        raise DomainError(
            f"The bird has a record of {first_at.isoformat()}; by this it would lie before its time.",
            field=field,
            code="records_before",
            remedy="Correct or remove that record first.",
        )
    if last_at is not None and bird.left_at is not None and last_at > bird.left_at:
        raise DomainError(
            f"The bird has a record of {last_at.isoformat()}; by this it would have left care before.",
            field=field,
            code="records_after",
            remedy="Give a later time, or correct or remove that record first.",
        )


def _unborn(field: str, remedy: str) -> DomainError:
    return DomainError(
        "By this the bird has not hatched yet.", field=field, code="hatched_in_the_future", remedy=remedy
    )


def _not_yet(what: str, field: str) -> DomainError:
    return DomainError(
        f"{what} lies in the future.",
        field=field,
        code="in_the_future",
        remedy="Check the date and the offset of the time.",
    )
