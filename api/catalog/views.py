"""The catalogue of species: open to everyone, cacheable for a day."""

import csv
import hashlib
import io
from collections.abc import Callable
from typing import Any

import msgspec
from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.catalog.rules.growth_table import GrowthDay
from api.catalog.selectors import (
    NoGrowthCurve,
    growth_curve_answer,
    growth_curve_drawing,
    revisions_answer,
    species_answer,
    species_page,
)
from api.catalog.serializers import (
    GrowthCurveOut,
    RevisionParameters,
    SpeciesListOut,
    SpeciesListParameters,
    SpeciesOut,
    SpeciesRevisionsOut,
)
from api.web import etags
from api.web.problem import Fault, Problem
from api.web.views import OpenView
from species.domain.errors import DomainError
from species.domain.record import Record
from species.selectors import RenamedSpecies, UnknownRevision, UnknownSpecies

CACHE_CONTROL = "public, max-age=86400"
KEY = OpenApiParameter(
    "key",
    str,
    OpenApiParameter.PATH,
    description="Lower-case binomial, a third part for domestic forms: columba-livia-domestica.",
    pattern=r"^[a-z]+(-[a-z]+){1,2}$",
)
NOT_MODIFIED = OpenApiResponse(description="The caller has this already: its If-None-Match fits.")
RENAMED = OpenApiResponse(description="The species has another key today; Location leads to it.")


class CatalogView(OpenView):
    """A read of species knowledge: 404 with near names, 308 from former keys, ETag and a day in caches."""

    def answer(self, request: Request, find: Callable[[], Record]) -> HttpResponse | Response:
        """The record as JSON, 304, or where it is to be found."""
        try:
            record = find()
        except RenamedSpecies as moved:
            return moved_to(request, moved.new_key)
        except (UnknownSpecies, UnknownRevision, NoGrowthCurve) as missing:
            raise not_found(missing) from missing
        return etags.respond(request, _etag(record), lambda: msgspec.to_builtins(record), cache_control=CACHE_CONTROL)


def moved_to(request: Request, key: str) -> HttpResponse:
    """308: the same address, but for the key that the species has today."""
    match = request.resolver_match
    assert match is not None
    location = reverse(match.view_name, kwargs={**match.kwargs, "key": key})
    query = request.META.get("QUERY_STRING", "")
    answer = HttpResponse(status=308, headers={"Location": f"{location}?{query}" if query else location})
    del answer["Content-Type"]
    answer["Cache-Control"] = CACHE_CONTROL
    return answer


def not_found(missing: DomainError) -> Problem:
    """404 of what the path names, with near names of an unknown species."""
    # The species stands in the path, which no pointer reaches.
    pointer = missing.field if missing.field == "/revision" else ""
    extra = {"near": list(missing.near)} if isinstance(missing, UnknownSpecies) else {}
    return Problem("not-found", str(missing), errors=[Fault(pointer, missing.code, str(missing))], extra=extra)


def _etag(record: Record) -> str:
    """The revision where there is one, and a digest, since an answer also changes with its sources' entries."""
    revision = getattr(record, "revision", None)
    digest = hashlib.sha256(msgspec.json.encode(record)).hexdigest()[:24]
    return f'"{digest}"' if revision is None else f'"{revision}-{digest}"'


class SpeciesListView(CatalogView):
    query_serializer = SpeciesListParameters

    @extend_schema(
        operation_id="species_list",
        summary="Species with a profile",
        parameters=[SpeciesListParameters],
        responses={200: SpeciesListOut, 304: NOT_MODIFIED},
    )
    def get(self, request: Request) -> HttpResponse | Response:
        """With `search` the best match comes first, else the list goes by order, family and name."""
        return self.answer(request, lambda: species_page(**self.query))


class SpeciesView(CatalogView):
    query_serializer = RevisionParameters

    @extend_schema(
        operation_id="species_retrieve",
        summary="Everything known of a species, each value with its source",
        parameters=[KEY, RevisionParameters],
        responses={200: SpeciesOut, 304: NOT_MODIFIED, 308: RENAMED},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        """A revision never changes. Units stand at the end of a field's name and, as UCUM codes, in this document."""
        return self.answer(request, lambda: species_answer(key, self.query.get("revision")))


class SpeciesRevisionsView(CatalogView):
    @extend_schema(
        operation_id="species_revisions",
        summary="What was known of a species when, and what changed",
        parameters=[KEY],
        responses={200: SpeciesRevisionsOut, 304: NOT_MODIFIED, 308: RENAMED},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        """Newest first. `changes` point into the profile; the first revision has none."""
        return self.answer(request, lambda: revisions_answer(key))


class GrowthCurveView(CatalogView):
    query_serializer = RevisionParameters

    @extend_schema(
        operation_id="species_growth_curve",
        summary="Growth day by day, with centiles",
        parameters=[KEY, RevisionParameters],
        responses={200: GrowthCurveOut, 304: NOT_MODIFIED, 308: RENAMED},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        """For every whole day that the curve was fitted to."""
        return self.answer(request, lambda: growth_curve_answer(key, self.query.get("revision")))


class CsvRenderer(BaseRenderer):
    """The days of a growth curve as a table: one line a day, names of the columns first (RFC 4180)."""

    media_type = "text/csv"
    format = "csv"
    charset = "utf-8"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> str:
        if not data:
            return ""
        text = io.StringIO()
        table = csv.DictWriter(text, fieldnames=GrowthDay.__struct_fields__)
        table.writeheader()
        table.writerows(data["days"])
        return text.getvalue()


class GrowthCurveCsvView(CatalogView):
    query_serializer = RevisionParameters
    renderer_classes = (CsvRenderer,)

    @extend_schema(
        operation_id="species_growth_curve_csv",
        summary="The same as a table",
        parameters=[KEY, RevisionParameters],
        responses={(200, "text/csv"): str, 304: NOT_MODIFIED, 308: RENAMED},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        """One line a day; the columns are the fields of `days`."""
        return self.answer(request, lambda: growth_curve_answer(key, self.query.get("revision")))


class SvgRenderer(BaseRenderer):
    """A drawing as it stands."""

    media_type = "image/svg+xml"
    format = "svg"
    charset = "utf-8"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> str:
        return data["svg"] if data else ""


class GrowthCurveSvgView(CatalogView):
    query_serializer = RevisionParameters
    renderer_classes = (SvgRenderer,)

    @extend_schema(
        operation_id="species_growth_curve_svg",
        summary="The same as a chart",
        parameters=[KEY, RevisionParameters],
        responses={(200, "image/svg+xml"): str, 304: NOT_MODIFIED, 308: RENAMED},
    )
    def get(self, request: Request, key: str) -> HttpResponse | Response:
        """Grey throughout, for paper: centiles, stages, fledging and weaning; weight in g, days since hatching."""
        return self.answer(request, lambda: growth_curve_drawing(key, self.query.get("revision")))
