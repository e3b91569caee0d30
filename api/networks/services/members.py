"""Joining a network, changing in it, leaving it."""

from collections.abc import Collection

from django.db import transaction

from api.networks.models import Membership, Role, Site
from api.networks.services.sites import site_change
from api.outbox.services import By, unit_of_work
from api.tenancy.models import AccessToken, ApiClient, Grant, Network, RefreshToken, User
from api.tenancy.scope import current_network_id, network_scope
from api.tenancy.services import audit_record
from species.domain.errors import ConflictError


@transaction.atomic
def member_add(
    *, network: Network, user: User, role: str, wants_report: bool = True, actor: User | None = None
) -> Membership:
    """Take a person into a network; raises ``ValidationError`` on a second membership or an unknown role."""
    with network_scope(network):
        member = Membership(user=user, role=role, wants_report=wants_report)
        member.full_clean()
        member.save(force_insert=True)
        audit_record(action="member.added", subject=member, actor=actor, data={"user_id": str(user.pk), "role": role})
    return member


def members_hold() -> None:
    """Hold the membership of the network in scope until the transaction ends, before any member's row is locked.

    Of two coordinators who step down at once, the second then sees that the first has.
    """
    Network.objects.select_for_update(no_key=True).get(pk=current_network_id())


@transaction.atomic
def member_change(
    *,
    member: Membership,
    role: str | None = None,
    wants_report: bool | None = None,
    actor: User | None = None,
    client: ApiClient | None = None,
) -> Membership:
    """Give a member another role, or say whether the daily report is sent to them; what is None stays.

    Raises
    ------
    ConflictError
        ``last_coordinator``: nobody would be left to answer for the network.
    ValidationError
        Of an unknown role.
    """
    told = {"role": role, "wants_report": wants_report}
    with network_scope(member.network_id):
        members_hold()
        stored = Membership.objects.get(pk=member.pk)
        other = {name: value for name, value in told.items() if value not in (None, getattr(stored, name))}
        if not other:
            return member
        if "role" in other:
            refuse_without_coordinator([stored])
        for name, value in other.items():
            setattr(member, name, value)
        member.version = stored.version + 1
        member.full_clean()
        member.save(update_fields=[*other, "version"])
        audit_record(action="member.changed", subject=member, actor=actor, client=client, data=other)
    return member


@transaction.atomic
def member_remove(*, member: Membership, actor: User | None = None) -> None:
    """End a membership and everything that was granted through it in this network.

    Raises
    ------
    ConflictError
        ``last_coordinator``: nobody would be left to answer for the network.
    """
    with network_scope(member.network_id), unit_of_work(By(user_id=None if actor is None else actor.pk)):
        members_hold()
        refuse_without_coordinator([member])
        # Through the service, so that who keeps a copy of a site hears that somebody no longer feeds there.
        for site in Site.objects.filter(carers=member).order_by("row").select_for_update(of=("self",)):
            others = site.carers.exclude(pk=member.pk).values_list("pk", flat=True)
            site_change(site, carer_ids=list(others))
        audit_record(action="member.removed", subject=member, actor=actor, data={"user_id": str(member.user_id)})
        for credential in (Grant, RefreshToken, AccessToken):
            credential.objects.filter(user_id=member.user_id, network_id=member.network_id).delete()
        member.delete()


def refuse_without_coordinator(leaving: Collection[Membership]) -> None:
    """Refuse that a network's last coordinators leave, or take another role.

    Raises
    ------
    ConflictError
        ``last_coordinator``.
    """
    coordinators = Membership.objects.filter(role=Role.COORDINATOR)
    answering = {member.network_id for member in coordinators.exclude(pk__in=[member.pk for member in leaving])}
    if any(member.role == Role.COORDINATOR and member.network_id not in answering for member in leaving):
        raise ConflictError(
            "The network would be left without a coordinator.",
            field="/role",
            code="last_coordinator",
            remedy="Make somebody else a coordinator first.",
        )
