"""Reads of the room: alerts, and what birds and sites are looked at by."""

from .alerts import alerts, alerts_not_resolved, alerts_opened_between, closed_by_hand, standing
from .deaths import deaths, sites_quiet
from .growth import GrowthSeen, growth_seen
from .recorded import record_looks

__all__ = [
    "GrowthSeen",
    "alerts",
    "alerts_not_resolved",
    "alerts_opened_between",
    "closed_by_hand",
    "deaths",
    "growth_seen",
    "record_looks",
    "sites_quiet",
    "standing",
]
