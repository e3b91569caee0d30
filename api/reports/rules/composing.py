"""A network's report of a day, from what was seen of its birds.

Everything here is a decision over plain values; what is read from where is the selectors' business.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, time, timedelta
from uuid import UUID

from api.plans.rules.plan import Decision, WeaningPhase
from api.reports.rules.needing import needs_you
from api.reports.rules.report import (
    Alert,
    Census,
    Chart,
    Count,
    MissedWeighing,
    NightFeed,
    NightPortion,
    Outcome,
    Report,
    Totals,
)
from api.reports.rules.seen import AlertSeen, BirdSeen, Occasion, WeightsDrawn
from api.reports.rules.wording import one_line, weights_in_words
from api.web.rules.cautions import Caution, Severity
from species.domain.localtime import instant_at, zone_named

#: After this the household sleeps, and a feed needs somebody who gets up; at the other it is morning again.
NIGHT_FROM, NIGHT_TO = time(22, 0), time(6, 0)
#: Charts of a report: a picture weighs 30 to 60 kB, and nobody looks at more over breakfast.
MOST_CHARTS = 10
WORST_FIRST = (Severity.URGENT, Severity.ACT_TODAY, Severity.NOTE)

CAUTIONS = (
    Caution(
        code="look_at_the_bird",
        severity=Severity.NOTE,
        text="This report tells what was recorded. It does not replace looking at each bird.",
    ),
    Caution(
        code="ask_a_vet",
        severity=Severity.NOTE,
        text="A licensed avian vet's word goes before anything written here.",
    ),
    Caution(
        code="law_and_licence",
        severity=Severity.NOTE,
        text="Wild birds are protected. Keep and rear them as your permit and the law allow.",
    ),
)


def compose(
    occasion: Occasion,
    *,
    birds: Sequence[BirdSeen],
    alerts: Sequence[AlertSeen],
    drawn: Iterable[WeightsDrawn],
    outcomes: Iterable[Outcome],
) -> Report:
    """Compose the report.

    Parameters
    ----------
    occasion
        Whose report, of which day.
    birds
        Every bird in care.
    alerts
        Every open alert.
    drawn
        Birds with a growth chart; see :func:`birds_to_draw`.
    outcomes
        Since the last report.
    """
    missed = missed_weighings(occasion, birds)
    needing = needs_you(occasion, birds, alerts, frozenset(one.bird_id for one in missed))
    told = _alerts(occasion, alerts, {one.bird_id: one for one in drawn})
    nights = night_feeds(occasion, birds)
    ended = tuple(sorted(outcomes, key=lambda one: (one.at, one.bird_id)))
    return Report(
        network=occasion.network,
        on=occasion.on,
        time_zone=occasion.time_zone,
        period_start=occasion.period_start,
        period_end=occasion.period_end,
        composed_at=occasion.composed_at,
        totals=Totals(
            birds=len(birds),
            needs_you=len(needing),
            urgent=sum(one.reasons[0].severity is Severity.URGENT for one in needing),
            alerts=len(told),
            new_alerts=sum(alert.new for alert in told),
            missed_weighings=len(missed),
            night_feeds=len(nights),
            outcomes=len(ended),
        ),
        needs_you=needing,
        alerts=told,
        census=census(birds),
        missed_weighings=missed,
        night_feeds=nights,
        outcomes=ended,
        cautions=CAUTIONS,
    )


# --- weighings


def grows(bird: BirdSeen) -> bool:
    """Whether a bird is still reared by weight: one that feeds itself is weighed when there is a reason.

    A bird without a plan grows until something says otherwise.
    """
    feeds_itself = bird.weaning in (WeaningPhase.WEANED, WeaningPhase.NOT_APPLICABLE)
    return not feeds_itself and bird.decision is not Decision.SELF_FEEDING


def missed_weighings(occasion: Occasion, birds: Iterable[BirdSeen]) -> tuple[MissedWeighing, ...]:
    """Growing birds without a true weight since the local day before the report began.

    A chick is weighed every morning, because a day without gain is the first sign of much that kills it (common
    practice, no source). So a bird that was in care when that day began has to have a weighing, accepted or
    confirmed, from then on. One that came during the day is let settle first. One that was weighed this morning is
    not told: what would be asked for has been done. A questioned weight is no weight.

    Returns
    -------
    tuple of MissedWeighing
        The longest without a weight first, those never weighed before all.
    """
    began = instant_at(occasion.on - timedelta(days=1), time.min, zone_named(occasion.time_zone)).astimezone(UTC)
    missed = [
        MissedWeighing(
            bird_id=bird.id,
            bird=bird.name,
            species=bird.species,
            site=bird.site,
            last_weighed_at=bird.last_weighed_at,
        )
        for bird in birds
        if grows(bird) and bird.in_care_since < began and (bird.last_weighed_at is None or bird.last_weighed_at < began)
    ]
    return tuple(
        sorted(
            missed,
            key=lambda one: (
                one.last_weighed_at is not None,
                one.last_weighed_at or began,
                one.site.casefold(),
                one.bird.casefold(),
            ),
        )
    )


# --- the night


def night_feeds(occasion: Occasion, birds: Iterable[BirdSeen]) -> tuple[NightFeed, ...]:
    """Feeds of the night that follows the report's day: after 22:00 and before 06:00, by the clock on the wall.

    A feed at 22:00 is the last of an ordinary evening and one at 06:00 the first of the morning; for those between
    somebody gets up, or stays up. Feeds of one site at one time are one feed.

    Returns
    -------
    tuple of NightFeed
        By site, then by time.
    """
    zone = zone_named(occasion.time_zone)
    evening = instant_at(occasion.on, NIGHT_FROM, zone)
    morning = instant_at(occasion.on + timedelta(days=1), NIGHT_TO, zone)
    # By the instant: the two 01:30 of a night that comes twice are equal on the wall.
    found: dict[tuple[str, datetime], list[NightPortion]] = defaultdict(list)
    for bird in birds:
        for at in (time_fed.astimezone(UTC) for time_fed in bird.timetable):
            if evening.astimezone(UTC) < at < morning.astimezone(UTC):
                found[bird.site, at].append(NightPortion(bird_id=bird.id, bird=bird.name, portion=bird.portion))
    return tuple(
        NightFeed(
            site=site, at=at.astimezone(zone), portions=tuple(sorted(portions, key=lambda one: one.bird.casefold()))
        )
        for (site, at), portions in sorted(found.items(), key=lambda item: (item[0][0].casefold(), item[0][1]))
    )


# --- counts


def census(birds: Iterable[BirdSeen]) -> Census:
    """Birds in care by species, by stage and by site: the most first, then by name."""
    seen = list(birds)
    return Census(
        by_species=_counted(bird.species for bird in seen),
        by_stage=_counted(bird.stage for bird in seen),
        by_site=_counted(bird.site for bird in seen),
    )


def _counted(names: Iterable[str | None]) -> tuple[Count, ...]:
    counted = Counter(names)
    in_order = sorted(counted.items(), key=lambda item: (-item[1], item[0] is None, (item[0] or "").casefold()))
    return tuple(Count(name=name, birds=birds) for name, birds in in_order)


# --- alerts


def by_urgency(alerts: Iterable[AlertSeen]) -> tuple[AlertSeen, ...]:
    """Alerts with the worst first, and those of one bird together at the place of its worst."""
    of_one: dict[UUID, list[AlertSeen]] = defaultdict(list)
    for alert in alerts:
        of_one[alert.bird_id or alert.id].append(alert)

    def rank(alert: AlertSeen) -> tuple[int, datetime]:
        return WORST_FIRST.index(alert.severity), alert.since

    together = [sorted(group, key=rank) for group in of_one.values()]
    return tuple(alert for group in sorted(together, key=lambda group: rank(group[0])) for alert in group)


def birds_to_draw(alerts: Iterable[AlertSeen]) -> tuple[UUID, ...]:
    """Birds whose growth the report shows: those with an open alert, the worst first, and no more than fit a mail."""
    in_order = dict.fromkeys(alert.bird_id for alert in by_urgency(alerts) if alert.bird_id is not None)
    return tuple(in_order)[:MOST_CHARTS]


def chart_name(bird_id: UUID) -> str:
    """What a bird's chart is called in a report."""
    return f"growth-{bird_id}"


def _alerts(occasion: Occasion, alerts: Iterable[AlertSeen], drawn: dict[UUID, WeightsDrawn]) -> tuple[Alert, ...]:
    told: list[Alert] = []
    for seen in by_urgency(alerts):
        of_bird = drawn.pop(seen.bird_id, None) if seen.bird_id is not None else None
        told.append(
            Alert(
                id=seen.id,
                bird_id=seen.bird_id,
                bird=seen.bird,
                species=seen.species,
                site=seen.site,
                code=seen.code,
                severity=seen.severity,
                new=seen.opened_at >= occasion.period_start,
                opened_at=seen.opened_at,
                since=seen.since,
                text=seen.text,
                actions=seen.actions,
                acknowledged_at=seen.acknowledged_at,
                acknowledged_by=seen.acknowledged_by,
                snoozed_until=seen.snoozed_until,
                chart=None
                if of_bird is None
                else Chart(
                    name=chart_name(of_bird.bird_id),
                    text=weights_in_words(one_line(seen.bird or ""), of_bird, occasion),
                ),
            )
        )
    return tuple(told)
