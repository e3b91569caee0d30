"""Permission by scope, closed by default."""

from typing import TYPE_CHECKING

from django.core.exceptions import ImproperlyConfigured
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from api.web.problem import Problem

if TYPE_CHECKING:
    from rest_framework.views import APIView


class HasScopes(BasePermission):
    """The token has the scope that the view's ``required_scopes`` names for the method."""

    def has_permission(self, request: Request, view: "APIView") -> bool:
        scopes: dict[str, str] | None = getattr(view, "required_scopes", None)
        if scopes is None:
            raise ImproperlyConfigured(f"{type(view).__name__} has to say which scopes its methods need.")
        method = "get" if request.method == "HEAD" else str(request.method).lower()
        if request.auth is None:
            return False
        if method == "options" or method not in view.http_method_names or not hasattr(view, method):
            return True  # answered by the methods there are: nothing of the network is told
        needed = scopes.get(method.upper())
        if needed is None:
            raise ImproperlyConfigured(f"{type(view).__name__} has to say which scope {method.upper()} needs.")
        if needed in request.auth.scope.split():
            return True
        raise Problem(
            "not-permitted",
            f"This needs the scope {needed}, which the token does not have.",
            headers={"WWW-Authenticate": f'Bearer realm="api", error="insufficient_scope", scope="{needed}"'},
        )
