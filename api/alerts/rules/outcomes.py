"""Deaths at a site: two within two days, and something there may be killing them."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from api.alerts.rules.looks import Look, finding_of
from api.birds.rules.words import OutcomeKind
from api.growth.rules.findings import ASK_VET, Finding
from api.web.rules.cautions import Severity
from species.domain.record import Record

CODES = frozenset({"cluster_of_deaths"})
#: Hazard 33: two deaths at a site in 48 h.
TOGETHER_H, TOGETHER = 48.0, 2
#: A bird put down within its first day in care had come with what it was put down for. Common practice, no source.
CAME_WITH_IT_H = 24.0


class Death(Record, frozen=True, kw_only=True):
    """The outcome of a bird of the site, whatever its kind, in UTC; ``bird`` is its public id."""

    bird: str
    at: datetime
    kind: OutcomeKind
    admitted_at: datetime


def counts(death: Death) -> bool:
    """Whether what ended a bird may be at the site.

    A bird that died does, at whatever hour: the first day is when heat, food and handling kill. One that was dead on
    arrival does not: the site never had it. One that was put down does, for an outbreak is ended so, except in its
    first day in care, when injured wild birds are put down for what they came with.
    """
    if death.kind is OutcomeKind.EUTHANISED:
        return death.at - death.admitted_at >= timedelta(hours=CAME_WITH_IT_H)
    return death.kind is OutcomeKind.DIED


def outcome_looks(deaths: Iterable[Death]) -> tuple[Look, ...]:
    """Judge each death at a site together with those of the 48 h before it, in order of time."""
    counted = sorted((death for death in deaths if counts(death)), key=lambda death: (death.at, death.bird))
    looks = []
    for place, death in enumerate(counted, start=1):
        near = [one for one in counted[:place] if death.at - one.at <= timedelta(hours=TOGETHER_H)]
        if len(near) >= TOGETHER:
            looks.append(Look(at=death.at, judged=CODES, findings=(_cluster(near),)))
    return tuple(looks)


def _cluster(near: list[Death]) -> Finding:
    hours = (near[-1].at - near[0].at) / timedelta(hours=1)
    return finding_of(
        "cluster_of_deaths",
        Severity.URGENT,
        since=near[0].at,
        text=f"{len(near)} birds died here within {max(round(hours), 1)} hours: it may be something at this site.",
        evidence={
            "deaths": [{"bird_id": one.bird, "at": one.at.isoformat(), "kind": one.kind.value} for one in near],
            "hours": round(hours, 1),
        },
        sources=("COMMON practice",),
        actions=(
            "Look at every bird here now: warmth of the brooders, breathing, crop, droppings.",
            "Fumes, overheating, a new bag of food, one pot for all: stop whatever they shared.",
            "No bird in, none out; gloves and a mask, for some of these diseases pass to people.",
            "Keep the bodies cold, not frozen, for a vet to open.",
            ASK_VET,
        ),
    )
