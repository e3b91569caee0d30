"""The whole plan for one bird and one day: read what was told, pass the gate, then feed.

The order of the file is the order of the work; every number goes through the ledger.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

import msgspec

from api.catalog.rules.known import Known
from api.kitchen.rules.powders import Powder, powder_of
from api.plans.rules import expecting, gate, need, timetable, weaning
from api.plans.rules.bird import Bird, read_bird, seen_of
from api.plans.rules.cautions import cautions
from api.plans.rules.checks import checks
from api.plans.rules.first_steps import first_steps
from api.plans.rules.plan import FEEDING, Energy, FeedingPlan, SpeciesRead, StageRead, WeaningPhase
from api.plans.rules.practice_now import practice_cautions
from api.plans.rules.request import PlanRequest
from api.plans.rules.situation import Situation
from api.plans.rules.slurry_feed import SlurryPlan, plan_slurry
from api.plans.rules.solid_feed import SolidPlan, plan_solid
from api.plans.rules.surroundings import brooder_read, temperature_read
from api.web.rules.cautions import Caution, Severity
from api.web.rules.ledger import Ledger
from species.domain.food import Food, Formula


def feeding_plan(
    known: Known,
    request: PlanRequest,
    *,
    now: datetime,
    formula: Formula | None,
    foods: Mapping[str, Food],
    recorded: Sequence[Caution] = (),
) -> FeedingPlan:
    """Plan the feeding of one bird on one day.

    Parameters
    ----------
    known
        Its species, or what an unlisted bird's order and guild allow to infer.
    request
        What was told of it.
    now
        The present instant, aware.
    formula
        A formula of the catalogue, for a request that tells no powder; null where the species takes none.
    foods
        Foods by key, for solid portions.
    recorded
        What a stored bird's record asks to be said.

    Returns
    -------
    FeedingPlan
        With a decision, and a feed where the decision is to feed.

    Raises
    ------
    DomainError
        If what was told cannot be true of such a bird, or no age can be had from it.
    """
    ledger = Ledger()
    bird = read_bird(known, request, now=now, ledger=ledger)
    wean = weaning.weaning_read(bird.profile, bird.age, request, ledger)
    told = seen_of(bird, weaned=wean.phase is WeaningPhase.WEANED)
    answer = gate.decide(**told)
    decision = ledger.derive("/decision", gate.decision, sources=answer.sources, **told)
    vet = ledger.derive("/vet", gate.vet, sources=answer.sources, **told)

    energy = need.energy_read(bird.profile, bird.curve, bird.age, bird.mass, ledger)
    powder = request.powder or (powder_of(formula) if formula else None)
    situation = situation_of(bird, energy)
    portion: SlurryPlan | SolidPlan | None = None
    if decision in FEEDING and situation is not None:
        portion = _portion(situation, powder, foods, ledger)
        energy = msgspec.structs.replace(energy, planned_kj_per_day=portion.planned_kj_per_day)
    times = _times(bird, portion, ledger)
    return FeedingPlan(
        decision=decision,
        look_again_at=_look_again_at(bird, answer.look_again_after_h),
        vet=vet,
        species=_species_read(known),
        on=request.on,
        time_zone=request.time_zone,
        age=bird.age,
        mass=bird.mass,
        stage=StageRead(key=bird.stage.key, name=bird.stage.name) if bird.stage else None,
        energy=energy,
        feed=portion.feed if portion else None,
        formula=portion.formula if isinstance(portion, SlurryPlan) else None,
        temperature=temperature_read(bird.profile, bird.stage, ledger),
        brooder=brooder_read(bird.stage, ledger),
        timetable=times,
        expected_gain=expecting.gain_read(bird.curve, bird.age, bird.mass, ledger),
        weaning=wean,
        release=weaning.release_read(bird.profile, request),
        checks=checks(bird.profile, request),
        first_steps=first_steps(
            bird.profile,
            request,
            decision=decision,
            brooder_c=bird.stage.brooder_c if bird.stage else None,
            ledger=ledger,
        ),
        cautions=cautions(
            bird.profile,
            request,
            decision=decision,
            age=bird.age,
            mass=bird.mass,
            feathered=bird.feathered,
            slurry=isinstance(portion, SlurryPlan),
            provisional=portion is not None and portion.feed.provisional,
            curve_to_day=bird.curve.valid_to_day if bird.curve else None,
            recorded=recorded,
            given=practice_cautions(situation, portion.feed if portion else None, powder),
            portion=(portion.cautions if portion else ()) + _no_more_today(bird, portion, times),
        ),
        basis=ledger.entries(),
    )


def situation_of(bird: Bird, energy: Energy) -> Situation | None:
    """What a portion is chosen from; null where no stage or no mass is known."""
    if bird.stage is None or bird.mass.value_g is None:
        return None
    return Situation(
        profile=bird.profile,
        stage=bird.stage,
        request=bird.request,
        age=bird.age,
        mass_g=bird.mass.value_g,
        energy=energy,
        window_min=timetable.window_min(**_day(bird)),
        provisional=bird.request.mass_g is None,
        grown=bird.grown,
    )


def _portion(
    situation: Situation, powder: Powder | None, foods: Mapping[str, Food], ledger: Ledger
) -> SlurryPlan | SolidPlan:
    """Slurry where the stage prints how thick, solid food where it does not."""
    if situation.stage.dry_matter_fraction is not None and powder is not None:
        return plan_slurry(situation, powder, ledger)
    return plan_solid(situation, foods, ledger)


def _times(bird: Bird, portion: SlurryPlan | SolidPlan | None, ledger: Ledger) -> tuple[str, ...]:
    if portion is None:
        return ()
    start_from = bird.request.start_from
    return tuple(
        ledger.derive(
            "/timetable",
            timetable.timetable,
            **_day(bird),
            feeds=portion.day_feeds,
            interval_low_min=portion.feed.interval_low_min,
            interval_high_min=portion.feed.interval_high_min,
            night_feeds=portion.feed.night_feeds,
            start_from=start_from.isoformat("minutes") if start_from else None,
        )
    )


def _no_more_today(bird: Bird, portion: SlurryPlan | SolidPlan | None, times: tuple[str, ...]) -> tuple[Caution, ...]:
    """Say so where the rest of the day holds no feed."""
    if portion is None or times:
        return ()
    return (
        Caution(
            code="no_more_today",
            severity=Severity.NOTE,
            text=f"No feed is due any more today; the next is tomorrow at {bird.feeding_day.first:%H:%M}.",
        ),
    )


def _day(bird: Bird) -> dict[str, Any]:
    return {
        "on": bird.request.on.isoformat(),
        "time_zone": bird.request.time_zone,
        "first": bird.feeding_day.first.isoformat("minutes"),
        "last": bird.feeding_day.last.isoformat("minutes"),
    }


def _look_again_at(bird: Bird, after_h: float | None) -> datetime | None:
    return None if after_h is None else (bird.at + timedelta(hours=after_h)).replace(second=0, microsecond=0)


def _species_read(known: Known) -> SpeciesRead:
    profile = known.profile
    return SpeciesRead(
        key=profile.key if known.listed else None,
        scientific_name=profile.scientific_name,
        vernacular_name=profile.vernacular_name if known.listed else None,
        evidence=profile.evidence.value,
    )
