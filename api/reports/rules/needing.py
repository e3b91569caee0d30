"""Who needs somebody today, why, how soon, and in which order.

The order is the one of the trade: what kills within the hour first, then the vet, then birds that must not be fed
yet, then figures in doubt (a plan is only as good as its weight), then the day's work, then what is not known.
No source beyond common practice.
"""

from collections.abc import Iterable, Iterator, Sequence
from uuid import UUID

from api.plans.rules.plan import Decision
from api.reports.rules.report import Need, NeedsYou, Reason
from api.reports.rules.seen import AlertSeen, BirdSeen, Occasion
from api.reports.rules.wording import amount, day_and_time
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Severity

#: Decisions that hold a feed back, with what comes first and the hours that leaves.
HELD_BACK: dict[Decision, tuple[str, float]] = {
    Decision.IDENTIFY_FIRST: ("Find out what it is; until then it gets no food amounts.", ACT_TODAY_WITHIN_H),
    Decision.WARM_FIRST: ("Warm it first, no food yet.", URGENT_WITHIN_H),
    Decision.COOL_FIRST: ("Cool it first, no food yet.", URGENT_WITHIN_H),
    Decision.REST_FIRST: ("Rest in the dark first, then look again.", URGENT_WITHIN_H),
    Decision.FLUIDS_FIRST: ("Fluids first, no food yet.", URGENT_WITHIN_H),
    Decision.WAIT_FOR_CROP: ("Nothing on top of this crop. Feel it again before the next feed.", URGENT_WITHIN_H),
}
RING = "Ring a vet who knows birds."
WEIGH = "Weigh it before the next feed, crop empty."
WEIGH_AGAIN = "Weigh again on the same scale, crop empty; then confirm the weight or put it right."
COMPLETE = "Complete the bird's record, then ask for its plan again."


def needs_you(
    occasion: Occasion, birds: Sequence[BirdSeen], alerts: Iterable[AlertSeen], not_weighed: frozenset[UUID]
) -> tuple[NeedsYou, ...]:
    """Birds and sites that need somebody today, the most pressing first.

    Parameters
    ----------
    occasion
        The report's day and period.
    birds
        Birds in care.
    alerts
        Open alerts.
    not_weighed
        Birds that missed a weighing.

    Returns
    -------
    tuple of NeedsYou
        One for each bird, its reasons by urgency; sites with an alert of their own stand among them.

    Notes
    -----
    An acknowledged alert is somebody's until the next report; if it is still open then, it is told again. One that
    was put off waits for its time. An urgent one is told as long as it is open, whoever has seen it.
    """
    by_bird: dict[UUID | None, list[AlertSeen]] = {}
    for alert in alerts:
        if not _taken_on(alert, occasion):
            by_bird.setdefault(alert.bird_id, []).append(alert)
    of_sites = [
        NeedsYou(bird_id=None, bird=None, species=None, site=alert.site, reasons=(_of_alert(alert),))
        for alert in by_bird.get(None, [])
        if alert.severity is not Severity.NOTE
    ]
    of_birds = [
        NeedsYou(bird_id=bird.id, bird=bird.name, species=bird.species, site=bird.site, reasons=tuple(reasons))
        for bird in birds
        if (reasons := _reasons(occasion, bird, by_bird.get(bird.id, []), not_weighed))
    ]
    return tuple(sorted([*of_sites, *of_birds], key=_order))


def _order(needing: NeedsYou) -> tuple[bool, int, float, str, str]:
    return (*_pressing(needing.reasons[0]), needing.site.casefold(), (needing.bird or "").casefold())


def _pressing(reason: Reason) -> tuple[bool, int, float]:
    """What is for this hour goes before all else; then by need, then by the hours it leaves."""
    return reason.severity is not Severity.URGENT, list(Need).index(reason.need), reason.within_h


def _taken_on(alert: AlertSeen, occasion: Occasion) -> bool:
    in_hand = alert.acknowledged_at is not None and alert.acknowledged_at >= occasion.period_start
    put_off = alert.snoozed_until is not None and alert.snoozed_until > occasion.composed_at
    return (in_hand or put_off) and alert.severity is not Severity.URGENT


def _reasons(
    occasion: Occasion, bird: BirdSeen, alerts: Sequence[AlertSeen], not_weighed: frozenset[UUID]
) -> list[Reason]:
    found = [
        *(_of_alert(alert) for alert in alerts if alert.severity is not Severity.NOTE),
        *_of_plan(bird),
        *_of_weights(occasion, bird, not_weighed),
    ]
    return sorted(found, key=_pressing)


def _of_alert(alert: AlertSeen) -> Reason:
    urgent = alert.severity is Severity.URGENT
    usual_h = URGENT_WITHIN_H if urgent else ACT_TODAY_WITHIN_H
    return Reason(
        need=Need.URGENT_ALERT if urgent else Need.ACT_TODAY,
        severity=alert.severity,
        within_h=usual_h if alert.act_within_h is None else alert.act_within_h,
        why=alert.text,
        what_to_do=alert.actions,
    )


def _of_plan(bird: BirdSeen) -> Iterator[Reason]:
    if bird.decision is None:
        yield _today(Need.NO_PLAN, f"No plan could be made. {bird.no_plan_because}".strip(), COMPLETE)
    elif bird.vet_needed or bird.decision is Decision.SEE_VET:
        within_h = URGENT_WITHIN_H if bird.vet_within_h is None else bird.vet_within_h
        why = " ".join(bird.vet_reasons) or "A vet has to see it."
        yield Reason(need=Need.SEE_VET, severity=_severity(within_h), within_h=within_h, why=why, what_to_do=(RING,))
    elif bird.decision in HELD_BACK:
        first, within_h = HELD_BACK[bird.decision]
        yield Reason(
            need=Need.NOT_FED,
            severity=_severity(within_h),
            within_h=within_h,
            why="No feed is planned yet.",
            what_to_do=(first,),
        )


def _of_weights(occasion: Occasion, bird: BirdSeen, not_weighed: frozenset[UUID]) -> Iterator[Reason]:
    for weight in bird.questioned:
        when = day_and_time(weight.at, occasion)
        yield _today(Need.WEIGHT_QUESTIONED, f"{amount(weight.mass_g)} g, {when}, does not fit this bird.", WEIGH_AGAIN)
    if bird.id in not_weighed and not bird.questioned:  # else it is to be weighed anyway
        since = "It has no weight yet" if bird.last_weighed_at is None else "Not weighed yesterday"
        yield _today(Need.NOT_WEIGHED, f"{since}.", WEIGH)


def _today(need: Need, why: str, what: str) -> Reason:
    return Reason(need=need, severity=Severity.ACT_TODAY, within_h=ACT_TODAY_WITHIN_H, why=why, what_to_do=(what,))


def _severity(within_h: float) -> Severity:
    return Severity.URGENT if within_h <= URGENT_WITHIN_H else Severity.ACT_TODAY
