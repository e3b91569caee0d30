"""Reads of reports that are written, and of who gets them."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from api.networks.models import Role
from api.networks.selectors import members
from api.reports.models import Report
from api.reports.rules.reading import reads_reports
from api.tenancy.models import User
from api.tenancy.scope import all_networks, network_scope

#: A report is never changed.
VERSION = 1


def reports(*, from_day: date | None = None, to_day: date | None = None) -> QuerySet[Report]:
    """Reports in short, without their lists; of days from one to another."""
    rows = Report.objects.select_related("letter").only(
        "on", "period_start", "period_end", "composed_at", "letter__subject"
    )
    days = {"on__gte": from_day, "on__lte": to_day}
    return rows.filter(**{name: day for name, day in days.items() if day}).annotate(totals=F("data__totals"))


def reports_whole() -> QuerySet[Report]:
    """Reports with their lists."""
    return Report.objects.select_related("letter").defer("page", "letter__text", "letter__html", "letter__images")


def reports_with_pictures() -> QuerySet[Report]:
    """Reports as pages."""
    return Report.objects.select_related("letter").defer("data", "letter__text", "letter__html")


def report_of(on: date) -> Report | None:
    """The report of a day."""
    return Report.objects.filter(on=on).first()


def report_for(user: User, report_id: UUID) -> Report | None:
    """A report of any network, for somebody who is signed in: if its network is theirs, and their role reads it."""
    with all_networks("a member follows the link of a report"):
        report = reports_with_pictures().filter(pk=report_id).first()
    if report is None:
        return None
    with network_scope(report.network_id):
        member = members().filter(user=user).first()
    return report if member is not None and reads_reports(member.role) else None


def in_short(report: Report) -> dict[str, Any]:
    """A report of :func:`reports`, as it stands in a list."""
    return {
        "id": report.pk,
        "version": VERSION,
        "on": report.on,
        "subject": report.letter.subject,
        "period_start": report.period_start,
        "period_end": report.period_end,
        "composed_at": report.composed_at,
        "totals": report.totals,
    }


def in_full(report: Report) -> dict[str, Any]:
    """A report of :func:`reports_whole`, with its lists."""
    return {"id": report.pk, "version": VERSION, "subject": report.letter.subject, **report.data}


def recipients() -> list[str]:
    """Addresses of those who get the report: coordinators who want it and may sign in."""
    wanting = members().filter(role=Role.COORDINATOR, wants_report=True, user__is_active=True)
    return list(wanting.values_list("user__email", flat=True))
