"""Who belongs to the network of the token."""

from uuid import UUID

from django.db import transaction
from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.networks import selectors, services
from api.networks.rules.roles import Part
from api.networks.serializers import MemberChangeIn, MemberOut, MemberPageOut
from api.networks.views.records import PRIVATE, MemberView
from api.web import etags
from api.web.pagination import CursorParameters, cursor_page


class MemberListView(MemberView):
    part = Part.MEMBERS
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
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)


class MemberChangeView(MemberView):
    part = Part.MEMBERS
    required_scopes = {"PATCH": "members:write"}

    @extend_schema(
        operation_id="members_change",
        summary="Give a member another role, or say whether the daily report is sent to them",
        parameters=[etags.IF_MATCH],
        request=MemberChangeIn,
        responses=MemberOut,
    )
    def patch(self, request: Request, member_id: UUID) -> Response:
        """For coordinators. The network keeps at least one of them."""
        fields = MemberChangeIn.read(request)
        with transaction.atomic():
            services.members_hold()
            member = etags.matching_row(request, selectors.members(), pk=member_id)
            services.member_change(member=member, actor=request.auth.user, client=request.auth.application, **fields)
        headers = {"ETag": etags.of_version(member.version), "Cache-Control": PRIVATE}
        return Response(MemberOut(member).data, headers=headers)
