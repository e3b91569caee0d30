"""Writing a network's report of a day: once, with its mails and its event, or not at all."""

import msgspec
from django.conf import settings
from django.db import IntegrityError

from api.jobs.models import Job
from api.jobs.rules.due import Slot, latest_slot
from api.outbox.services import happened, letter_send, unit_of_work
from api.reports.models import Report
from api.reports.rendering import render
from api.reports.rules.composing import compose
from api.reports.selectors.mornings import morning_of
from api.reports.selectors.reports import VERSION, recipients, report_of
from api.tenancy.ids import new_id
from api.tenancy.models import Network
from api.tenancy.scope import network_scope
from api.web import clock
from species.domain.localtime import zone_named


def report_run(job: Job) -> None:
    """What a job of this kind does. A morning that has passed while nobody worked is not told any more."""
    network = Network.objects.get(pk=job.network_id)
    slot = msgspec.convert(job.told, Slot)
    if latest_slot(clock.now(), zone_named(network.time_zone), network.report_at).on <= slot.on:
        report_compose(network=network, slot=slot)


def report_compose(*, network: Network, slot: Slot) -> Report:
    """Compose, keep and send the report of a slot, in one transaction; where it is written already, find it.

    Parameters
    ----------
    network
        Whose report.
    slot
        The local day. It covers what happened since the last report, or in the slot's own period where there is none.
    """
    with network_scope(network):
        written = report_of(slot.on)
        return written or _write(network, slot)


def _write(network: Network, slot: Slot) -> Report:
    morning = morning_of(network, slot)
    report = compose(
        morning.occasion,
        birds=morning.birds,
        alerts=morning.alerts,
        drawn=morning.drawn,
        outcomes=morning.outcomes,
    )
    row = Report(
        id=new_id(),
        on=report.on,
        period_start=report.period_start,
        period_end=report.period_end,
        composed_at=report.composed_at,
        data=msgspec.json.decode(msgspec.json.encode(report)),
    )
    rendered = render(report, charts=morning.charts, link=link_to(row))
    row.page = rendered.page
    try:
        with unit_of_work():
            row.letter = letter_send(
                subject=rendered.subject,
                text=rendered.text,
                html=rendered.html,
                images=rendered.images,
                recipients=recipients(),
            )
            row.save(force_insert=True)
            happened("report.published", record_id=row.pk, version=VERSION, href=f"/api/v1/reports/{row.pk}")
    except IntegrityError:  # composed twice at once, and the other was faster
        written = report_of(slot.on)
        if written is None:
            raise
        return written
    return row


def link_to(report: Report) -> str | None:
    """Where a member reads the whole report in a browser; none where this service does not know its own address."""
    return f"{settings.PUBLIC_URL}/reports/{report.pk}" if settings.PUBLIC_URL else None
