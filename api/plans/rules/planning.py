"""The whole plan for one bird and one day: read what was told, pass the gate, then feed.

The order of the file is the order of the work; every number goes through the ledger.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import msgspec

from api.plans.rules import ageing, expecting, gate, need, staging, timetable, weaning
from api.plans.rules.cautions import BROODER_ADVICE, cautions
from api.plans.rules.checks import checks
from api.plans.rules.feeding_day import feeding_day_of
from api.plans.rules.first_steps import first_steps
from api.plans.rules.ledger import Ledger
from api.plans.rules.plan import FEEDING, Age, Brooder, Energy, FeedingPlan, Mass, SpeciesRead, StageRead, Temperature
from api.plans.rules.powders import powder_of
from api.plans.rules.practice_now import practice_cautions
from api.plans.rules.request import FeedingDay, PlanRequest, Powder
from api.plans.rules.seen import Seen
from api.plans.rules.situation import Situation, is_grown
from api.plans.rules.slurry_feed import SlurryPlan, plan_slurry
from api.plans.rules.solid_feed import SolidPlan, plan_solid
from species.domain.food import Food, Formula
from species.domain.profile import Profile
from species.domain.sourcing import Evidence
from species.domain.stage import Stage

#: Stages count as feathered from here too, whatever the profile's ages say.
FEATHERED = frozenset({"body_feathered", "fully_feathered"})


def feeding_plan(
    profile: Profile,
    request: PlanRequest,
    *,
    now: datetime,
    formula: Formula | None,
    foods: Mapping[str, Food],
    identified: bool = True,
    practised: bool = True,
) -> FeedingPlan:
    """Plan the feeding of one bird on one day.

    Parameters
    ----------
    profile
        Its species, or what an unlisted bird's order and guild allow to infer.
    request
        What was told of it.
    now
        The present instant, aware.
    formula
        A formula of the catalogue, for a request that tells no powder; null where the species takes none.
    foods
        Foods by key, for solid portions.
    identified
        False for an unlisted bird whose food guild was not told.
    practised
        False where the bird's guild has no printed practice: no amounts then.

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
    curve = expecting.curve_for(profile, request.adult_mass_g)
    age = ageing.age_read(request, curve, now=now, ledger=ledger)
    mass = expecting.mass_read(profile, curve, age, request.mass_g, ledger)
    stage = staging.stage_of(profile, age.days, request, ledger) if profile.stages else None
    feeding_day = feeding_day_of(stage, request.feeding_day)
    wean = weaning.weaning_read(profile, age, request, ledger)
    reference = ageing.reference_instant(request, now)
    told = _seen(
        profile,
        stage,
        request,
        age,
        mass,
        feeding_day,
        reference,
        wean.phase,
        identified=identified,
        practised=practised,
    )
    answer = gate.decide(**told)
    ledger.derive("/decision", gate.decision, sources=answer.sources, **told)
    ledger.derive("/vet", gate.vet, sources=answer.sources, **told)
    energy = need.energy_read(profile, curve, age, mass, ledger)
    powder = request.powder or (powder_of(formula) if formula else None)
    situation = _situation(profile, stage, request, age, mass, energy, feeding_day)
    portion: SlurryPlan | SolidPlan | None = None
    times: tuple[str, ...] = ()
    if answer.decision in FEEDING and situation is not None:
        portion = _portion(situation, powder, foods, ledger)
        energy = msgspec.structs.replace(energy, planned_kj_per_day=portion.planned_kj_per_day)
        times = _times(situation, portion, ledger)
    feed = portion.feed if portion else None
    now_done = practice_cautions(situation, feed, powder)
    return FeedingPlan(
        decision=answer.decision,
        look_again_at=_look_again_at(reference, answer.look_again_after_h),
        vet=answer.vet,
        species=_species_read(profile, identified=identified),
        on=request.on,
        time_zone=request.time_zone,
        age=age,
        mass=mass,
        stage=StageRead(key=stage.key, name=stage.name) if stage else None,
        energy=energy,
        feed=feed,
        formula=portion.formula if isinstance(portion, SlurryPlan) else None,
        temperature=_temperature(profile) if stage and stage.dry_matter_fraction else None,
        brooder=_brooder(stage),
        timetable=times,
        expected_gain=expecting.gain_read(curve, age, mass, ledger),
        weaning=wean,
        release=weaning.release_read(profile, request),
        checks=checks(profile, request),
        first_steps=first_steps(
            profile,
            request,
            decision=answer.decision,
            brooder_c=stage.brooder_c if stage else None,
            ledger=ledger,
        ),
        cautions=cautions(
            profile,
            request,
            decision=answer.decision,
            age=age,
            mass=mass,
            feathered=told["feathered"],
            slurry=isinstance(portion, SlurryPlan),
            provisional=feed is not None and feed.provisional,
            curve_to_day=curve.valid_to_day if curve else None,
            given=now_done,
            portion=portion.cautions if portion else (),
        ),
        basis=ledger.entries(),
    )


def _situation(
    profile: Profile,
    stage: Stage | None,
    request: PlanRequest,
    age: Age,
    mass: Mass,
    energy: Energy,
    feeding_day: FeedingDay,
) -> Situation | None:
    """What a portion is chosen from; null where no stage or no mass is known."""
    if stage is None or mass.value_g is None:
        return None
    return Situation(
        profile=profile,
        stage=stage,
        request=request,
        age=age,
        mass=mass,
        mass_g=mass.value_g,
        energy=energy,
        feeding_day=feeding_day,
        window_min=timetable.window_min(**_day(request, feeding_day)),
        provisional=request.mass_g is None,
        grown=_grown(profile, age),
    )


