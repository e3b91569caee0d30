"""What of a report stands on its page, in words: read at breakfast, so long lists are cut and say by how much.

The same page is drawn as HTML and written as plain text, so both say the same.
"""

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Generic, TypeVar

from api.reports.rules.composing import MOST_CHARTS
from api.reports.rules.report import (
    Alert,
    Chart,
    Count,
    MissedWeighing,
    Need,
    NeedsYou,
    NightFeed,
    Outcome,
    Report,
)
from api.reports.rules.wording import (
    SEVERITY_WORDS,
    counted,
    day,
    day_and_time,
    heading,
    one_line,
    outcome_words,
    sentences,
    within,
)
from api.web.rules.cautions import Severity
from species.domain.localtime import zone_named
from species.domain.record import Record

Row = TypeVar("Row")
Line = TypeVar("Line")

#: Lines of a list on a page that is mailed. The most pressing stand first, so what is cut is the least.
MOST_NEEDS, MOST_LINES, MOST_COUNTS, MOST_IN_ONE_FEED = 15, 15, 8, 6
#: Of one bird: why it needs somebody, what to do, and its alerts.
MOST_WHYS, MOST_STEPS, MOST_ALERTS_OF_ONE = 3, 5, 3


SEVERAL = {
    "species": "species",
    "bird that needs you": "birds that need you",
    "bird with an alert": "birds with alerts",
}


class Cut(Record, Generic[Line], frozen=True, kw_only=True):
    """The beginning of a list, and what is not shown of it in words, where anything is."""

    shown: tuple[Line, ...]
    more: str | None


class NeedLine(Record, frozen=True, kw_only=True):
    """Who needs somebody: why, how soon, what to do."""

    who: str
    where: str
    how_soon: str
    urgent: bool
    whys: tuple[str, ...]
    what_to_do: tuple[str, ...]


class AlertLine(Record, frozen=True, kw_only=True):
    """One alert in words."""

    severity: str
    urgent: bool
    new: bool
    text: str
    standing: str
    actions: tuple[str, ...]


class BirdAlerts(Record, frozen=True, kw_only=True):
    """Alerts of one bird, with its chart."""

    who: str
    where: str
    alerts: tuple[AlertLine, ...]
    chart: Chart | None


class SiteNight(Record, frozen=True, kw_only=True):
    """Tonight at one site: time and portions of each feed."""

    site: str
    feeds: tuple[tuple[str, str], ...]


class Counts(Record, frozen=True, kw_only=True):
    """Birds counted one way."""

    by: str
    counts: Cut[tuple[str, int]]


class Page(Record, frozen=True, kw_only=True):
    """A report in words, section by section; a section without lines has a sentence of its own."""

    subject: str
    network: str
    day: str
    headline: str
    covers: str
    quiet: str | None
    needs: Cut[NeedLine]
    not_weighed_only: str | None
    alerts_heading: str
    alerts: Cut[BirdAlerts]
    missed_heading: str
    missed: Cut[str]
    night_heading: str
    night: Cut[SiteNight]
    outcomes_heading: str
    outcomes: Cut[str]
    birds_heading: str
    census: tuple[Counts, ...]
    cautions: tuple[str, ...]


