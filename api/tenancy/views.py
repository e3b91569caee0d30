"""The view that every address with a token starts from."""

from contextlib import ExitStack
from typing import Any

from django.http import HttpRequest, HttpResponse
from rest_framework.request import Request

from api.tenancy.scope import network_scope
from api.web.views import StrictView


class NetworkView(StrictView):
    """Works inside the network of the token, from authentication to the answer.

    ``required_scopes`` names a scope for each method; HEAD goes with GET.
    """

    required_scopes: dict[str, str]
    _scope: ExitStack

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        with ExitStack() as self._scope:
            answer: HttpResponse = super().dispatch(request, *args, **kwargs)
            return answer

    def perform_authentication(self, request: Request) -> None:
        super().perform_authentication(request)
        if request.auth is not None:
            self._scope.enter_context(network_scope(request.auth.network_id))
