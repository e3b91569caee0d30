"""From looks to alerts: what opens, what goes on, what closes by itself.

All looks of a stretch of time are gone through anew, in the order they were made. So it does not matter in which order
they arrived, nor how often they are gone through; and a look that was corrected or taken back has never been.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

import msgspec

from api.alerts.rules.looks import GRAVITY, Look
from api.alerts.rules.quiet import Quiet, quiet_of
from api.growth.rules.findings import Finding
from api.web.rules.cautions import Severity
from species.domain.record import Record

Step = Literal["open", "keep", "escalate", "close"]


class OpenAlert(Record, frozen=True, kw_only=True):
    """An alert that has not ended, whether or not somebody has acknowledged it."""

    code: str
    severity: Severity
    last_found_at: datetime


class Transition(Record, frozen=True, kw_only=True):
    """What becomes of one code.

    Attributes
    ----------
    step
        ``open`` a new alert; ``keep`` the open one as it is; ``escalate`` it to ``severity``; ``close`` it.
    severity
        The gravest since it opened: an alert grows no milder while it is open.
    finding
        What to show: when opened or escalated the gravest finding of its severity, when kept the last one; null where
        it closes, or is kept by looks before those given.
    last_found_at
        The look at which it was found last.
    withdrawn
        It closes because the looks that had found it find it no more: a record was corrected.
    """

    code: str
    step: Step
    severity: Severity
    finding: Finding | None = None
    last_found_at: datetime
    withdrawn: bool = False


@dataclass
class _Run:
    """A finding from the look at which it was first found, until it has been quiet long enough."""

    code: str
    severity: Severity
    last_found_at: datetime
    last: Finding | None = None
    gravest: Finding | None = None
    clear: list[datetime] = field(default_factory=list)

    def found(self, finding: Finding, at: datetime) -> None:
        since = min(finding.since, self.last.since) if self.last else finding.since
        self.last, self.last_found_at, self.clear = msgspec.structs.replace(finding, since=since), at, []
        if self.gravest is None or GRAVITY.index(finding.severity) >= GRAVITY.index(self.gravest.severity):
            self.gravest = self.last
        self.severity = graver(self.severity, finding.severity)

    def over(self, at: datetime, quiet: Quiet) -> bool:
        apart = self.clear[-1] - self.clear[0] if self.clear else timedelta()
        return (
            len(self.clear) >= quiet.looks
            and apart >= timedelta(hours=quiet.apart_h)
            and at - self.last_found_at >= timedelta(hours=quiet.since_found_h)
        )


def graver(one: Severity, other: Severity) -> Severity:
    """The one that leaves less time."""
    return max(one, other, key=GRAVITY.index)


def transitions(
    looks: Iterable[Look],
    alerts: Iterable[OpenAlert],
    *,
    now: datetime,
    settled: Mapping[str, datetime] | None = None,
    covered_from: datetime | None = None,
    quiet: Callable[[str, Severity], Quiet] = quiet_of,
) -> tuple[Transition, ...]:
    """Say what becomes of the alerts of one bird, or one site.

    Parameters
    ----------
    looks
        Of one kind (weight, crop, feeds, deaths), in any order, from ``covered_from`` on without a gap.
    alerts
        Its open alerts of the same kind.
    now
        The present instant, UTC: some alerts close by time alone.
    settled
        For a code, when a person closed its last alert: what was found until then is dealt with.
    covered_from
        From when on all looks are given; null stands for the first of them. An alert found last before it goes on
        until the looks given are clear; one found last after it and found there no more is withdrawn.
    quiet
        What ends an alert, by its code and the severity that it reached.

    Returns
    -------
    tuple of Transition
        By code; none for a code that is neither open nor found.
    """
    in_time = sorted(looks, key=lambda look: look.at)
    start = covered_from or (in_time[0].at if in_time else None)
    open_now = {alert.code: alert for alert in alerts}
    codes = sorted(open_now.keys() | {finding.code for look in in_time for finding in look.findings})
    return tuple(_transitions(codes, in_time, open_now, now, settled or {}, start, quiet))


def _transitions(  # noqa: PLR0913
    codes: Sequence[str],
    looks: Sequence[Look],
    alerts: Mapping[str, OpenAlert],
    now: datetime,
    settled: Mapping[str, datetime],
    start: datetime | None,
    quiet: Callable[[str, Severity], Quiet],
) -> Iterator[Transition]:
    for code in codes:
        alert, dealt_with = alerts.get(code), settled.get(code)
        heard = [look for look in looks if look.speaks_of(code) and (dealt_with is None or look.at > dealt_with)]
        before = alert if alert and (start is None or alert.last_found_at < start) else None
        found, run = _gone_through(code, heard, before, now, quiet)
        if run is not None:
            yield _standing(run, alert)
        elif alert is not None:
            yield Transition(
                code=code,
                step="close",
                severity=alert.severity,
                last_found_at=alert.last_found_at,
                withdrawn=before is None and not found,
            )


def _gone_through(
    code: str, looks: Sequence[Look], before: OpenAlert | None, now: datetime, quiet: Callable[[str, Severity], Quiet]
) -> tuple[bool, _Run | None]:
    """Whether the code was found at all, and the run that still goes on."""
    run = _Run(code, before.severity, before.last_found_at) if before else None
    ever = False
    for look in looks:
        if run is not None and run.over(look.at, quiet(code, run.severity)):
            run = None
        finding = look.found(code)
        if finding is None:
            if run is not None:
                run.clear.append(look.at)
            continue
        ever = True
        run = run or _Run(code, finding.severity, look.at)
        run.found(finding, look.at)
    if run is not None and run.over(now, quiet(code, run.severity)):
        run = None
    return ever, run


def _standing(run: _Run, alert: OpenAlert | None) -> Transition:
    severity = graver(run.severity, alert.severity) if alert else run.severity
    rises = alert is not None and severity is not alert.severity
    step: Step = "open" if alert is None else "escalate" if rises else "keep"
    return Transition(
        code=run.code,
        step=step,
        severity=severity,
        finding=run.last if step == "keep" else run.gravest,
        last_found_at=run.last_found_at,
    )
