"""Looks: moments at which a bird or a site was judged, and what was found then."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from api.growth.rules.findings import Finding
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Severity
from species.domain.record import Record

#: Least first.
GRAVITY = (Severity.NOTE, Severity.ACT_TODAY, Severity.URGENT)
_WITHIN_H = {Severity.URGENT: URGENT_WITHIN_H, Severity.ACT_TODAY: ACT_TODAY_WITHIN_H}


class Look(Record, frozen=True, kw_only=True):
    """One moment, what could be told then and what was found.

    Attributes
    ----------
    at
        When the weighing, crop check, feed or outcome was, UTC.
    judged
        Codes that this look can speak of. What is judged and not found was clear; what is not judged stays as it was.
    findings
        What was found; their codes count as judged.
    """

    at: datetime
    judged: frozenset[str]
    findings: tuple[Finding, ...] = ()

    def speaks_of(self, code: str) -> bool:
        """Whether this look tells anything of a code."""
        return code in self.judged or self.found(code) is not None

    def found(self, code: str) -> Finding | None:
        """The finding of a code, if it was there."""
        return next((finding for finding in self.findings if finding.code == code), None)


def finding_of(
    code: str,
    severity: Severity,
    *,
    since: datetime,
    text: str,
    evidence: dict[str, Any],
    sources: Sequence[str],
    actions: Sequence[str],
) -> Finding:
    """A finding with the time that its severity leaves, its sources among the evidence."""
    return Finding(
        code=code,
        severity=severity,
        act_within_h=_WITHIN_H.get(severity),
        since=since,
        text=text,
        evidence={**evidence, "sources": list(dict.fromkeys(sources))},
        actions=tuple(dict.fromkeys(actions)),
    )
