"""The hours in which birds are fed."""

from datetime import time

from species.domain.errors import DomainError


def check_feeding_day(*, first: time, last: time) -> None:
    """Refuse a feeding day without length; a ``last`` earlier than ``first`` is on the next day.

    Raises
    ------
    DomainError
        Where both stand at the same time.
    """
    if first == last:
        raise DomainError(
            "First and last feed of the day stand at the same time.",
            field="/feeding_day/last",
            code="no_feeding_day",
            remedy="Give a later time; one earlier than the first means the next day.",
        )
