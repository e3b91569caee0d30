"""Who may do what within a network, beside the scopes of the token."""

from enum import StrEnum
from uuid import UUID

from species.domain.record import Record


class Part(StrEnum):
    """What records are about, as far as roles are told apart."""

    SITES = "sites"  # sites and who feeds there, kitchens
    FORMULAS = "formulas"
    BIRDS = "birds"  # birds and all that is recorded of them
    ALERTS = "alerts"
    REPORTS = "reports"
    MEMBERS = "members"


#: What each role may write. Everybody reads; a carer reads and writes at the own sites only.
WRITES: dict[str, frozenset[Part]] = {
    "coordinator": frozenset(Part),
    "vet": frozenset({Part.BIRDS, Part.ALERTS, Part.FORMULAS}),
    "carer": frozenset({Part.BIRDS, Part.ALERTS}),
    "observer": frozenset(),
}


class Caller(Record, frozen=True, kw_only=True):
    """Who asks: a member with a role, or an app on its own, which its scopes alone bound.

    ``site_ids`` are the public ids of the sites that the caller sees; none means every site.
    """

    role: str | None
    site_ids: frozenset[UUID] | None
    user_id: UUID | None = None
    client_id: int | None = None

    def may_write(self, part: Part) -> bool:
        """Whether the role lets the caller write here."""
        return self.role is None or part in WRITES[self.role]
