"""How addresses of records stand in the OpenAPI document: the same words for every kind of record."""

from functools import cache
from typing import Any

from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view, inline_serializer
from rest_framework import serializers

from api.networks.views.records import MOST_AT_ONCE, RecordBatchView, RecordListView, RecordView, batch_of
from api.outbox.serializers import RecordVersionOut
from api.web.etags import IF_MATCH
from api.web.idempotency import IDEMPOTENCY_KEY
from api.web.pagination import CursorParameters

NOT_MODIFIED = OpenApiResponse(description="Nothing has changed since the ETag sent.")


@cache
def page_shape(name: str, record_out: type[serializers.Serializer[Any]]) -> Any:
    """The shape of a page of records; the same object for the same records, as the document wants it."""
    return inline_serializer(
        f"{name}Page",
        {
            "results": record_out(many=True),
            "next": serializers.CharField(allow_null=True, help_text="Send it as cursor to get the page after this."),
        },
    )


def described_list(one: str, many: str, record_out: type[serializers.Serializer[Any]], *, writes: bool = True) -> Any:
    """Describe a list of records for the OpenAPI document.

    Parameters
    ----------
    one, many
        What a record is called, and several: ``crop check`` and ``crop_checks``.
    """

    def describe(view: type[RecordListView]) -> type[RecordListView]:
        told = {
            "get": extend_schema(
                operation_id=f"{many}_list",
                summary=f"The {many.replace('_', ' ')} that the caller may see",
                parameters=[view.query_serializer],
                responses={200: page_shape(record_out.__name__.removesuffix("Out"), record_out), 304: NOT_MODIFIED},
            )
        }
        if writes:
            told["post"] = extend_schema(
                operation_id=f"{many}_create",
                summary=f"Record a {one}",
                parameters=[IDEMPOTENCY_KEY],
                request=view.serializer_in,
                responses={
                    201: record_out,
                    200: OpenApiResponse(record_out, description="It was there already, sent before with this id."),
                },
            )
        return extend_schema_view(**told)(view)

    return describe


def described_batch(many: str, record_out: type[serializers.Serializer[Any]]) -> Any:
    """Describe a batch for the OpenAPI document."""

    def describe(view: type[RecordBatchView]) -> type[RecordBatchView]:
        name = record_out.__name__.removesuffix("Out")
        results = inline_serializer(f"{name}Batch", {"results": record_out(many=True)})
        told = extend_schema(
            operation_id=f"{many}_create_batch",
            summary=f"Record up to {MOST_AT_ONCE} {many.replace('_', ' ')}: all of them, or none",
            parameters=[IDEMPOTENCY_KEY],
            request=batch_of(view.of.serializer_in),
            responses={
                201: results,
                200: OpenApiResponse(results, description="All were there already, sent before with these ids."),
            },
        )
        return extend_schema_view(post=told)(view)

    return describe


def described_one(one: str, many: str, record_out: type[serializers.Serializer[Any]]) -> Any:
    """Describe one record's address for the OpenAPI document."""

    def describe(view: type[RecordView]) -> type[RecordView]:
        told = {
            "get": extend_schema(
                operation_id=f"{many}_retrieve", summary=f"One {one}", responses={200: record_out, 304: NOT_MODIFIED}
            ),
            "patch": extend_schema(
                operation_id=f"{many}_change",
                summary=f"Correct a {one}; the version before is kept",
                parameters=[IF_MATCH],
                request=view.serializer_change,
                responses=record_out,
            ),
            "delete": extend_schema(
                operation_id=f"{many}_remove",
                summary=f"Remove a {one} that should never have been; its versions are kept",
                parameters=[IF_MATCH],
                responses={204: None},
            ),
        }
        return extend_schema_view(**told)(view)

    return describe


def described_versions(one: str, many: str) -> Any:
    """Describe a record's versions for the OpenAPI document."""
    told = extend_schema(
        operation_id=f"{many}_versions",
        summary=f"A {one} as it stood, version by version",
        parameters=[CursorParameters],
        responses={200: page_shape("RecordVersion", RecordVersionOut), 304: NOT_MODIFIED},
    )
    return extend_schema_view(get=told)
