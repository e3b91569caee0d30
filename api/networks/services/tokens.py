"""Tokens of members."""

import secrets
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from oauth2_provider.models import set_token_value

from api.networks.models import Membership
from api.tenancy.models import AccessToken, User
from api.tenancy.scope import network_scope
from api.tenancy.scopes import SCOPES
from api.tenancy.services import audit_record
from api.web import clock

PERSONAL_TOKEN_LIFETIME_D = 365


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
