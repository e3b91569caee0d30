"""The operators' view of reports: the mail as it was sent, and whether it has left."""

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.html import format_html, format_html_join

from api.outbox.models import Mail
from api.reports.models import Report
from api.reports.rendering import with_pictures
from api.tenancy.admin import OperatorAdmin, ReadOnly


@admin.register(Report)
class ReportAdmin(ReadOnly, OperatorAdmin):
    list_display = ("on", "network", "subject", "composed_at")
    list_filter = ("network",)
    list_select_related = ("network", "letter")
    date_hierarchy = "on"
    fields = ("network", "on", "subject", "period_start", "period_end", "composed_at", "mails", "mail_as_sent")
    readonly_fields = fields

    def get_queryset(self, request: HttpRequest) -> QuerySet[Report]:
        return super().get_queryset(request).defer("data", "page", "letter__text", "letter__html", "letter__images")

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    @admin.display(description="Subject")
    def subject(self, report: Report) -> str:
        return report.letter.subject

    @admin.display(description="Mails")
    def mails(self, report: Report) -> str:
        mails = Mail.objects.filter(letter_id=report.letter_id).order_by("recipient")
        told = ((mail.recipient, mail.get_state_display().lower(), mail.last_error) for mail in mails)
        return format_html_join("", "{} ({}) {}<br>", told) or "No coordinator wanted it."

    @admin.display(description="As it was sent")
    def mail_as_sent(self, report: Report) -> str:
        """In a frame without rights: nothing in it can run or reach out."""
        return format_html(
            '<iframe sandbox="" title="The mail" srcdoc="{}" style="width:min(660px,75vw);height:80vh;'
            'border:1px solid #b5b5b5;background:#ffffff"></iframe>',
            with_pictures(report.letter.html, report.letter.images),
        )
