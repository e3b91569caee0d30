"""Joining a network, changing in it, leaving it."""

from django.db import transaction

from api.networks.models import Membership
from api.tenancy.models import AccessToken, Grant, Network, RefreshToken, User
from api.tenancy.scope import network_scope
from api.tenancy.services import audit_record


@transaction.atomic
def member_add(*, network: Network, user: User, role: str, actor: User | None = None) -> Membership:
    """Take a person into a network; raises ``ValidationError`` on a second membership or an unknown role."""
    with network_scope(network):
        member = Membership(user=user, role=role)
        member.full_clean()
        member.save(force_insert=True)
        audit_record(action="member.added", subject=member, actor=actor, data={"user_id": str(user.pk), "role": role})
    return member


@transaction.atomic
def member_role_set(*, member: Membership, role: str, actor: User | None = None) -> Membership:
    """Give a member another role; raises ``ValidationError`` on an unknown one."""
    with network_scope(member.network_id):
        member.role = role
        member.version += 1
        member.full_clean()
        member.save(update_fields=["role", "version"])
        audit_record(action="member.role_set", subject=member, actor=actor, data={"role": role})
    return member


@transaction.atomic
def member_remove(*, member: Membership, actor: User | None = None) -> None:
    """End a membership and everything that was granted through it in this network."""
    with network_scope(member.network_id):
        audit_record(action="member.removed", subject=member, actor=actor, data={"user_id": str(member.user_id)})
        for credential in (Grant, RefreshToken, AccessToken):
            credential.objects.filter(user_id=member.user_id, network_id=member.network_id).delete()
        member.delete()
