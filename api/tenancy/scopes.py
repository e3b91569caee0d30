"""What a credential may do: one scope for a room and a verb."""

from typing import Any

from oauth2_provider.scopes import BaseScopes

SCOPES = {
    "birds:read": "See birds and what was recorded of them",
    "birds:write": "Record birds, weighings, feeds and checks",
    "plans:read": "See feeding plans and growth of stored birds",
    "alerts:read": "See alerts",
    "alerts:write": "Acknowledge, snooze and resolve alerts",
    "reports:read": "See the daily reports",
    "sites:read": "See the network's sites",
    "sites:write": "Add sites and change them",
    "kitchen:read": "See the network's formulas and the kitchens of its sites",
    "kitchen:write": "Change formulas and kitchens",
    "changes:read": "Follow the feed of changes, of whatever else the token may see",
    "members:read": "See who belongs to the network",
    "members:write": "Change the roles of members, and who gets the daily report",
}


class ClientScopes(BaseScopes):
    """The library's question "which scopes has this client?": those of its row that exist."""

    def get_all_scopes(self) -> dict[str, str]:
        return SCOPES

    def get_available_scopes(
        self, application: Any = None, request: Any = None, *args: Any, **kwargs: Any
    ) -> list[str]:
        if application is None:
            return list(SCOPES)
        return [scope for scope in application.allowed_scopes.split() if scope in SCOPES]

    def get_default_scopes(self, application: Any = None, *args: Any, **kwargs: Any) -> list[str]:
        return self.get_available_scopes(application)
