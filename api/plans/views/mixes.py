"""One fresh mix for several portions."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.plans.selectors.mixes import mix_read
from api.plans.serializers.mixes import MixIn, MixOut
from api.web.views import ComputeView


class MixView(ComputeView):
    @extend_schema(
        operation_id="mixes_create",
        summary="One fresh mix for several portions; nothing is stored",
        request=MixIn,
        responses={200: MixOut},
    )
    def post(self, request: Request) -> Response:
        return Response(MixOut(mix_read(**MixIn.read(request))).data)
