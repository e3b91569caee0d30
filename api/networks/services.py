"""Writes of networks: founding one, joining, leaving, and the tokens of its members."""

import secrets
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify
from oauth2_provider.models import set_token_value

from api.networks.models import Membership
from api.tenancy.models import AccessToken, Grant, Network, RefreshToken, User
from api.tenancy.scope import network_scope
from api.tenancy.scopes import SCOPES
from api.tenancy.services import audit_record
from api.web import clock

PERSONAL_TOKEN_LIFETIME_D = 365


@transaction.atomic
def network_create(*, name: str, time_zone: str = "Etc/UTC", slug: str = "", actor: User | None = None) -> Network:
    """Found a network; raises ``ValidationError`` on a slug that is taken or an unknown zone."""
    network = Network(name=name, slug=slug or slugify(name)[:63], time_zone=time_zone)
    network.full_clean()
    network.save(force_insert=True)
    with network_scope(network):
        audit_record(action="network.created", subject=network, actor=actor, data={"name": name})
    return network


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


@transaction.atomic
def token_issue(
    *,
    member: Membership,
    scopes: Iterable[str],
    label: str = "",
    expires_at: datetime | None = None,
    actor: User | None = None,
) -> str:
    """Issue a personal token; returns it, and only here: what is stored is its hash.

    Parameters
    ----------
    scopes
        Some of ``api.tenancy.scopes.SCOPES``.
    expires_at
        At most, and by default, a year ahead.
    """
    wanted = sorted(set(scopes))
    if unknown := [scope for scope in wanted if scope not in SCOPES]:
        raise ValidationError(f"No such scope: {', '.join(unknown)}. There are: {', '.join(SCOPES)}.")
    if not wanted:
        raise ValidationError(f"A token needs at least one scope. There are: {', '.join(SCOPES)}.")
    now = clock.now()
    latest = now + timedelta(days=PERSONAL_TOKEN_LIFETIME_D)
    expires = expires_at or latest
    if not now < expires <= latest:
        raise ValidationError(f"A token expires within {PERSONAL_TOKEN_LIFETIME_D} days from now.")
    raw = f"hrp_{secrets.token_urlsafe(32)}"
    with network_scope(member.network_id):
        token = AccessToken(user_id=member.user_id, scope=" ".join(wanted), expires=expires, label=label)
        set_token_value(token, raw)
        token.save(force_insert=True)
        audit_record(
            action="token.issued",
            subject=token,
            actor=actor,
            data={"member_id": str(member.pk), "scopes": wanted, "label": label},
        )
    return raw
