"""What people say to an alert. Each takes an alert whose row the caller holds, inside a unit of work."""

from datetime import datetime
from uuid import UUID

from api.alerts.models import Alert, AlertState, Resolution
from api.alerts.rules.answering import snoozed_until
from api.alerts.services.course import alert_changed, alert_end
from api.outbox.services import record_change, unit_of_work
from api.tenancy.models import User
from api.web import clock
from api.web.rules.cautions import Severity
from species.domain.errors import ConflictError


def alert_acknowledge(alert: Alert, *, user_id: UUID | None, note: str | None = None) -> None:
    """Say that somebody has seen it and is at it. Who said so first stands; a second time only its note is new.

    Raises
    ------
    ConflictError
        Of an alert that has ended.
    """
    _refuse_resolved(alert)
    told = {} if note is None else {"note": note}
    with unit_of_work():
        if alert.state == AlertState.OPEN:
            user = None if user_id is None else User.objects.get(pk=user_id)
            record_change(
                alert, state=AlertState.ACKNOWLEDGED, acknowledged_at=clock.now(), acknowledged_by_user=user, **told
            )
            alert_changed(alert, "alert.acknowledged")
        elif told and record_change(alert, **told):
            alert_changed(alert, None)


def alert_resolve(alert: Alert, *, note: str) -> None:
    """End it by hand, and say why. Said again in the same words, it changes nothing.

    Raises
    ------
    ConflictError
        Of an alert that has ended otherwise.
    """
    if alert.state == AlertState.RESOLVED and alert.resolution == Resolution.BY_HAND and alert.note == note:
        return
    _refuse_resolved(alert)
    with unit_of_work():
        alert_end(alert, Resolution.BY_HAND, now=clock.now(), note=note)


def alert_snooze(
    alert: Alert, *, until: datetime | None = None, hours: float | None = None, note: str | None = None
) -> None:
    """Put it off, for no longer than its severity leaves.

    Raises
    ------
    ConflictError
        Of an alert that has ended.
    DomainError
        Of a time that has passed, or one too late.
    """
    _refuse_resolved(alert)
    told = {} if note is None else {"note": note}
    if until is not None and until == alert.snoozed_until and alert.note == told.get("note", alert.note):
        return
    moment = snoozed_until(severity=Severity(alert.severity), now=clock.now(), until=until, hours=hours)
    with unit_of_work():
        if record_change(alert, snoozed_until=moment, **told):
            alert_changed(alert, "alert.snoozed")


def _refuse_resolved(alert: Alert) -> None:
    if alert.state == AlertState.RESOLVED:
        raise ConflictError(
            "This alert has ended.",
            code="alert_resolved",
            remedy="If its reason is back, weigh or look at the bird and record it: that opens an alert again.",
        )
