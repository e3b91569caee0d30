"""Alerts: read, and answered. They are opened and ended by looks at what is recorded."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.alerts import selectors, services
from api.alerts.models import Alert
from api.alerts.serializers import AcknowledgeIn, AlertOut, AlertParameters, ResolveIn, SnoozeIn
from api.networks.rules.roles import Part
from api.networks.views.described import NOT_MODIFIED, described_list, described_versions
from api.networks.views.records import PRIVATE, MemberView, RecordListView, RecordVersionsView, rows_of
from api.outbox.services import unit_of_work
from api.web import etags
from api.web.idempotency import IDEMPOTENCY_KEY, answer_once
from api.web.strict import StrictSerializer

READ, WRITE = "alerts:read", "alerts:write"
IF_MATCH_IF_SENT = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    description=(
        'Not needed. With the ETag of the version that you have seen, such as `"3"`, the answer is refused with 412 '
        "where the alert has changed meanwhile."
    ),
)


@described_list("alert", "alerts", AlertOut, writes=False)
class AlertListView(RecordListView):
    http_method_names = ["get", "head", "options"]
    part = Part.ALERTS
    required_scopes = {"GET": READ}
    query_serializer = AlertParameters
    order = ("-opened_at", "-uid")

    def rows(self, **filters: Any) -> QuerySet[Alert]:
        return selectors.alerts(self.caller, **filters)


class AlertView(MemberView):
    part = Part.ALERTS
    required_scopes = {"GET": READ}

    @extend_schema(operation_id="alerts_retrieve", summary="One alert", responses={200: AlertOut, 304: NOT_MODIFIED})
    def get(self, request: Request, record_id: UUID) -> HttpResponse:
        alert = get_object_or_404(rows_of(AlertListView, self), uid=record_id)
        return etags.respond(request, etags.of_version(alert.version), alert.told, cache_control=PRIVATE)


@described_versions("alert", "alerts")
class AlertVersionsView(RecordVersionsView):
    part = Part.ALERTS
    required_scopes = {"GET": READ}
    of = AlertListView
    kind = Alert.KIND


def _described(verb: str, summary: str, body: type[StrictSerializer]) -> Any:
    return extend_schema(
        operation_id=f"alerts_{verb}",
        summary=summary,
        parameters=[IF_MATCH_IF_SENT, IDEMPOTENCY_KEY],
        request=body,
        responses=AlertOut,
    )


class AlertAnswerView(MemberView):
    """What somebody says to an alert: it is locked, answered, and told as it then stands."""

    part = Part.ALERTS
    required_scopes = {"POST": WRITE}
    also_answers = (412,)
    serializer_in: ClassVar[type[StrictSerializer]]

    def say(self, alert: Alert, **fields: Any) -> None:
        """Answer it; its row is locked, inside a unit of work."""
        raise NotImplementedError

    def answer(self, request: Request, record_id: UUID) -> Response:
        fields = self.serializer_in.read(request)
        return answer_once(
            request, credential=self.credential, needed=False, act=lambda: self._said(request, record_id, fields)
        )

    def _said(self, request: Request, record_id: UUID, fields: dict[str, Any]) -> Response:
        with unit_of_work(self.by):
            rows = rows_of(AlertListView, self).select_for_update(of=("self",))
            alert = get_object_or_404(rows, uid=record_id)
            if request.headers.get("If-Match", "").strip():
                etags.require_match(request, etags.of_version(alert.version))
            self.say(alert, **fields)
        headers = {"ETag": etags.of_version(alert.version), "Cache-Control": PRIVATE}
        return Response(alert.told(), headers=headers)


class AlertAcknowledgeView(AlertAnswerView):
    serializer_in = AcknowledgeIn

    def say(self, alert: Alert, **fields: Any) -> None:
        services.alert_acknowledge(alert, user_id=self.caller.user_id, **fields)

    @_described("acknowledge", "Say that somebody has seen it and is at it; twice is once", AcknowledgeIn)
    def post(self, request: Request, record_id: UUID) -> Response:
        return self.answer(request, record_id)


class AlertResolveView(AlertAnswerView):
    serializer_in = ResolveIn

    def say(self, alert: Alert, **fields: Any) -> None:
        services.alert_resolve(alert, **fields)

    @_described("resolve", "End an alert by hand, and say why", ResolveIn)
    def post(self, request: Request, record_id: UUID) -> Response:
        return self.answer(request, record_id)


class AlertSnoozeView(AlertAnswerView):
    serializer_in = SnoozeIn

    def say(self, alert: Alert, **fields: Any) -> None:
        services.alert_snooze(alert, **fields)

    @_described("snooze", "Put an alert off, for no longer than its severity leaves", SnoozeIn)
    def post(self, request: Request, record_id: UUID) -> Response:
        return self.answer(request, record_id)
