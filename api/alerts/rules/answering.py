"""What people say to an alert: how long it may be put off, and when one that they closed comes back."""

from datetime import datetime, timedelta

from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Severity
from species.domain.errors import DomainError

#: Nobody puts an alert off for longer than its severity leaves; a note, until the next week.
SNOOZED_AT_MOST_H = {
    Severity.URGENT: URGENT_WITHIN_H,
    Severity.ACT_TODAY: ACT_TODAY_WITHIN_H,
    Severity.NOTE: 7 * 24.0,
}
#: Two good mornings close an alert of a weight by themselves: what is back within three days had not gone. Common
#: practice, no source.
COMES_BACK_WITHIN_H = 72.0


def snoozed_until(
    *, severity: Severity, now: datetime, until: datetime | None = None, hours: float | None = None
) -> datetime:
    """Until when an alert is put off.

    Parameters
    ----------
    severity
        Of the alert.
    now
        The present instant, aware.
    until, hours
        One of them: an aware instant, or hours from now.

    Raises
    ------
    DomainError
        Of a time that has passed, or one later than the severity leaves.
    """
    field = "/until" if until is not None else "/hours"
    at_most_h = SNOOZED_AT_MOST_H[severity]
    asked_h = (until - now) / timedelta(hours=1) if until is not None else hours
    if asked_h is None or asked_h <= 0:
        raise DomainError(
            "By this the alert would not be put off at all.",
            field=field,
            code="snoozed_into_the_past",
            remedy=f"Give a time after now, at most {at_most_h:g} h ahead.",
        )
    if asked_h > at_most_h:
        latest = now + timedelta(hours=at_most_h)
        raise DomainError(
            f"An alert of severity {severity} is put off for {at_most_h:g} h at most.",
            field=field,
            code="snoozed_too_long",
            remedy=f"Give at most {at_most_h:g} h, until {latest:%Y-%m-%dT%H:%M:%SZ}, or acknowledge it.",
        )
    return until if until is not None else now + timedelta(hours=asked_h)


def comes_back(*, resolved_at: datetime, found_at: datetime) -> bool:
    """Whether what was found after an alert had been closed by hand is that alert again, and not a new one."""
    return found_at - resolved_at <= timedelta(hours=COMES_BACK_WITHIN_H)
