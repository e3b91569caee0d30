"""Growth assessments, as figures and as a chart; nothing is stored."""

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.growth.selectors.assessments import assessment_drawn, assessment_read
from api.growth.serializers.assessments import AssessmentIn, AssessmentOut
from api.web.views import ComputeView

SVG = "image/svg+xml"


class GrowthAssessmentView(ComputeView):
    @extend_schema(
        operation_id="growth_assessments_create",
        summary="How a bird grows, from its weighings; nothing is stored",
        request=AssessmentIn,
        responses={200: AssessmentOut},
    )
    def post(self, request: Request) -> Response:
        """1 to 400 weighings in any order. `points` come in order of age; `index` tells the place in the request.

        A weight that cannot be is `questioned`: it is kept, asked about in `findings`, and nothing is reckoned from it.
        """
        return Response(AssessmentOut(assessment_read(**AssessmentIn.read(request))).data)


class GrowthAssessmentSvgView(ComputeView):
    @extend_schema(
        operation_id="growth_assessments_draw",
        summary="The same as a chart",
        request=AssessmentIn,
        responses={(200, SVG): OpenApiTypes.STR},
    )
    def post(self, request: Request) -> HttpResponse:
        """Grey throughout, for paper; weight in g, days since hatching, findings numbered."""
        return HttpResponse(assessment_drawn(**AssessmentIn.read(request)), content_type=SVG)
