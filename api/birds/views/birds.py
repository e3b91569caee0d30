"""Birds: a list, one bird, its versions, its site and how it left care."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.birds import selectors, services
from api.birds.models import Bird
from api.birds.serializers import BirdChangeIn, BirdIn, BirdOut, BirdParameters, MoveIn, OutcomeIn
from api.networks.rules.roles import Part
from api.networks.views.described import described_batch, described_list, described_one, described_versions
from api.networks.views.records import (
    PRIVATE,
    Made,
    MemberView,
    RecordBatchView,
    RecordListView,
    RecordVersionsView,
    RecordView,
)
from api.outbox.services import unit_of_work
from api.web import etags

READ, WRITE = "birds:read", "birds:write"
IF_MATCH_OR_NOT = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag of the version that you have seen. Without it the bird is moved from wherever it is.",
)


@described_list("bird", "birds", BirdOut)
class BirdListView(RecordListView):
    part = Part.BIRDS
    required_scopes = {"GET": READ, "POST": WRITE}
    serializer_in = BirdIn
    query_serializer = BirdParameters

    def rows(self, **filters: Any) -> QuerySet[Bird]:
        return selectors.birds(self.caller, **filters)

    def make(self, **fields: Any) -> Made:
        return services.bird_admit(caller=self.caller, **fields)

    def hold(self, items: Sequence[Mapping[str, Any]]) -> None:
        services.sites_hold(self.caller, [item["site_id"] for item in items])


@described_batch("birds", BirdOut)
class BirdBatchView(RecordBatchView):
    part = Part.BIRDS
    required_scopes = {"POST": WRITE}
    of = BirdListView


@described_one("bird", "birds", BirdOut)
class BirdView(RecordView):
    part = Part.BIRDS
    required_scopes = {"GET": READ, "PATCH": WRITE, "DELETE": WRITE}
    of = BirdListView
    serializer_change = BirdChangeIn

    def change(self, record: Bird, **fields: Any) -> None:
        services.bird_change(record, caller=self.caller, **fields)

    def remove(self, record: Bird) -> None:
        services.bird_remove(record, caller=self.caller)


@described_versions("bird", "birds")
class BirdVersionsView(RecordVersionsView):
    part = Part.BIRDS
    required_scopes = {"GET": READ}
    of = BirdListView
    kind = Bird.KIND


class BirdOutcomeView(MemberView):
    part = Part.BIRDS
    required_scopes = {"PUT": WRITE, "DELETE": WRITE}

    @extend_schema(
        operation_id="birds_outcome",
        summary="How a bird left care; a second one corrects the first",
        parameters=[etags.IF_MATCH],
        request=OutcomeIn,
        responses=BirdOut,
    )
    def put(self, request: Request, record_id: UUID) -> Response:
        fields = OutcomeIn.read(request)
        with unit_of_work(self.by):
            bird = etags.matching_row(request, selectors.birds(self.caller), uid=record_id)
            services.outcome_record(bird, caller=self.caller, **fields)
        return _told(bird)

    @extend_schema(
        operation_id="birds_outcome_withdraw",
        summary="Take an outcome back: the bird has not left care",
        parameters=[etags.IF_MATCH],
        responses={200: BirdOut},
    )
    def delete(self, request: Request, record_id: UUID) -> Response:
        with unit_of_work(self.by):
            bird = etags.matching_row(request, selectors.birds(self.caller), uid=record_id)
            services.outcome_withdraw(bird, caller=self.caller)
        return _told(bird)


class BirdMoveView(MemberView):
    part = Part.BIRDS
    required_scopes = {"POST": WRITE}
    also_answers = (409, 412)

    @extend_schema(
        operation_id="birds_move",
        summary="Bring a bird to another site, with all that was recorded of it",
        parameters=[IF_MATCH_OR_NOT],
        request=MoveIn,
        responses=BirdOut,
    )
    def post(self, request: Request, record_id: UUID) -> Response:
        fields = MoveIn.read(request)
        with unit_of_work(self.by):
            held = selectors.birds(self.caller).select_for_update(of=("self",))
            bird = get_object_or_404(held, uid=record_id)
            if request.headers.get("If-Match", "").strip():
                etags.require_match(request, etags.of_version(bird.version))
            services.bird_move(bird, caller=self.caller, **fields)
        return _told(bird)


def _told(bird: Bird) -> Response:
    headers = {"ETag": etags.of_version(bird.version), "Cache-Control": PRIVATE}
    return Response(bird.told(), headers=headers)