def page_of(report: Report, *, whole: bool = False) -> Page:
    """The page of a report.

    Parameters
    ----------
    report
        The report.
    whole
        True to cut no list, for a screen that scrolls.
    """
    network = one_line(report.network)
    pressing = [one for one in report.needs_you if one.reasons[0].need is not Need.NOT_WEIGHED]
    only_unweighed = len(report.needs_you) - len(pressing)
    headline = headline_of(report)

    def cut(rows: Iterable[Row], most: int, what: str, worded: Callable[[Row], Line]) -> Cut[Line]:
        return cut_to(rows, None if whole else most, what, worded)

    needs = cut(pressing, MOST_NEEDS, "bird that needs you", lambda one: _need(one, whole))
    told_above = {
        one.bird_id: frozenset(line.what_to_do) for one, line in zip(pressing, needs.shown, strict=False) if one.bird_id
    }
    grouped = [tuple(group) for _, group in groupby(report.alerts, key=lambda alert: alert.bird_id or alert.id)]

    def alerts_of_one(alerts: Sequence[Alert]) -> BirdAlerts:
        told = told_above.get(alerts[0].bird_id, frozenset()) if alerts[0].bird_id else frozenset()
        return _bird_alerts(alerts, report, told, whole)

    nights = [tuple(group) for _, group in groupby(report.night_feeds, key=lambda feed: feed.site)]
    return Page(
        subject=heading(f"{headline}: {network}, {day(report.on)}"),
        network=network,
        day=f"{day(report.on)} {report.on.year}",
        headline=f"{headline}.",
        covers=_covers(report),
        quiet=_quiet(report),
        needs=needs,
        not_weighed_only=f"{counted(only_unweighed, 'bird')} to weigh: see below." if only_unweighed else None,
        alerts_heading=_alerts_heading(report),
        alerts=cut(grouped, MOST_CHARTS, "bird with an alert", alerts_of_one),
        missed_heading=f"Not weighed yesterday: {report.totals.missed_weighings}",
        missed=cut(report.missed_weighings, MOST_LINES, "bird", lambda one: _missed(one, report)),
        night_heading=f"Night feeds tonight: {report.totals.night_feeds}",
        night=cut(nights, MOST_LINES, "site", lambda feeds: _night(feeds, whole)),
        outcomes_heading=f"Outcomes since the last report: {report.totals.outcomes}",
        outcomes=cut(report.outcomes, MOST_LINES, "outcome", lambda one: _outcome(one, report)),
        birds_heading=f"In care: {counted(report.totals.birds, 'bird')}",
        census=tuple(
            Counts(by=by, counts=cut(rows, MOST_COUNTS, what, lambda count: (_named(count), count.birds)))
            for by, what, rows in (
                ("Species", "species", report.census.by_species),
                ("Stage", "stage", report.census.by_stage),
                ("Site", "site", report.census.by_site),
            )
        )
        if report.totals.birds
        else (),
        cautions=tuple(caution.text for caution in report.cautions),
    )


def headline_of(report: Report) -> str:
    """The most urgent fact first: who needs you at once, who today, how many are to be weighed."""
    pressing = [one for one in report.needs_you if one.reasons[0].need is not Need.NOT_WEIGHED]
    at_once = sum(one.reasons[0].severity is Severity.URGENT for one in pressing)
    later, unweighed = len(pressing) - at_once, len(report.needs_you) - len(pressing)
    said = []
    if at_once:
        said.append(f"{_needing(pressing, at_once)} you at once")
    if at_once and later:
        said.append(f"{later} more today")
    elif later:
        said.append(f"{_needing(pressing, later)} you today")
    if unweighed:
        said.append(f"{unweighed} to weigh" if said else f"{counted(unweighed, 'bird')} to weigh")
    if said:
        return ", ".join(said)
    return "No bird is in care" if not report.totals.birds else "No bird waits for you"


def cut_to(rows: Iterable[Row], most: int | None, what: str, worded: Callable[[Row], Line]) -> Cut[Line]:
    """The first ``most`` rows in words, and how many more there are."""
    every = list(rows)
    shown = every if most is None else every[:most]
    left = len(every) - len(shown)
    return Cut(
        shown=tuple(worded(row) for row in shown),
        more=f"and {left} more {what if left == 1 else SEVERAL.get(what, f'{what}s')}" if left else None,
    )


def _needing(needing: Sequence[NeedsYou], number: int) -> str:
    what = "bird" if all(one.bird is not None for one in needing) else "case"
    return f"{counted(number, what)} {'needs' if number == 1 else 'need'}"


def _covers(report: Report) -> str:
    zone = zone_named(report.time_zone)
    start, end = report.period_start.astimezone(zone), report.period_end.astimezone(zone)
    return f"From {day(start.date())}, {start:%H:%M}, to {day(end.date())}, {end:%H:%M}. Times are of {zone.key}."


