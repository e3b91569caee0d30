"""Writes of networks: founding one, its sites, joining, leaving, and the tokens of its members."""

from api.networks.services.members import (
    member_add,
    member_change,
    member_remove,
    members_hold,
    refuse_without_coordinator,
)
from api.networks.services.networks import network_change, network_create
from api.networks.services.sites import site_change, site_create, site_remove
from api.networks.services.tokens import PERSONAL_TOKEN_LIFETIME_D, token_issue

__all__ = [
    "PERSONAL_TOKEN_LIFETIME_D",
    "member_add",
    "member_change",
    "member_remove",
    "members_hold",
    "network_change",
    "network_create",
    "refuse_without_coordinator",
    "site_change",
    "site_create",
    "site_remove",
    "token_issue",
]
