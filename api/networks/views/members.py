"""Who belongs to the network of the token."""

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.networks import selectors
from api.networks.serializers import MemberOut, MemberPageOut
from api.tenancy.views import NetworkView
from api.web import etags
from api.web.pagination import CursorParameters, cursor_page


class MemberListView(NetworkView):
    required_scopes = {"GET": "members:read"}
    query_serializer = CursorParameters

    @extend_schema(
        operation_id="members_list",
        summary="The members of the network",
        parameters=[CursorParameters],
        responses=MemberPageOut,
    )
    def get(self, request: Request) -> HttpResponse:
        page = cursor_page(selectors.members(), **self.query)
        answer = page.answer(MemberOut(page.rows, many=True).data)
        return etags.respond(request, etags.of_answer(answer), answer, cache_control="private, no-cache")
