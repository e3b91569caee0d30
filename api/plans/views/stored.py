"""The plan of a stored bird."""

from typing import ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.birds import selectors as birds
from api.networks.rules.roles import Part
from api.networks.views.described import NOT_MODIFIED
from api.networks.views.records import PRIVATE, MemberView
from api.plans.selectors.stored import plan_of
from api.plans.serializers.stored import BirdFeedingPlanOut, BirdFeedingPlanQuery
from api.web import etags


class BirdFeedingPlanView(MemberView):
    part = Part.BIRDS
    required_scopes: ClassVar[dict[str, str]] = {"GET": "plans:read"}
    query_serializer = BirdFeedingPlanQuery
    also_answers = (404, 409)

    @extend_schema(
        operation_id="birds_feeding_plan_retrieve",
        summary="The feeding plan of a stored bird",
        parameters=[BirdFeedingPlanQuery],
        responses={200: BirdFeedingPlanOut, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, bird_id: UUID) -> HttpResponse:
        """From its last weighing that can be believed, its growth, its last look at the crop, its last feed, its site
        and what it is fed with. What was not recorded is unknown, and stands in `checks`.

        Without a weighing of the last day `decision` is `weigh_first`, and the feed a small one to bridge an hour. 409
        for a bird that has left care.
        """
        bird = get_object_or_404(birds.birds(self.caller), uid=bird_id)
        answer = BirdFeedingPlanOut(plan_of(bird, **self.query)).data
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)
