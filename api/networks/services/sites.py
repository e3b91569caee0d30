"""Sites: adding, changing and removing the places where birds are fed."""

from collections.abc import Sequence
from datetime import time
from typing import Any
from uuid import UUID

from api.networks.models import Membership, Site
from api.networks.rules.feeding_days import check_feeding_day
from api.outbox.services import changed, record_change, record_create, record_remove, unit_of_work
from api.tenancy.models import Network
from api.tenancy.scope import current_network_id
from species.domain.errors import DomainError


def site_create(
    *,
    name: str,
    kind: str,
    uid: UUID | None = None,
    time_zone: str | None = None,
    feeding_day: dict[str, time] | None = None,
    note: str = "",
    carer_ids: Sequence[UUID] = (),
) -> tuple[Site, bool]:
    """Add a site; True where it is new.

    Parameters
    ----------
    time_zone
        The network's where it is not told.
    carer_ids
        Members who see the site and its birds.

    Raises
    ------
    DomainError
        Of a member that the network does not have, or a feeding day without length.
    ConflictError
        Of an id that is taken.
    """
    with unit_of_work():
        site, new = record_create(
            Site,
            uid=uid,
            sent={
                "name": name,
                "kind": kind,
                "time_zone": time_zone,
                "feeding_day": feeding_day,
                "note": note,
                "carer_ids": sorted(map(str, carer_ids)),
            },
            name=name,
            kind=kind,
            time_zone=time_zone or Network.objects.get(pk=current_network_id()).time_zone,
            note=note,
            carers=_members(carer_ids),
            **_ends(feeding_day),
        )
        if new:
            changed(site, site_id=site.uid)
    return site, new


def site_change(site: Site, **fields: Any) -> None:
    """Correct a site, whose row the caller holds locked; fields as in :func:`site_create`."""
    if "feeding_day" in fields:
        fields |= _ends(fields.pop("feeding_day"))
    if "carer_ids" in fields:
        fields["carers"] = _members(fields.pop("carer_ids"))
    with unit_of_work():
        if record_change(site, **fields):
            changed(site, site_id=site.uid)


def site_remove(site: Site) -> None:
    """Take a site, whose row the caller holds locked, out of the list.

    Raises
    ------
    ConflictError
        While something stands on it, such as birds in care.
    """
    with unit_of_work():
        record_remove(site, site_id=site.uid)


def _ends(feeding_day: dict[str, time] | None) -> dict[str, Any]:
    if feeding_day is None:
        return {"feeding_day_first": None, "feeding_day_last": None}
    check_feeding_day(**feeding_day)
    return {f"feeding_day_{end}": feeding_day[end] for end in ("first", "last")}


def _members(ids: Sequence[UUID]) -> list[Membership]:
    found = Membership.objects.in_bulk(list(ids))
    for index, member_id in enumerate(ids):
        if member_id not in found:
            raise DomainError(
                "The network has no member of this id.",
                field=f"/carer_ids/{index}",
                code="unknown_member",
                remedy="GET /api/v1/members lists those it has.",
            )
    return [found[member_id] for member_id in sorted(found)]
