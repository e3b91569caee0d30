"""All that a morning's report is composed from, as it stands in the rooms below."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from functools import cache
from typing import Any
from uuid import UUID

from django.db.models import Max

from api.alerts.models import Alert
from api.alerts.selectors import alerts_not_resolved
from api.birds.models import Bird, Weighing
from api.birds.rules.words import WeighingState
from api.birds.selectors import birds_in_care
from api.growth.rules.chart import assessment_chart
from api.growth.selectors.stored import growth_of
from api.jobs.rules.due import Slot
from api.plans.selectors.stored import plan_of, with_plans
from api.reports.models import Report
from api.reports.rules.composing import birds_to_draw, chart_name
from api.reports.rules.from_growth import weights_drawn
from api.reports.rules.from_plan import plan_seen
from api.reports.rules.report import Outcome
from api.reports.rules.seen import AlertSeen, BirdSeen, Occasion, QuestionedWeight, WeightsDrawn
from api.tenancy.models import Network
from api.web import clock
from api.web.rules.cautions import Severity
from species.domain.errors import ConflictError, DomainError
from species.domain.record import Record
from species.selectors import profile_get

#: Weighings that are held to be true.
BELIEVED = (WeighingState.ACCEPTED, WeighingState.CONFIRMED)
#: An outcome that is recorded later than this is history, and no news.
NEWS_FOR = timedelta(days=30)


#: What the species of a bird is called.
NameOf = Callable[[Bird], str]


class Morning(Record, frozen=True, kw_only=True):
    """What is known this morning; ``charts`` is the SVG text of what is drawn, by its name in the report."""

    occasion: Occasion
    birds: tuple[BirdSeen, ...]
    alerts: tuple[AlertSeen, ...]
    drawn: tuple[WeightsDrawn, ...]
    charts: dict[str, str]
    outcomes: tuple[Outcome, ...]


def morning_of(network: Network, slot: Slot) -> Morning:
    """Collect a morning of the network in scope, in as many queries for a thousand birds as for one."""
    began, name_of = _began(slot), _species_names()
    rows = tuple(birds_in_care())
    alerts = tuple(_alert_seen(alert, name_of) for alert in alerts_not_resolved())
    birds = tuple(_birds_seen(rows, slot, name_of))  # and fetched, for the charts too
    drawn = tuple(_drawn(rows, alerts))
    return Morning(
        occasion=Occasion(
            network=network.name,
            on=slot.on,
            time_zone=network.time_zone,
            period_start=began,
            period_end=slot.period_end,
            composed_at=clock.now(),
        ),
        birds=birds,
        alerts=alerts,
        drawn=tuple(weights for weights, _ in drawn),
        charts={chart_name(weights.bird_id): svg for weights, svg in drawn},
        outcomes=tuple(_outcomes(began, name_of)),
    )


def _began(slot: Slot) -> datetime:
    """Since the last report there was, so that nothing falls between two after a day that nobody worked.

    Nor after the hour of the report was moved. The slot's own period stands where there is no earlier report.
    """
    last = Report.objects.filter(period_end__lt=slot.period_end).order_by("-period_end").only("period_end").first()
    return slot.period_start if last is None else last.period_end


def _birds_seen(rows: tuple[Bird, ...], slot: Slot, name_of: NameOf) -> Iterator[BirdSeen]:
    in_care: dict[str, Any] = {"bird__outcome_at__isnull": True, "bird__gone_at__isnull": True}
    believed = Weighing.objects.filter(state__in=BELIEVED, **in_care).order_by()
    last_weighed = dict(believed.values_list("bird_id").annotate(Max("at")))
    questioned = defaultdict(list)
    for weighing in Weighing.objects.filter(state=WeighingState.QUESTIONED, **in_care).order_by("at", "row"):
        questioned[weighing.bird_id].append(QuestionedWeight(at=weighing.at, mass_g=float(weighing.mass_g)))
    with_plans(rows)
    for bird in rows:
        yield BirdSeen(
            id=bird.uid,
            name=bird.name,
            species=name_of(bird),
            site=bird.site.name,
            in_care_since=bird.intake_at,
            last_weighed_at=last_weighed.get(bird.pk),
            questioned=tuple(questioned[bird.pk]),
            **_plan_seen(bird, slot),
        )


def _plan_seen(bird: Bird, slot: Slot) -> dict[str, Any]:
    """The bird's plan of the report's day, or why it has none: one bird must not keep the others' report."""
    try:
        return plan_seen(plan_of(bird, on=slot.on))
    except DomainError as refused:
        return {"no_plan_because": str(refused)}


def _alert_seen(alert: Alert, name_of: NameOf) -> AlertSeen:
    by = alert.acknowledged_by
    return AlertSeen(
        id=alert.uid,
        bird_id=alert.bird.uid if alert.bird else None,
        bird=alert.bird.name if alert.bird else None,
        species=name_of(alert.bird) if alert.bird else None,
        site=alert.site.name,
        code=alert.code,
        severity=Severity(alert.severity),
        opened_at=alert.opened_at,
        since=alert.since,
        text=alert.text,
        actions=tuple(alert.actions),
        act_within_h=alert.act_within_h,
        snoozed_until=alert.snoozed_until,
        acknowledged_at=alert.acknowledged_at,
        acknowledged_by=by["name"] if by else None,
    )


def _drawn(rows: Sequence[Bird], alerts: Iterable[AlertSeen]) -> Iterator[tuple[WeightsDrawn, str]]:
    """The growth of birds with an alert: in figures, and as a chart for a phone."""
    by_id = {bird.uid: bird for bird in rows}
    chosen = [by_id[bird_id] for bird_id in birds_to_draw(alerts) if bird_id in by_id]
    for bird in chosen:
        try:
            growth = growth_of(bird)
        except ConflictError:  # too little is known of it for a curve; its alert is told without
            continue
        weights = weights_drawn(bird.uid, growth.assessment)
        if weights is not None:
            yield weights, assessment_chart(growth.known, growth.judged.asked, growth.assessment, compact=True)


def _outcomes(began: datetime, name_of: NameOf) -> Iterator[Outcome]:
    """Outcomes since the last report: those recorded since, of the last weeks, that no report has told.

    A death is often written down when there is time for it; by its own hour alone it would fall between two reports.
    """
    told = {
        UUID(outcome["bird_id"])
        for outcomes in Report.objects.filter(period_end__gte=began - NEWS_FOR).values_list("data__outcomes", flat=True)
        for outcome in outcomes
    }
    left = Bird.objects.select_related("site").filter(outcome_at__gte=began - NEWS_FOR, changed_at__gte=began)
    for bird in left.exclude(uid__in=told).order_by("outcome_at", "row"):
        yield Outcome(
            bird_id=bird.uid,
            bird=bird.name,
            species=name_of(bird),
            site=bird.site.name,
            kind=str(bird.outcome_kind),
            at=bird.outcome_at,
            causes=tuple((bird.outcome_told or {}).get("causes") or ()),
        )


def _species_names() -> NameOf:
    """Names of birds' species, each species read once."""

    @cache
    def listed(key: str) -> str:
        try:
            profile, _ = profile_get(key)
        except DomainError:  # retired since, or renamed: its key still tells it
            return key
        return profile.vernacular_name

    def name_of(bird: Bird) -> str:
        if bird.species:
            return listed(bird.species)
        return str((bird.unlisted_species or {}).get("scientific_name") or "species not known")

    return name_of
