"""Plans for one bird: asked with all that was seen, or by a link."""

import json
from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.catalog.views import CACHE_CONTROL, KEY, NOT_MODIFIED, RENAMED, moved_to, not_found
from api.plans.selectors.feeding_plans import feeding_plan_read
from api.plans.serializers.feeding_plans import FeedingPlanIn, FeedingPlanQuery
from api.plans.serializers.plan_shape import FeedingPlanOut
from api.web import etags
from api.web.views import ComputeView, OpenView
from species.selectors import RenamedSpecies, UnknownSpecies


class FeedingPlanView(ComputeView):
    @extend_schema(
        operation_id="feeding_plans_create",
        summary="A feeding plan for one bird; nothing is stored",
        request=FeedingPlanIn,
        responses={200: FeedingPlanOut},
    )
    def post(self, request: Request) -> Response:
        """`species` or `unlisted_species`, and one of `age_days`, `hatched_on`, `hatched_at` and `mass_g`, are needed.

        Read `decision` first: `feed`, `formula` and `timetable` are filled for `feed`, `top_up` and `weigh_first`.
        `cautions` hold what to watch, `basis` the rule, the inputs and the sources of every number.
        """
        return Response(FeedingPlanOut(feeding_plan_read(**FeedingPlanIn.read(request))).data)


class SpeciesFeedingPlanView(OpenView):
    throttle_scope = "compute"
    query_serializer = FeedingPlanQuery

    @extend_schema(
        operation_id="species_feeding_plan_retrieve",
        summary="The plan of a well bird of a species, by age or mass",
        parameters=[KEY, FeedingPlanQuery],
        responses={200: FeedingPlanOut, 304: NOT_MODIFIED, 308: RENAMED},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        """One of `age_days`, `hatched_on` and `mass_g` is needed. What was not told of the bird is unknown."""
        try:
            plan = FeedingPlanOut(feeding_plan_read(species=key, **self.query)).data
        except UnknownSpecies as unknown:
            raise not_found(unknown) from unknown
        except RenamedSpecies as moved:
            return moved_to(request, moved.new_key)
        return etags.respond(
            request, etags.strong(json.dumps(plan)), plan, cache_control=_kept(self.query["bird"], plan)
        )


def _kept(bird: Mapping[str, Any], plan: Mapping[str, Any]) -> str:
    """A day where the answer is the same tomorrow: the day was told, and no hour counted from now stands in it."""
    timeless = "on" in bird and plan["look_again_at"] is None
    return CACHE_CONTROL if timeless else "no-cache"
