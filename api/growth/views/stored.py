"""How a stored bird grows: as figures, as a chart, as a table."""

import csv
import io
from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from api.birds import selectors as birds
from api.birds.models import Bird
from api.catalog.views import SvgRenderer
from api.growth.selectors.stored import bird_assessment, bird_chart
from api.growth.serializers.stored import BirdGrowthOut, GrowthQuery
from api.networks.rules.roles import Part
from api.networks.views.described import NOT_MODIFIED
from api.networks.views.records import PRIVATE, MemberView
from api.web import etags

#: Columns of the table, by the names of a point.
COLUMNS = (
    "weighing_id", "at", "age_days", "mass_g", "expected_g", "low_g", "high_g", "centile", "conditional_expected_g",
    "conditional_z", "gain_g_per_day", "state", "weighing_state",
)  # fmt: skip


class BirdGrowthBaseView(MemberView):
    """One bird that the caller sees, in care or not; the same question in several shapes."""

    part = Part.BIRDS
    required_scopes: ClassVar[dict[str, str]] = {"GET": "plans:read"}
    query_serializer = GrowthQuery
    also_answers = (404, 409)

    def bird(self, bird_id: UUID) -> Bird:
        return get_object_or_404(birds.birds(self.caller), uid=bird_id)


class BirdGrowthView(BirdGrowthBaseView):
    @extend_schema(
        operation_id="birds_growth_retrieve",
        summary="How a stored bird grows",
        parameters=[GrowthQuery],
        responses={200: BirdGrowthOut, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, bird_id: UUID) -> HttpResponse:
        """From its weighings that were not rejected: those asked about are shown, and nothing is reckoned from them.

        409 where it was never weighed, or nothing says how old it is.
        """
        answer = BirdGrowthOut(bird_assessment(self.bird(bird_id), **self.query)).data
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)


class BirdGrowthSvgView(BirdGrowthBaseView):
    renderer_classes = (SvgRenderer,)

    @extend_schema(
        operation_id="birds_growth_draw",
        summary="The same as a chart",
        parameters=[GrowthQuery],
        responses={(200, "image/svg+xml"): str, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, bird_id: UUID) -> HttpResponse:
        """Grey throughout, for paper; weight in g, days since hatching, findings numbered."""
        svg = bird_chart(self.bird(bird_id), **self.query)
        return etags.respond(request, etags.strong(svg), {"svg": svg}, cache_control=PRIVATE)


class PointsTable(BaseRenderer):
    """The points of an assessment as a table: one line a weighing, names of the columns first (RFC 4180)."""

    media_type = "text/csv"
    format = "csv"
    charset = "utf-8"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> str:
        if not data:
            return ""
        text = io.StringIO()
        table = csv.DictWriter(text, COLUMNS, extrasaction="ignore")
        table.writeheader()
        table.writerows(data["points"])
        return text.getvalue()


class BirdGrowthCsvView(BirdGrowthBaseView):
    renderer_classes = (PointsTable,)

    @extend_schema(
        operation_id="birds_growth_table",
        summary="Its weighings as a table",
        parameters=[GrowthQuery],
        responses={(200, "text/csv"): str, 304: NOT_MODIFIED},
    )
    def get(self, request: Request, bird_id: UUID) -> HttpResponse:
        """A row for each weighing, oldest first."""
        answer = BirdGrowthOut(bird_assessment(self.bird(bird_id), **self.query)).data
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)
