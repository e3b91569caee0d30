"""The operators' view of alerts: to read. They are answered over the API, by those who look after the birds."""

from django.contrib import admin
from django.http import HttpRequest

from api.alerts.models import Alert
from api.tenancy.admin import OperatorAdmin, ReadOnly


@admin.register(Alert)
class AlertAdmin(ReadOnly, OperatorAdmin):
    list_display = ("opened_at", "network", "site", "bird", "code", "severity", "state", "resolution")
    list_filter = ("state", "severity", "code", "resolution")
    list_select_related = ("network", "site", "bird")
    search_fields = ("code", "bird__name", "site__name", "uid")
    date_hierarchy = "opened_at"
    fields = (
        "uid",
        "version",
        "network",
        "site",
        "bird",
        "code",
        "severity",
        "state",
        "since",
        "opened_at",
        "escalated_at",
        "last_found_at",
        "act_within_h",
        "text",
        "evidence",
        "actions",
        "acknowledged_at",
        "acknowledged_by_user",
        "snoozed_until",
        "resolved_at",
        "resolution",
        "note",
        "recorded_at",
        "changed_at",
    )
    readonly_fields = fields

    def has_delete_permission(self, request: HttpRequest, obj: Alert | None = None) -> bool:
        return False
