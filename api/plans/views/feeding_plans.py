"""Plans for one bird: asked with all that was seen, or by a link."""

import json
from typing import Any

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.plans.rules.plan import Decision
from api.plans.selectors.feeding_plans import feeding_plan_read
from api.plans.serializers.feeding_plans import FeedingPlanIn, FeedingPlanQuery
from api.plans.serializers.plan_shape import FeedingPlanOut
from api.web import etags
from api.web.problem import Problem
from api.web.views import ComputeView, OpenView
from species.selectors import RenamedSpecies, UnknownSpecies

A_DAY = "public, max-age=86400"


class FeedingPlanView(ComputeView):
    @extend_schema(
        operation_id="feeding_plans_create",
        summary="A feeding plan for one bird; nothing is stored",
        request=FeedingPlanIn,
        responses={200: FeedingPlanOut},
    )
    def post(self, request: Request) -> Response:
        return Response(FeedingPlanOut(feeding_plan_read(**FeedingPlanIn.read(request))).data)


class SpeciesFeedingPlanView(OpenView):
    throttle_scope = "compute"
    query_serializer = FeedingPlanQuery

    @extend_schema(
        operation_id="species_feeding_plan_retrieve",
        summary="The plan of a well bird of a species, by age or mass",
        parameters=[FeedingPlanQuery],
        responses={200: FeedingPlanOut},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        try:
            plan = FeedingPlanOut(feeding_plan_read(species=key, **self.query)).data
        except UnknownSpecies as error:
            raise Problem("not-found", str(error)) from error
        except RenamedSpecies as error:
            return _moved(request, error.new_key)
        return etags.respond(
            request, etags.strong(json.dumps(plan)), plan, cache_control=_kept(self.query["bird"], plan)
        )


def _moved(request: Request, key: str) -> HttpResponse:
    address = reverse("species-feeding-plan", kwargs={"key": key})
    query = request.META.get("QUERY_STRING", "")
    return HttpResponse(status=308, headers={"Location": f"{address}?{query}" if query else address})


def _kept(bird: dict[str, Any], plan: dict[str, Any]) -> str:
    """A day where the answer is the same tomorrow: the day was told, and no hour of today stands in it."""
    timeless = "on" in bird and plan["look_again_at"] is None and plan["decision"] != Decision.WAIT_FOR_YOLK
    return A_DAY if timeless else "no-cache"