def _portion(
    situation: Situation, powder: Powder | None, foods: Mapping[str, Food], ledger: Ledger
) -> SlurryPlan | SolidPlan:
    """Slurry where the stage prints how thick, solid food where it does not."""
    if situation.stage.dry_matter_fraction is not None and powder is not None:
        return plan_slurry(situation, powder, ledger)
    return plan_solid(situation, foods, ledger)


def _times(situation: Situation, portion: SlurryPlan | SolidPlan, ledger: Ledger) -> tuple[str, ...]:
    request, feed = situation.request, portion.feed
    return tuple(
        ledger.derive(
            "/timetable",
            timetable.timetable,
            **_day(request, situation.feeding_day),
            feeds=portion.day_feeds,
            interval_low_min=feed.interval_low_min,
            interval_high_min=feed.interval_high_min,
            night_feeds=feed.night_feeds,
            start_from=request.start_from.isoformat("minutes") if request.start_from else None,
        )
    )


def _day(request: PlanRequest, feeding_day: FeedingDay) -> dict[str, Any]:
    return {
        "on": request.on.isoformat(),
        "time_zone": request.time_zone,
        "first": feeding_day.first.isoformat("minutes"),
        "last": feeding_day.last.isoformat("minutes"),
    }


def _seen(
    profile: Profile,
    stage: Stage | None,
    request: PlanRequest,
    age: Age,
    mass: Mass,
    feeding_day: FeedingDay,
    reference: datetime,
    weaning_phase: str,
    *,
    identified: bool,
    practised: bool,
) -> Seen:
    condition = request.condition
    seen = {m.key.value: m.seen for m in request.milestones}
    in_care_already = request.first_feed_in_care is None and request.given is not None
    last = condition.last_feed
    told = msgspec.to_builtins(condition)
    return Seen(
        identified=identified,
        guild_has_practice=practised,
        species_certainty=request.species_certainty.value,
        feeding_kind=profile.feeding_kind.value,
        developmental_mode=profile.developmental_mode.value,
        food_guild=profile.food_guild.value,
        has_crop=profile.has_crop.value,
        age_h=age.days * 24,
        first_feed_low_h=profile.first_feed_h.low if profile.first_feed_h else None,
        yolk_absorbed=seen.get("yolk_absorbed"),
        feathered=bool(stage and stage.feathered) or any(seen.get(key) for key in FEATHERED),
        feeds_itself=weaning_phase == "weaned",
        mass_g=request.mass_g,
        expected_g=mass.expected_g if age.basis != "estimated_from_mass" else None,
        origin=request.origin.value,
        rearing=request.rearing.value,
        first_feed_in_care=False if in_care_already else request.first_feed_in_care,
        body=told["body"],
        hydration=told["hydration"],
        dehydration_fraction=condition.dehydration_fraction,
        body_condition=told["body_condition"],
        alertness=told["alertness"],
        swallowing=told["swallowing"],
        crop=told["crop"],
        crop_content=told["crop_content"],
        crop_wall=told["crop_wall"],
        droppings=told["droppings"],
        signs=told["signs"],
        hours_since_last_feed=(reference - last.at).total_seconds() / 3600 if last else None,
        at_dawn=_no_feed_yet(request, feeding_day, reference),
        emptying_h=_emptying_h(stage),
        longest_wait_h=profile.longest_wait_h.value if profile.longest_wait_h else None,
        no_gain=None,
    )


def _no_feed_yet(request: PlanRequest, feeding_day: FeedingDay, reference: datetime) -> bool:
    """Whether the day's first feed is still to come: it is not yet time for it, or the last feed was another day's."""
    last = request.condition.last_feed
    if last is not None:
        return last.at.astimezone(ZoneInfo(request.time_zone)).date() < request.on
    return reference.timetz().replace(tzinfo=None) < feeding_day.first


def _emptying_h(stage: Stage | None) -> float | None:
    if stage is None:
        return None
    if stage.crop_empties_h is not None:
        return stage.crop_empties_h.high
    return stage.interval_min.high / 60 if stage.interval_min is not None else None


def _grown(profile: Profile, age: Age) -> bool:
    ages, fledging = profile.weaning.age_days, profile.fledging_days
    return is_grown(
        age_days=age.days,
        fledging_high_days=fledging.high if fledging else None,
        weaning_high_days=ages.high if ages else None,
    )


def _look_again_at(reference: datetime, after_h: float | None) -> datetime | None:
    return None if after_h is None else (reference + timedelta(hours=after_h)).replace(second=0, microsecond=0)


def _species_read(profile: Profile, *, identified: bool) -> SpeciesRead:
    listed = profile.evidence is not Evidence.INFERRED
    return SpeciesRead(
        key=profile.key if listed else None,
        scientific_name=profile.scientific_name,
        vernacular_name=profile.vernacular_name if listed and identified else None,
        evidence=profile.evidence.value,
    )


def _temperature(profile: Profile) -> Temperature | None:
    band = profile.feeding_temperature
    if band is None:
        return None
    return Temperature(
        target_c=band.band_c.middle,
        low_c=band.band_c.low,
        high_c=band.band_c.high,
        never_above_c=band.never_above_c.value,
    )


def _brooder(stage: Stage | None) -> Brooder:
    warmth, humidity = (stage.brooder_c, stage.humidity_fraction) if stage else (None, None)
    return Brooder(
        target_c=round(warmth.middle, 1) if warmth else None,
        low_c=warmth.low if warmth else None,
        high_c=warmth.high if warmth else None,
        humidity_low_fraction=humidity.low if humidity else None,
        humidity_high_fraction=humidity.high if humidity else None,
        advice=BROODER_ADVICE,
    )
