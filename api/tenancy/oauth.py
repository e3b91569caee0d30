"""OAuth's flows, each credential bound to the network that it is granted for."""

from typing import Any
from uuid import UUID

from oauth2_provider.oauth2_validators import OAuth2Validator

from api.tenancy.models import Grant
from api.tenancy.scope import network_scope


class NetworkBoundValidator(OAuth2Validator):
    """Gives every credential that the library makes the network of the grant behind it.

    The library makes the rows itself; inside the scope of a network they become that network's.
    The consent page puts the chosen network's id on the request as ``network_id``.
    """

    def validate_code(self, client_id: str, code: str, client: Any, request: Any, *args: Any, **kwargs: Any) -> bool:
        if not super().validate_code(client_id, code, client, request, *args, **kwargs):
            return False
        request.network_id = Grant.objects.values_list("network_id", flat=True).get(code=code, application=client)
        return True

    def validate_refresh_token(self, refresh_token: str, client: Any, request: Any, *args: Any, **kwargs: Any) -> bool:
        if not super().validate_refresh_token(refresh_token, client, request, *args, **kwargs):
            return False
        request.network_id = request.refresh_token_instance.network_id
        return True

    def _create_authorization_code(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        with network_scope(self._network_id(request)):
            return super()._create_authorization_code(request, *args, **kwargs)

    def _create_access_token(self, expires: Any, request: Any, *args: Any, **kwargs: Any) -> Any:
        with network_scope(self._network_id(request)):
            return super()._create_access_token(expires, request, *args, **kwargs)

    def _create_refresh_token(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        with network_scope(self._network_id(request)):
            return super()._create_refresh_token(request, *args, **kwargs)

    @staticmethod
    def _network_id(request: Any) -> UUID:
        if request.grant_type == "client_credentials":
            return request.client.network_id  # type: ignore[no-any-return]
        return request.network_id  # type: ignore[no-any-return]
