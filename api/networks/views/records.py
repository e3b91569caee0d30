"""The views that every kind of record starts from: lists, one record, its versions, batches.

A room's view names its serializers and answers four questions: which rows the caller sees, how one is made, changed
and removed. The habits (ids of the client's choice, ETag and If-Match, idempotency, pages) are here, once.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from api.networks import selectors
from api.networks.rules.roles import Caller, Part
from api.outbox import selectors as outbox_selectors
from api.outbox.serializers import RecordVersionOut
from api.outbox.services import By, unit_of_work
from api.tenancy.models import NetworkRecord
from api.tenancy.views import NetworkView
from api.web import etags
from api.web.idempotency import answer_once
from api.web.pagination import CursorParameters, cursor_page
from api.web.problem import Fault, Problem, faults_problem, problem_from
from api.web.strict import StrictListField, StrictSerializer
from species.domain.errors import ConflictError, DomainError

MOST_AT_ONCE = 500
PRIVATE = "private, no-cache"

Made = tuple[NetworkRecord, bool]


class MemberView(NetworkView):
    """Knows who asks: ``self.caller``. ``part`` is what the role has to allow for a write."""

    part: ClassVar[Part]
    caller: Caller

    def check_permissions(self, request: Request) -> None:
        super().check_permissions(request)
        if request.auth is None:
            return
        caller = selectors.caller_of(request.auth)
        if caller is None:
            raise Problem("not-permitted", "The owner of this token no longer belongs to the network.")
        self.caller = caller
        writes = request.method in ("POST", "PUT", "PATCH", "DELETE") and hasattr(self, request.method.lower())
        if writes and not caller.may_write(self.part):
            raise Problem("not-permitted", f"The role {caller.role} writes nothing here; ask a coordinator.")

    @property
    def by(self) -> By:
        return By(user_id=self.caller.user_id, client_id=self.caller.client_id)

    @property
    def credential(self) -> str:
        return str(self.request.auth.token_checksum)


class RecordListView(MemberView):
    """``GET`` a page of records, ``POST`` a new one."""

    serializer_in: ClassVar[type[StrictSerializer]]
    query_serializer = CursorParameters
    #: Order of the list, the last of it unique within the network.
    order: ClassVar[tuple[str, ...]] = ("uid",)

    def rows(self, **filters: Any) -> QuerySet[Any]:
        """The rows that the caller sees, narrowed by the query."""
        raise NotImplementedError

    def make(self, **fields: Any) -> Made:
        """Make one; inside a unit of work."""
        raise NotImplementedError

    def hold(self, items: Sequence[Mapping[str, Any]]) -> None:
        """Before several are made, lock what they stand on, in one order: two batches must not wait for each other."""

    def get(self, request: Request) -> HttpResponse:
        filters = dict(self.query)
        page = cursor_page(
            self.rows(**{name: value for name, value in filters.items() if name not in ("limit", "cursor")}),
            limit=filters["limit"],
            cursor=filters.get("cursor"),
            order=self.order,
        )
        answer = page.answer([row.told() for row in page.rows])
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)

    def post(self, request: Request) -> Response:
        fields = self.serializer_in.read(request)
        return answer_once(
            request,
            credential=self.credential,
            needed="id" not in fields,
            act=lambda: self._answer(request, *self._make(fields)),
        )

    def _make(self, fields: dict[str, Any]) -> Made:
        with unit_of_work(self.by):
            return self.make(**_with_uid(fields))

    def _answer(self, request: Request, record: NetworkRecord, new: bool) -> Response:
        address = f"{request.path}/{record.uid}"
        headers = {"ETag": etags.of_version(record.version), "Location": address, "Cache-Control": PRIVATE}
        return Response(record.told(), status=201 if new else 200, headers=headers)


class RecordBatchView(MemberView):
    """``POST`` up to 500 records: all of them, or none."""

    #: The list whose records these are.
    of: ClassVar[type[RecordListView]]

    def post(self, request: Request) -> Response:
        items = batch_of(self.of.serializer_in).read(request)["items"]
        return answer_once(
            request,
            credential=self.credential,
            needed=any("id" not in item for item in items),
            act=lambda: self._make(request, items),
        )

    def _make(self, request: Request, items: list[dict[str, Any]]) -> Response:
        maker = self.of()
        maker.request, maker.caller = request, self.caller
        made: list[Made] = []
        faults: list[Fault] = []
        conflict = False
        with unit_of_work(self.by):
            maker.hold(items)
            for index, fields in enumerate(items):
                try:
                    made.append(maker.make(**_with_uid(fields)))
                except DomainError as error:
                    conflict = conflict or isinstance(error, ConflictError)
                    problem = problem_from(error)
                    faults += [Fault(f"/items/{index}{f.pointer}", f.code, f.detail) for f in problem.errors]
            if faults:  # leaving the unit by a refusal undoes all of it
                raise Problem("conflict", faults[0].detail, errors=faults) if conflict else faults_problem(faults)
        results = [record.told() for record, _ in made]
        return Response({"results": results}, status=201 if any(new for _, new in made) else 200)


class RecordView(MemberView):
    """``GET``, ``PATCH`` and ``DELETE`` of one record."""

    #: The list that it stands in: its rows are those that may be seen.
    of: ClassVar[type[RecordListView]]
    serializer_change: ClassVar[type[StrictSerializer]]

    def change(self, record: Any, **fields: Any) -> None:
        """Correct it; its row is locked, inside a unit of work."""
        raise NotImplementedError

    def remove(self, record: Any) -> None:
        """Remove it; its row is locked, inside a unit of work."""
        raise NotImplementedError

    def hold(self, record_id: UUID, fields: Mapping[str, Any]) -> None:
        """Before the record is locked for a correction, lock what it stands on."""

    def rows(self) -> QuerySet[Any]:
        return rows_of(self.of, self)

    def get(self, request: Request, record_id: UUID) -> HttpResponse:
        record = get_object_or_404(self.rows(), uid=record_id)
        return etags.respond(request, etags.of_version(record.version), record.told, cache_control=PRIVATE)

    def patch(self, request: Request, record_id: UUID) -> Response:
        fields = self.serializer_change.read(request)
        with unit_of_work(self.by):
            self.hold(record_id, fields)
            record = etags.matching_row(request, self.rows(), uid=record_id)
            self.change(record, **fields)
        headers = {"ETag": etags.of_version(record.version), "Cache-Control": PRIVATE}
        return Response(record.told(), headers=headers)

    def delete(self, request: Request, record_id: UUID) -> Response:
        with unit_of_work(self.by):
            self.hold(record_id, {})
            self.remove(etags.matching_row(request, self.rows(), uid=record_id))
        return Response(status=204)


class RecordVersionsView(MemberView):
    """``GET`` a record as it stood, version by version."""

    of: ClassVar[type[RecordListView]]
    kind: ClassVar[str]
    query_serializer = CursorParameters

    def get(self, request: Request, record_id: UUID) -> HttpResponse:
        record = get_object_or_404(rows_of(self.of, self), uid=record_id)
        page = cursor_page(outbox_selectors.versions(self.kind, record.uid), order=("version",), **self.query)
        answer = page.answer(RecordVersionOut(page.rows, many=True).data)
        return etags.respond(request, etags.of_answer(answer), answer, cache_control=PRIVATE)


def rows_of(view: type[RecordListView], asked: MemberView) -> QuerySet[Any]:
    """The rows of a list as the caller of another view sees them."""
    listing = view()
    listing.request, listing.caller = asked.request, asked.caller
    return listing.rows()


@cache
def batch_of(serializer_in: type[StrictSerializer]) -> type[StrictSerializer]:
    """The body of a batch of such records."""
    name = f"{serializer_in.__name__.removesuffix('In')}BatchIn"
    items = StrictListField(child=serializer_in(), min_length=1, max_length=MOST_AT_ONCE)
    return type(name, (StrictSerializer,), {"items": items, "__doc__": f"Up to {MOST_AT_ONCE} at once."})


def _with_uid(fields: dict[str, Any]) -> dict[str, Any]:
    """``id`` is the client's word for it, ``uid`` the row's."""
    return {"uid" if name == "id" else name: value for name, value in fields.items()}
