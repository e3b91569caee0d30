"""What a site mixes with."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.kitchen import selectors, services
from api.kitchen.serializers import KitchenIn, KitchenOut
from api.networks.rules.roles import Part
from api.networks.selectors import sites
from api.networks.views.described import NOT_MODIFIED
from api.networks.views.records import PRIVATE, MemberView
from api.outbox.services import unit_of_work
from api.web import etags


class KitchenView(MemberView):
    part = Part.SITES
    required_scopes = {"GET": "kitchen:read", "PUT": "kitchen:write"}

    @extend_schema(
        operation_id="kitchens_retrieve",
        summary="What a site mixes with",
        responses={200: KitchenOut, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, record_id: UUID) -> HttpResponse:
        """Version 0, with nothing told, until it is first put."""
        kitchen = selectors.kitchen_of(get_object_or_404(sites(self.caller), uid=record_id))
        return etags.respond(request, etags.of_version(kitchen.version), kitchen.told, cache_control=PRIVATE)

    @extend_schema(
        operation_id="kitchens_put",
        summary="Tell what a site mixes with, all of it; the version before is kept",
        parameters=[etags.IF_MATCH],
        request=KitchenIn,
        responses=KitchenOut,
    )
    def put(self, request: Request, record_id: UUID) -> Response:
        """The first time with `If-Match: "0"`."""
        fields = KitchenIn.read(request)
        with unit_of_work(self.by):
            # A kitchen is told once it is first put: what two who do so at once wait for is its site.
            site = get_object_or_404(sites(self.caller).select_for_update(of=("self",), no_key=True), uid=record_id)
            etags.require_match(request, etags.of_version(selectors.kitchen_of(site).version))
            kitchen = services.kitchen_put(site, **fields)
        headers = {"ETag": etags.of_version(kitchen.version), "Cache-Control": PRIVATE}
        return Response(kitchen.told(), headers=headers)
