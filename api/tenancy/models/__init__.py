"""Rows of tenancy, one concept a file."""

from .audit import AuditEntry
from .network import Network
from .oauth import AccessToken, ApiClient, Grant, IDToken, RefreshToken
from .record import NetworkRecord, plain
from .rows import NetworkManager, NetworkRow
from .user import User

__all__ = [
    "AccessToken",
    "ApiClient",
    "AuditEntry",
    "Grant",
    "IDToken",
    "Network",
    "NetworkManager",
    "NetworkRecord",
    "NetworkRow",
    "RefreshToken",
    "User",
    "plain",
]
