"""Which kinds of records a token sees in the feed of changes: those that it may read at their own addresses."""

from collections.abc import Iterable

#: A kind that stands nowhere here is seen by nobody.
KINDS_OF_SCOPE: dict[str, frozenset[str]] = {
    "sites:read": frozenset({"site"}),
    "kitchen:read": frozenset({"formula", "kitchen"}),
    "birds:read": frozenset({"bird", "weighing", "feed", "crop_check", "milestone"}),
    "alerts:read": frozenset({"alert"}),
}


def kinds_seen(scopes: Iterable[str]) -> frozenset[str]:
    """The kinds that a token of these scopes sees."""
    return frozenset().union(*(KINDS_OF_SCOPE.get(scope, frozenset()) for scope in scopes))
