"""A report as mail and as a page, from one page of words and one template."""

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


class Rendered(Record, frozen=True, kw_only=True):
    """A report ready to be sent and kept.

    ``subject``, ``text`` and ``html`` are the mail, whose long lists are cut; ``page`` is the whole report. Both name
    their pictures as ``cid:`` and a name of ``images`` (PNG files).
    """

    subject: str
    text: str
    html: str
    page: str
    images: dict[str, bytes]


def render(report: Report, *, charts: Mapping[str, str], link: str | None) -> Rendered:
    """Render a report.

    Parameters
    ----------
    report
        The report.
    charts
        SVG text of its charts, by their names in the report. One that is missing is told in words.
    link
        Where the whole report stands.
    """
    mail = page_of(report)
    # Unlike from day to day, so that no mail reader shows yesterday's picture in today's mail.
    names = {chart: f"{chart}@{report.on.isoformat()}.report" for chart in charts}
    return Rendered(
        subject=mail.subject,
        text=as_text(mail, link=link),
        html=_html(mail, names, link),
        page=_html(page_of(report, whole=True), names, None),
        images={name: png_of_svg(charts[chart], width_px=CHART_WIDTH_PX) for chart, name in names.items()},
    )


def with_pictures(html: str, images: Mapping[str, str]) -> str:
    """The HTML of a mail or a page for a browser: its pictures stand in it.

    Parameters
    ----------
    html
        As rendered; text that people typed is escaped there, so it cannot name a picture.
    images
        PNG files in base64, by name.
    """
    for name, image in images.items():
        html = html.replace(f'src="cid:{name}"', f'src="data:image/png;base64,{image}"')
    return html


def _html(page: Page, names: Mapping[str, str], link: str | None) -> str:
    alerts = [(group, names.get(group.chart.name) if group.chart else None) for group in page.alerts.shown]
    return render_to_string(
        "reports/report.html", {"page": page, "alerts": alerts, "link": link, "chart_width_px": CHART_SHOWN_PX}
    )
