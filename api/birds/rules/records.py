"""What a record of a bird can say, and what a correction does to a weighing's state."""

from collections.abc import Collection
from datetime import datetime, timedelta
from decimal import Decimal

from api.birds.rules.words import OutcomeKind, WeighingState
from species.domain.errors import DomainError

#: Small feeds of one day may be told as one; more is not one record's matter.
LONGEST_RUN = timedelta(days=1)
#: Birds that went free, or to others that will ring and weigh them on the way.
SET_FREE = frozenset({OutcomeKind.RELEASED, OutcomeKind.RETURNED_TO_PARENTS, OutcomeKind.FOSTERED})


def refuse_odd_feed(
    *,
    at: datetime,
    until: datetime | None,
    count: int,
    food: str | None,
    volume_ml: Decimal | None,
    mass_g: Decimal | None,
) -> None:
    """Refuse a feed that tells nothing, or a run of feeds without its end.

    Raises
    ------
    DomainError
        ``nothing_given``, ``until_missing``, ``until_before_at`` or ``run_too_long``.
    """
    if food is None and volume_ml is None and mass_g is None:
        raise DomainError(
            "The record does not say what was given.",
            field="/volume_ml",
            code="nothing_given",
            remedy="Give volume_ml, mass_g or food; 0 where the bird took nothing.",
        )
    if until is None:
        if count > 1:
            raise DomainError(
                f"{count} feeds are a run, and a run has an end.",
                field="/until",
                code="until_missing",
                remedy="Give until, the time of the last of them.",
            )
        return
    if until < at:
        raise DomainError(
            "The last feed of the run lies before the first.",
            field="/until",
            code="until_before_at",
            remedy="Let at be the first and until the last of them.",
        )
    if until - at > LONGEST_RUN:
        raise DomainError(
            f"The run lasts longer than {LONGEST_RUN / timedelta(hours=1):g} hours.",
            field="/until",
            code="run_too_long",
            remedy="Check the dates; record each day by itself.",
        )


def refuse_odd_release(kind: str, *, released: bool) -> None:
    """Refuse what was done at a release of a bird that was not set free.

    Raises
    ------
    DomainError
        ``not_released``.
    """
    if released and kind not in SET_FREE:
        raise DomainError(
            f"A release is told of a bird whose outcome is {kind}.",
            field="/release",
            code="not_released",
            remedy=f"Leave release out, or give one of {', '.join(sorted(SET_FREE))} as kind.",
        )


def state_after_correction(state: str, *, corrected: Collection[str], answer: str | None) -> WeighingState:
    """The state of a weighing once it is corrected.

    Parameters
    ----------
    state
        Its state before.
    corrected
        Names of the values that were corrected, such as ``mass_g``.
    answer
        ``confirmed`` or ``rejected``, where somebody looked and says so.

    Returns
    -------
    WeighingState
        The answer where there is one. Another mass, or another bird's, is a new weight: accepted, and judged anew; so
        is one that was asked about and has another time now.
    """
    if answer is not None:
        return WeighingState(answer)
    another = {"mass_g", "bird"} if state != WeighingState.QUESTIONED else {"mass_g", "bird", "at"}
    return WeighingState.ACCEPTED if another & set(corrected) else WeighingState(state)


def refuse_later(earlier: datetime, later: datetime, *, what: str, field: str) -> None:
    """Refuse what is told to have been before a record, and lies after it.

    Raises
    ------
    DomainError
        ``later_than_record``.
    """
    if earlier > later:
        raise DomainError(
            f"{what} lies after the record that tells of it.",
            field=field,
            code="later_than_record",
            remedy="Check both times and their offsets.",
        )
