"""Bearer tokens: found by their hash, checked for time, person and audience."""

import hashlib
from typing import Any

from django.contrib.auth.models import AnonymousUser
from drf_spectacular.contrib.django_oauth_toolkit import DjangoOAuthToolkitScheme
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from api.tenancy.models import AccessToken, User
from api.web import clock
from api.web.problem import public_url


class BearerAuthentication(BaseAuthentication):
    """``request.auth`` is the token, ``request.user`` its person (anonymous for an app on its own)."""

    def authenticate(self, request: Request) -> tuple[User | AnonymousUser, AccessToken] | None:
        kind, _, raw = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer":
            return None
        checksum = hashlib.sha256(raw.strip().encode()).hexdigest()
        token = AccessToken.objects.select_related("user").filter(token_checksum=checksum).first()
        if token is None:
            raise AuthenticationFailed("This token is not known: it is mistyped, or has been revoked.")
        if token.expires <= clock.now():
            raise AuthenticationFailed("This token has expired; get a new one.")
        if token.user is not None and not token.user.is_active:
            raise AuthenticationFailed("The owner of this token may no longer sign in.")
        if not token.allows_audience(request.build_absolute_uri(request.path)):
            raise AuthenticationFailed("This token was granted for another resource.")
        return token.user or AnonymousUser(), token

    def authenticate_header(self, request: Request) -> str:
        """The challenge of a 401 (RFC 6750, section 3), with where to find out more (RFC 9728, section 5.1)."""
        parts = ['realm="api"']
        if request.headers.get("Authorization"):
            parts.append('error="invalid_token"')
        parts.append(f'resource_metadata="{public_url(request)}/.well-known/oauth-protected-resource"')
        return f"Bearer {', '.join(parts)}"


class BearerScheme(DjangoOAuthToolkitScheme):
    """How the OpenAPI document tells of it: OAuth 2.0, with the scopes that each operation needs."""

    target_class = BearerAuthentication
    name = "oauth2"

    def get_security_requirement(self, auto_schema: Any) -> dict[str, list[str]]:
        scopes = getattr(auto_schema.view, "required_scopes", {})
        return {self.name: [scopes[auto_schema.method]] if auto_schema.method in scopes else []}