def _quiet(report: Report) -> str | None:
    """A report with nothing to say says so."""
    if report.needs_you or report.alerts or report.missed_weighings:
        return None
    if not report.totals.birds:
        return "No bird is in care and no alert is open."
    return "No alert is open, every bird was weighed."


def _need(needing: NeedsYou, whole: bool) -> NeedLine:
    first = needing.reasons[0]
    whys = dict.fromkeys(sentences(reason.why) for reason in needing.reasons)
    steps = dict.fromkeys(sentences(step) for reason in needing.reasons for step in reason.what_to_do)
    return NeedLine(
        who=_who(needing.bird, needing.species),
        where=one_line(needing.site),
        how_soon=within(first.within_h),
        urgent=first.severity is Severity.URGENT,
        whys=tuple(whys)[: None if whole else MOST_WHYS],
        what_to_do=tuple(steps)[: None if whole else MOST_STEPS],
    )


def _alerts_heading(report: Report) -> str:
    new = f", {report.totals.new_alerts} new" if report.totals.new_alerts else ""
    return f"Open alerts: {report.totals.alerts}{new}"


def _bird_alerts(alerts: Sequence[Alert], report: Report, told_above: frozenset[str], whole: bool) -> BirdAlerts:
    """Alerts of one bird; a step that stands above, where the bird needs somebody today, is not told again."""
    first = alerts[0]
    return BirdAlerts(
        who=_who(first.bird, first.species),
        where=one_line(first.site),
        alerts=tuple(
            AlertLine(
                severity=SEVERITY_WORDS[alert.severity],
                urgent=alert.severity is Severity.URGENT,
                new=alert.new,
                text=sentences(alert.text),
                standing=_standing(alert, report),
                actions=tuple(step for action in alert.actions if (step := sentences(action)) not in told_above),
            )
            for alert in alerts[: None if whole else MOST_ALERTS_OF_ONE]
        ),
        chart=first.chart,
    )


def _standing(alert: Alert, report: Report) -> str:
    said = [f"Since {day_and_time(alert.since, report)}."]
    if alert.acknowledged_at is None:
        said.append("Nobody has acknowledged it yet.")
    else:
        by = f" by {one_line(alert.acknowledged_by)}" if alert.acknowledged_by else ""
        said.append(f"Acknowledged{by}, {day_and_time(alert.acknowledged_at, report)}.")
    if alert.snoozed_until is not None and alert.snoozed_until > report.composed_at:
        said.append(f"Put off until {day_and_time(alert.snoozed_until, report)}.")
    return " ".join(said)


def _missed(missed: MissedWeighing, report: Report) -> str:
    last = (
        "never weighed here"
        if missed.last_weighed_at is None
        else f"last weighed {day_and_time(missed.last_weighed_at, report)}"
    )
    return f"{_who(missed.bird, missed.species)}, {one_line(missed.site)}: {last}"


def _night(feeds: Sequence[NightFeed], whole: bool) -> SiteNight:
    return SiteNight(
        site=one_line(feeds[0].site),
        feeds=tuple((f"{feed.at:%H:%M}", _portions(feed, whole)) for feed in feeds),
    )


def _portions(feed: NightFeed, whole: bool) -> str:
    told = cut_to(
        feed.portions,
        None if whole else MOST_IN_ONE_FEED,
        "bird",
        lambda one: f"{one_line(one.bird)} {one_line(one.portion)}".strip(),
    )
    return ", ".join(told.shown) + (f", {told.more}" if told.more else "")


def _outcome(outcome: Outcome, report: Report) -> str:
    causes = f" ({', '.join(one_line(cause.replace('_', ' ')) for cause in outcome.causes)})" if outcome.causes else ""
    when = day_and_time(outcome.at, report)
    return (
        f"{_who(outcome.bird, outcome.species)}, {one_line(outcome.site)}: "
        f"{outcome_words(outcome.kind)}, {when}{causes}"
    )


def _named(count: Count) -> str:
    return one_line(count.name) if count.name else "not known"


def _who(bird: str | None, species: str | None) -> str:
    if bird is None:
        return "The whole site"
    return f"{one_line(bird)}, {one_line(species)}" if species else one_line(bird)
