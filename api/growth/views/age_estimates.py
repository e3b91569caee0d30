"""How old a foundling is; nothing is stored."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.growth.selectors.age_estimates import age_estimate_read
from api.growth.serializers.age_estimates import AgeEstimateIn, AgeEstimateOut
from api.web.views import ComputeView


class AgeEstimateView(ComputeView):
    @extend_schema(
        operation_id="age_estimates_create",
        summary="How old a bird is, from its weight and what is seen of its development; nothing is stored",
        request=AgeEstimateIn,
        responses={200: AgeEstimateOut},
    )
    def post(self, request: Request) -> Response:
        """A median with its 90 % interval. With `candidates` also which of them it is likely to be.

        `used` names the evidence: `mass` and the keys of milestones. A thin bird weighs like a younger one, so tell
        milestones wherever they can be seen.
        """
        return Response(AgeEstimateOut(age_estimate_read(**AgeEstimateIn.read(request))).data)
