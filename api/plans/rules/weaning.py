"""Where a bird stands on the way to feeding itself, and what it must show before it goes."""

from collections.abc import Sequence

from api.plans.rules.plan import Age, Criterion, ReleaseRead, WeaningPhase, WeaningRead
from api.plans.rules.request import PlanRequest
from api.web.rules.ledger import Ledger
from species.domain.profile import Profile
from species.domain.sourcing import Statement
from species.domain.vocabulary import FeedingKind

#: Phases in which a feed is dropped; the midday feed first, the last of the evening last (HRB p.597).
MIDDAY = "midday"
_EPSILON = 1e-9


def weaning_phase(
    *,
    self_feeding_kind: bool,
    age_days: float,
    earliest_day: float | None,
    seen: Sequence[str],
    absent: Sequence[str],
    mass_g: float | None,
    peak_mass_g: float | None,
    loss_limit_fraction: float | None,
    self_feeding_mass_g: float | None,
    being_weaned: bool = False,
    weaning_loss: bool = False,
) -> WeaningPhase:
    """Phase of weaning, from what the bird does and weighs; age alone only opens the question.

    Parameters
    ----------
    self_feeding_kind
        True for species whose chicks feed themselves from the start.
    age_days, earliest_day
        Age, and the earliest printed age of weaning.
    seen, absent
        Milestones seen, and looked for but not seen.
    mass_g, peak_mass_g, loss_limit_fraction
        Mass now, the bird's own highest, and how much of it may be lost.
    self_feeding_mass_g
        Mass below which birds of the species do not feed themselves.
    being_weaned, weaning_loss
        What its record says: it is fed to be weaned, and it has lost more than its kind may.

    Returns
    -------
    WeaningPhase

    Notes
    -----
    Loss beyond the limit steps back whatever else is seen (HRB pp.597, 750; hazard 29).
    """
    if self_feeding_kind:
        return WeaningPhase.NOT_APPLICABLE
    started = bool({"picks_at_food", "self_feeds_some", "self_feeds_all"} & set(seen))
    lost = weaning_loss or _lost_too_much(mass_g, peak_mass_g, loss_limit_fraction)
    if (started or being_weaned) and lost:
        return WeaningPhase.STEP_BACK
    if "self_feeds_all" in seen:
        return WeaningPhase.WEANED
    heavy_enough = self_feeding_mass_g is None or (mass_g is not None and mass_g >= self_feeding_mass_g)
    old_enough = earliest_day is None or age_days >= earliest_day
    if "self_feeds_some" in seen and heavy_enough and old_enough:
        return WeaningPhase.STEPPING_DOWN
    if started:
        return WeaningPhase.EXPLORING
    reached = earliest_day is not None and age_days >= earliest_day
    tempted = reached and "picks_at_food" not in absent
    return WeaningPhase.EXPLORING if tempted else WeaningPhase.NOT_STARTED


def weaning_read(profile: Profile, age: Age, request: PlanRequest, ledger: Ledger) -> WeaningRead:
    """Read the phase, the next feed to drop and the criteria."""
    rule = profile.weaning
    ages, limit = rule.age_days, rule.loss_limit_fraction
    seen = [m.key.value for m in request.milestones if m.seen]
    absent = [m.key.value for m in request.milestones if not m.seen]
    sources = (ages.sources if ages else ()) + (limit.sources if limit else ())
    phase = ledger.derive(
        "/weaning/phase",
        weaning_phase,
        sources=sources,
        self_feeding_kind=profile.feeding_kind is FeedingKind.SELF_FEEDING,
        age_days=age.days,
        earliest_day=ages.low if ages else None,
        seen=seen,
        absent=absent,
        mass_g=request.mass_g,
        peak_mass_g=request.peak_mass_g,
        loss_limit_fraction=limit.value if limit else None,
        self_feeding_mass_g=rule.self_feeding_mass_g.value if rule.self_feeding_mass_g else None,
        being_weaned=request.lately.being_weaned,
        weaning_loss=request.lately.weaning_loss,
    )
    # No feed is dropped of a bird that was not weighed (hazard 29).
    dropping = phase is WeaningPhase.STEPPING_DOWN and request.mass_g is not None
    return WeaningRead(
        phase=phase,
        earliest_day=ages.low if ages else None,
        usual_day=ages.middle if ages else None,
        drop_feed=MIDDAY if dropping else None,
        criteria=_criteria(rule.criteria, seen, absent),
    )


def release_read(profile: Profile, request: PlanRequest) -> ReleaseRead:
    """Read what the bird must show before it goes; the release mass is judged where it was weighed."""
    criteria = list(_criteria(profile.release.criteria, [], []))
    band = profile.release.mass_g
    if band is not None:
        criteria.insert(
            0,
            Criterion(
                code="release_mass",
                text=f"Weighs at least {band.low:g} g.",
                met=None if request.mass_g is None else request.mass_g >= band.low,
            ),
        )
    return ReleaseRead(criteria=tuple(criteria))


def _lost_too_much(mass_g: float | None, peak_mass_g: float | None, limit: float | None) -> bool:
    if mass_g is None or peak_mass_g is None or limit is None:
        return False
    return 1.0 - mass_g / peak_mass_g > limit + _EPSILON


def _criteria(statements: Sequence[Statement], seen: Sequence[str], absent: Sequence[str]) -> tuple[Criterion, ...]:
    """A criterion whose code is a milestone is met when it was seen; of the others nothing was told."""
    return tuple(
        Criterion(code=s.code, text=s.text, met=True if s.code in seen else False if s.code in absent else None)
        for s in statements
    )
