"""Alerts, with the birds, sites and people that stand in them."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from api.alerts.models import Alert, AlertState, Resolution
from api.alerts.rules.words import StateAsked
from api.birds.models import Bird
from api.networks.models import Site
from api.networks.rules.roles import Caller

NOT_RESOLVED = ~Q(state=AlertState.RESOLVED)
_JOINED = ("bird", "site", "acknowledged_by_user")


def alerts(  # noqa: PLR0913 - the filters of the list
    caller: Caller,
    *,
    state: str | None = None,
    severity: str | None = None,
    code: str | None = None,
    bird_id: UUID | None = None,
    site_id: UUID | None = None,
) -> QuerySet[Alert]:
    """The alerts that the caller sees.

    Parameters
    ----------
    state
        One of :class:`~api.alerts.rules.words.StateAsked`; in every state where it is missing.
    """
    found = Alert.objects.select_related(*_JOINED)
    if caller.site_ids is not None:
        found = found.filter(site__uid__in=caller.site_ids)
    if state == StateAsked.NOT_RESOLVED:
        found = found.filter(NOT_RESOLVED)
    elif state not in (None, StateAsked.ANY):
        found = found.filter(state=state)
    told = {"severity": severity, "code": code, "bird__uid": bird_id, "site__uid": site_id}
    return found.filter(**{name: value for name, value in told.items() if value is not None})


def alerts_not_resolved() -> QuerySet[Alert]:
    """Every alert of the network that has not ended, newest first."""
    return Alert.objects.select_related(*_JOINED).filter(NOT_RESOLVED)


def alerts_opened_between(start: datetime, end: datetime) -> QuerySet[Alert]:
    """Alerts opened from ``start`` on and before ``end``, ended or not, newest first."""
    return Alert.objects.select_related(*_JOINED).filter(opened_at__gte=start, opened_at__lt=end)


def standing(*, site: Site | None = None, bird: Bird | None = None, codes: Iterable[str] | None = None) -> list[Alert]:
    """The alerts of a bird, or of a site as such, that have not ended; their rows held until the transaction ends."""
    rows = _about(site, bird, codes).filter(NOT_RESOLVED).select_related(*_JOINED)
    return list(rows.select_for_update(of=("self",)).order_by("row"))


def closed_by_hand(*, site: Site | None = None, bird: Bird | None = None, codes: Iterable[str]) -> list[Alert]:
    """The last alert of each code of a bird, or of a site as such, where a person closed it; their rows held."""
    rows = _about(site, bird, codes).filter(state=AlertState.RESOLVED).select_related(*_JOINED)
    last: dict[str, Alert] = {}
    for alert in rows.select_for_update(of=("self",)).order_by("row"):
        last[alert.code] = alert
    return [alert for alert in last.values() if alert.resolution == Resolution.BY_HAND]


def _about(site: Site | None, bird: Bird | None, codes: Iterable[str] | None) -> QuerySet[Any]:
    of_what = {"bird": bird} if bird is not None else {"site": site, "bird__isnull": True}
    rows = Alert.objects.filter(**of_what)
    return rows if codes is None else rows.filter(code__in=list(codes))
