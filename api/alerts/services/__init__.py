"""Writes of the room: looks at birds and sites, and what people say to an alert."""

from .answers import alert_acknowledge, alert_resolve, alert_snooze
from .looks import bird_growth_look, bird_look, bird_outcome_look, bird_record_look, site_deaths_look, sites_look

__all__ = [
    "alert_acknowledge",
    "alert_resolve",
    "alert_snooze",
    "bird_growth_look",
    "bird_look",
    "bird_outcome_look",
    "bird_record_look",
    "site_deaths_look",
    "sites_look",
]
