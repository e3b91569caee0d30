"""OAuth's rows, swapped in the first migration so that every credential is bound to one network."""

import hashlib
from typing import Any
from urllib.parse import urlsplit

from django.core.exceptions import ValidationError
from django.db import models
from oauth2_provider.models import (
    AbstractAccessToken,
    AbstractApplication,
    AbstractGrant,
    AbstractIDToken,
    AbstractRefreshToken,
    ApplicationManager,
)

from api.tenancy.models.rows import BelongsToNetwork

LOOPBACK_HOSTS = ("127.0.0.1", "::1")
# Addresses that a browser would act on instead of handing to an app.
UNSAFE_SCHEMES = frozenset({"javascript", "data", "vbscript", "file", "blob", "about", "ftp", "ws", "wss"})


class HashedCodeField(models.CharField):
    """An authorization code, kept as the hash of its value and found by it.

    The library stores and looks up the code itself; hashing on the way to the database covers both.
    """

    def get_prep_value(self, value: Any) -> Any:
        value = super().get_prep_value(value)
        return value if value is None else hashlib.sha256(value.encode()).hexdigest()


class ApiClient(AbstractApplication):
    """A third-party app. Without a network it serves many: each grant then says which one."""

    network = models.ForeignKey(
        "tenancy.Network",
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="api_clients",
        help_text="Needed for client credentials; empty for an app that people of many networks use.",
    )
    allowed_scopes = models.TextField(
        blank=True,
        help_text="Scopes the app may ask for, separated by spaces, such as: birds:read plans:read",
    )

    objects = ApplicationManager()

    class Meta:
        ordering = ["name", "id"]
        verbose_name = "API client"
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(authorization_grant_type="client-credentials") | models.Q(network__isnull=False),
                name="api_client_credentials_have_network",
                violation_error_message="Client credentials belong to one network: choose it.",
            )
        ]

    def natural_key(self) -> tuple[str]:
        return (self.client_id,)

    def get_allowed_schemes(self) -> list[str]:
        """Schemes this client's redirects may use: https, loopback http and its own private schemes.

        RFC 8252, sections 7.1 and 7.3: installed apps receive the code on a scheme of their own (a domain of
        theirs reversed, so with a full stop) or on a loopback address. Plain http elsewhere stays shut.
        """
        schemes = ["https"]
        for uri in self.redirect_uris.split():
            parts = urlsplit(uri)
            loopback = parts.scheme == "http" and parts.hostname in LOOPBACK_HOSTS
            if loopback or ("." in parts.scheme and parts.scheme not in UNSAFE_SCHEMES):
                schemes.append(parts.scheme)
        return schemes

    def clean(self) -> None:
        super().clean()
        for uri in self.redirect_uris.split():
            parts = urlsplit(uri)
            if parts.scheme == "http" and parts.hostname not in LOOPBACK_HOSTS:
                raise ValidationError({"redirect_uris": f"{uri}: http is for 127.0.0.1 and [::1] only; use https."})


class Credential(BelongsToNetwork):
    """Works for exactly one network, chosen when it is granted.

    Read before any scope is open: it is what a scope is opened from.
    """

    network = models.ForeignKey("tenancy.Network", on_delete=models.CASCADE, related_name="+")

    objects = models.Manager()

    class Meta:
        abstract = True


class Grant(Credential, AbstractGrant):  # noqa: DJ008 - the parent names itself without its secret
    code = HashedCodeField(max_length=255, unique=True)


class AccessToken(Credential, AbstractAccessToken):  # noqa: DJ008 - the parent names itself without its secret
    """A bearer token; only its SHA-256 is stored. Without an application it is a member's personal token."""

    label = models.CharField(max_length=200, blank=True)


class RefreshToken(Credential, AbstractRefreshToken):  # noqa: DJ008 - the parent names itself without its secret
    class Meta(AbstractRefreshToken.Meta):
        abstract = False


class IDToken(Credential, AbstractIDToken):  # noqa: DJ008 - the parent names itself without its secret
    """Swapped with the others, since each refers to the next; OpenID Connect is not offered."""
