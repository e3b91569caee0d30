"""The course of an alert: opened, going on, escalated, ended, come back. Each step leaves a version and its event."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from api.alerts import selectors
from api.alerts.models import Alert, AlertState, Resolution
from api.alerts.rules.answering import comes_back
from api.alerts.rules.hysteresis import OpenAlert, Transition, transitions
from api.alerts.rules.looks import GRAVITY, Look
from api.birds.models import Bird
from api.networks.models import Site
from api.outbox.services import changed, record_change, record_create, unit_of_work
from api.web import clock
from api.web.rules.cautions import Severity

#: What is forgotten when an alert asks for somebody anew.
_UNSEEN: dict[str, Any] = {
    "state": AlertState.OPEN,
    "acknowledged_at": None,
    "acknowledged_by_user": None,
    "snoozed_until": None,
}


def alerts_follow(
    *,
    site: Site,
    bird: Bird | None = None,
    codes: frozenset[str],
    looks: Iterable[Look],
    covered_from: datetime | None = None,
) -> None:
    """Bring the alerts of a bird, or of a site as such, to what the looks say. The caller holds the bird's row, or
    the site's.

    Nothing is written where they say what they said before.

    Parameters
    ----------
    codes
        All that these looks could have found.
    looks, covered_from
        As for :func:`api.alerts.rules.hysteresis.transitions`.
    """
    looks, now = tuple(looks), clock.now()
    standing = {alert.code: alert for alert in selectors.standing(site=site, bird=bird, codes=codes)}
    closed = {alert.code: alert for alert in selectors.closed_by_hand(site=site, bird=bird, codes=codes)}
    with unit_of_work():
        for step in transitions(
            looks,
            [_as_open(alert) for alert in standing.values()],
            now=now,
            settled={code: alert.last_found_at for code, alert in closed.items() if _settled(alert, looks)},
            covered_from=covered_from,
        ):
            match step.step:
                case "open":
                    _open(step, site=site, bird=bird, closed=closed.get(step.code), now=now)
                case "keep":
                    _go_on(standing[step.code], step)
                case "escalate":
                    _escalate(standing[step.code], step, now)
                case "close":
                    ending = Resolution.WITHDRAWN if step.withdrawn else Resolution.PASSED
                    alert_end(standing[step.code], ending, now=now)


def alert_end(alert: Alert, resolution: Resolution, *, now: datetime, **told: Any) -> None:
    """End an alert, whose row the caller holds; inside a unit of work."""
    record_change(alert, state=AlertState.RESOLVED, resolved_at=now, resolution=resolution, snoozed_until=None, **told)
    alert_changed(alert, "alert.resolved")


def alert_changed(alert: Alert, event: str | None) -> None:
    """Note a change of an alert, with what a reader of its event needs to know whose it is."""
    about: dict[str, Any] = {"site_id": str(alert.site.uid), "code": alert.code, "severity": alert.severity}
    if alert.bird is not None:
        about["bird_id"] = str(alert.bird.uid)
    changed(alert, event=event, site_id=alert.site.uid, data=about)


def _as_open(alert: Alert) -> OpenAlert:
    return OpenAlert(code=alert.code, severity=Severity(alert.severity), last_found_at=alert.last_found_at)


def _settled(closed: Alert, looks: Iterable[Look]) -> bool:
    """Whether what a person closed is still what these looks found then: a correction may have made it graver."""
    then = [look.found(closed.code) for look in looks if look.at == closed.last_found_at]
    return not any(found and GRAVITY.index(found.severity) > GRAVITY.index(closed.severity) for found in then)


def _open(step: Transition, *, site: Site, bird: Bird | None, closed: Alert | None, now: datetime) -> None:
    told = _told(step)
    resolved_at = closed.resolved_at if closed is not None else None
    if closed is not None and resolved_at and comes_back(resolved_at=resolved_at, found_at=step.last_found_at):
        record_change(closed, **_UNSEEN, resolved_at=None, resolution=None, severity=step.severity, **told)
        alert_changed(closed, "alert.reopened")
        return
    alert, _ = record_create(Alert, site=site, bird=bird, code=step.code, severity=step.severity, opened_at=now, **told)
    alert_changed(alert, "alert.opened")


def _go_on(alert: Alert, step: Transition) -> None:
    """A milder finding moves the time it was found last; what the alert says stays that of its severity."""
    finding = step.finding
    if finding is None:  # it was found before the looks given, and they do not speak of it
        return
    milder = finding.severity is not step.severity
    told = {"last_found_at": step.last_found_at} if milder else _told(step, since=alert.since)
    if record_change(alert, **told):
        alert_changed(alert, None)


def _escalate(alert: Alert, step: Transition, now: datetime) -> None:
    record_change(alert, **_UNSEEN, severity=step.severity, escalated_at=now, **_told(step, since=alert.since))
    alert_changed(alert, "alert.escalated")


def _told(step: Transition, *, since: datetime | None = None) -> dict[str, Any]:
    """What an alert takes from a finding."""
    finding = step.finding
    if finding is None:
        raise ValueError(f"{step.code} opens or rises without a finding.")
    return {
        "since": min(finding.since, since) if since else finding.since,
        "last_found_at": step.last_found_at,
        "act_within_h": finding.act_within_h,
        "text": finding.text,
        "evidence": finding.evidence,
        "actions": list(finding.actions),
    }
