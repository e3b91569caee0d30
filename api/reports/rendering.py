"""A report as mail and as a page for the web, from one page of words and one template."""

from base64 import b64encode
from collections.abc import Mapping

from django.template.loader import render_to_string

from api.reports.rules.page import Page, page_of
from api.reports.rules.plain_text import as_text
from api.reports.rules.report import Report
from api.web.documents import png_of_svg
from species.domain.record import Record

#: Charts are drawn 360 units wide for a phone; twice that stays sharp on its screen.
CHART_WIDTH_PX = 720
#: Widest that a chart is shown.
CHART_SHOWN_PX = 360


class Picture(Record, frozen=True, kw_only=True):
    """A picture of a mail; the HTML names it as ``cid:`` and its ``content_id``."""

    name: str
    content_id: str
    png: bytes


class Rendered(Record, frozen=True, kw_only=True):
    """A report ready to be sent: one message with two alternatives and its pictures."""

    subject: str
    text: str
    html: str
    pictures: tuple[Picture, ...]


def as_mail(report: Report, *, charts: Mapping[str, str], link: str | None) -> Rendered:
    """Render a report as mail.

    Parameters
    ----------
    report
        The report.
    charts
        SVG text of its charts, by their names in the report.
    link
        Where the whole report stands.

    Raises
    ------
    KeyError
        Of a chart that the report names and ``charts`` lacks.
    """
    page = page_of(report)
    pictures = tuple(
        Picture(
            name=f"{chart.name}.png",
            content_id=f"{chart.name}@{report.on.isoformat()}.report",
            png=png_of_svg(charts[chart.name], width_px=CHART_WIDTH_PX),
        )
        for group in page.alerts.shown
        if (chart := group.chart) is not None
    )
    shown = {picture.name.removesuffix(".png"): f"cid:{picture.content_id}" for picture in pictures}
    return Rendered(
        subject=page.subject, text=as_text(page, link=link), html=_html(page, shown, link), pictures=pictures
    )


def as_web_page(report: Report, *, pictures: Mapping[str, bytes]) -> str:
    """Render a report for a browser: no list is cut, and its pictures are part of it.

    Parameters
    ----------
    report
        The report.
    pictures
        PNG files of its charts, by their names in the report; a chart without one is told in words.
    """
    shown = {name: f"data:image/png;base64,{b64encode(png).decode('ascii')}" for name, png in pictures.items()}
    return _html(page_of(report, whole=True), shown, None)


def _html(page: Page, pictures: Mapping[str, str], link: str | None) -> str:
    with_pictures = [
        (group, pictures.get(group.chart.name) if group.chart is not None else None) for group in page.alerts.shown
    ]
    return render_to_string(
        "reports/report.html",
        {"page": page, "alerts": with_pictures, "link": link, "chart_width_px": CHART_SHOWN_PX},
    )
