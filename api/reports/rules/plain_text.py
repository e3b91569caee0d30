"""A report's page as plain text: for readers that show no HTML, and for a screen reader's ear."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from api.reports.rules.page import BirdAlerts, Cut, NeedLine, Page, SiteNight

#: Common practice for plain mail, no source: a quoted line still fits a terminal.
WIDTH = 76


def as_text(page: Page, *, link: str | None) -> str:
    """The page as lines of text.

    Parameters
    ----------
    page
        What to say.
    link
        Where the whole report stands.
    """
    return "\n".join(_lines(page, link)) + "\n"


def _lines(page: Page, link: str | None) -> Iterator[str]:
    yield from _wrapped(f"{page.network}, {page.day}")
    yield ""
    yield from _wrapped(page.headline)
    if page.quiet:
        yield from _wrapped(page.quiet)

    if page.needs.shown or page.not_weighed_only:
        yield from _heading("Needs you today")
        for need in page.needs.shown:
            yield from _need(need)
        yield from _more(page.needs.more, link)
        if page.not_weighed_only:
            yield from _wrapped(page.not_weighed_only)

    if page.alerts.shown:
        yield from _heading(page.alerts_heading)
        for group in page.alerts.shown:
            yield from _alerts(group)
        yield from _more(page.alerts.more, link)
    yield from _list(page.missed_heading, page.missed, link)
    if page.night.shown:
        yield from _heading(page.night_heading)
        for site in page.night.shown:
            yield from _night(site)
        yield from _more(page.night.more, link)
    yield from _list(page.outcomes_heading, page.outcomes, link)

    yield from _heading(page.birds_heading)
    for counts in page.census:
        shown = ", ".join(f"{name} ({number})" for name, number in counts.counts.shown)
        more = f", {counts.counts.more}" if counts.counts.more else ""
        yield from _wrapped(f"{counts.by}: {shown}{more}")
    yield ""
    for caution in page.cautions:
        yield from _wrapped(caution)
    yield from _wrapped(page.covers)
    if link:
        yield from ("The whole report:", link)


def _heading(text: str) -> Iterator[str]:
    yield from ("", text.upper(), "-" * len(text))


def _need(need: NeedLine) -> Iterator[str]:
    yield from _wrapped(f"{need.how_soon.upper() if need.urgent else need.how_soon.capitalize()}")
    yield from _wrapped(f"{need.who}, {need.where}", indent="  ")
    for why in need.whys:
        yield from _wrapped(why, indent="  ")
    for step in need.what_to_do:
        yield from _wrapped(step, indent="    ", first="  - ")
    yield ""


def _alerts(group: BirdAlerts) -> Iterator[str]:
    yield from _wrapped(f"{group.who}, {group.where}")
    for alert in group.alerts:
        new = "New. " if alert.new else ""
        yield from _wrapped(f"{new}{alert.severity}. {alert.text} {alert.standing}", indent="  ")
        for step in alert.actions:
            yield from _wrapped(step, indent="    ", first="  - ")
    if group.chart:
        yield from _wrapped(group.chart.text, indent="  ")
    yield ""


def _night(site: SiteNight) -> Iterator[str]:
    yield from _wrapped(site.site)
    for at, portions in site.feeds:
        yield from _wrapped(portions, indent=" " * 9, first=f"  {at}  ")


def _list(heading: str, cut: Cut[str], link: str | None) -> Iterator[str]:
    if cut.shown:
        yield from _heading(heading)
        for line in cut.shown:
            yield from _wrapped(line, indent="  ", first="- ")
        yield from _more(cut.more, link)


def _more(more: str | None, link: str | None) -> Iterator[str]:
    if more:
        yield from _wrapped(f"... {more}{', in the whole report below' if link else ''}.")


def _wrapped(text: str, *, indent: str = "", first: str | None = None) -> Sequence[str]:
    return wrap(text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent) or [""]
