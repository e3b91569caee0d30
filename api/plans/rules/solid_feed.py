"""A feed of solid food: insects, fish, mice; by pieces, by share of mass, or by the energy need."""

from collections.abc import Mapping
from typing import Any

from api.plans.rules import intake, solids
from api.plans.rules.feed_parts import (
    Spacing,
    daily_amount,
    method_reads,
    printed_window_min,
    short_day,
    shortfall,
    spacing,
    spacing_inputs,
    spacing_read,
    spacing_sources,
)
from api.plans.rules.plan import Feed, Item, SupplementRead
from api.plans.rules.situation import Situation
from api.web.rules.cautions import Caution, Severity
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError
from species.domain.food import Food
from species.domain.record import Record
from species.domain.sourcing import Band
from species.domain.vocabulary import Portion

#: Largest share of mass in a meal: first day in care (practice, rule 4), refeeding the emaciated (HRB p.352).
LIMITS = {"first_day": intake.FIRST_DAY_FRACTIONS[-1], "emaciated": intake.EMACIATED_FRACTIONS[-1]}


class SolidPlan(Record, frozen=True, kw_only=True):
    """The feed, its energy and what must be said of it."""

    feed: Feed
    planned_kj_per_day: float
    day_feeds: int
    cautions: tuple[Caution, ...]


def plan_solid(situation: Situation, foods: Mapping[str, Food], ledger: Ledger) -> SolidPlan:
    """Choose and explain a feed of solid food."""
    stage = situation.stage
    if not stage.foods:
        raise DomainError(
            "The stage names no food.",
            field="/species",
            code="no_food_known",
            remedy="Ask a vet or a rescue that rears this species.",
        )
    food = foods[stage.foods[0]]
    apart = spacing(**spacing_inputs(situation))
    choice_inputs = _choice_inputs(situation, food, apart)
    sources = _sources(situation, food)
    feeds = ledger.derive(
        "/feed/feeds_per_day", solids.meals_per_day, sources=spacing_sources(situation), **choice_inputs
    )
    day_feeds = feeds - apart.night_feeds
    times = spacing_read(situation, day_feeds, ledger)
    inputs = _meal_inputs(situation, food, max(feeds, _printed_fewest(situation)))
    meal = solids.meal_g(**inputs)
    mass_g = ledger.derive("/feed/mass_g", solids.meal_mass_g, sources=sources, **inputs)
    low_g = ledger.derive("/feed/low_g", solids.meal_low_g, sources=sources, **inputs)
    high_g = ledger.derive("/feed/high_g", solids.meal_high_g, sources=sources, **inputs)
    daily_g = ledger.derive("/feed/daily_g", daily_amount, amount=mass_g, feeds=feeds)
    planned = ledger.derive(
        "/energy/planned_kj_per_day",
        solids.daily_kj,
        sources=food.energy_kj_per_g.sources,
        mass_g=mass_g,
        food_kj_per_g=food.energy_kj_per_g.value,
        meals=feeds,
    )
    feed = Feed(
        portion=Portion.SOLID,
        provisional=situation.provisional,
        volume_ml=None,
        low_ml=None,
        high_ml=None,
        mass_g=mass_g,
        low_g=low_g,
        high_g=high_g,
        percent_of_mass=ledger.derive(
            "/feed/percent_of_mass", intake.percent_of_mass, amount=mass_g, mass_g=situation.mass_g
        ),
        feeds_per_day=feeds,
        interval_min=times.interval_min,
        interval_low_min=times.interval_low_min,
        interval_high_min=times.interval_high_min,
        night_feeds=times.night_feeds,
        max_wait_min=times.interval_high_min,
        daily_ml=None,
        daily_g=daily_g,
        stop_when=situation.profile.stop_when.value,
        methods=tuple(use.method.value for use in situation.profile.methods),
        method_details=method_reads(situation.profile),
        syringe_ml=None,
        items=(
            Item(
                food=food.key,
                count=meal.count,
                mass_g=mass_g,
                max_piece_mm=stage.max_piece_mm.value if stage.max_piece_mm else None,
                preparation=food.preparation,
            ),
        ),
        supplements=_supplements(food, daily_g),
        casting=stage.casting.value if stage.casting else None,
    )
    return SolidPlan(
        feed=feed,
        planned_kj_per_day=planned,
        day_feeds=day_feeds,
        cautions=_cautions(situation, meal, planned, foods),
    )


def _meal_inputs(situation: Situation, food: Food, meals: int) -> dict[str, Any]:
    stage, energy = situation.stage, situation.energy
    whole_day = None if stage.meal_fraction else stage.daily_fraction
    judged = situation.energy_judged or not (stage.pieces_per_feed or stage.meal_fraction or stage.daily_fraction)
    return {
        "mass_g": situation.mass_g,
        "meals": meals,
        "piece_mass_g": food.piece_mass_g.value if food.piece_mass_g and stage.pieces_per_feed else None,
        **_ends("pieces_{}", stage.pieces_per_feed),
        **_ends("meal_{}_fraction", stage.meal_fraction),
        **_ends("daily_{}_fraction", whole_day),
        "food_kj_per_g": food.energy_kj_per_g.value,
        "need_kj_per_day": situation.target_kj_per_day if judged else None,
        "need_low_kj_per_day": energy.low_kj_per_day if judged else None,
        "need_high_kj_per_day": situation.ceiling_kj_per_day if judged else None,
        "ceiling_kj_per_day": situation.ceiling_kj_per_day if judged else None,
        "light": situation.care != "routine",
        "limit_fraction": LIMITS.get(situation.care),
    }


def _choice_inputs(situation: Situation, food: Food, apart: Spacing) -> dict[str, Any]:
    feeds, night = apart.feeds, apart.night_feeds
    inputs = _meal_inputs(situation, food, feeds.usual + night)
    del inputs["meals"]
    often = situation.care == "emaciated"
    return {
        "meals_low": feeds.low + night,
        "meals_usual": (feeds.high if often else feeds.usual) + night,
        "meals_high": feeds.high + night,
        **inputs,
    }


def _printed_fewest(situation: Situation) -> int:
    """Fewest meals of a whole feeding day: a short day's meals are no larger than these."""
    inputs = {**spacing_inputs(situation), "window_min": printed_window_min(situation.stage)}
    whole = spacing(**inputs)
    return whole.feeds.low + whole.night_feeds


def _ends(name: str, band: Band | None) -> dict[str, float | None]:
    return {
        name.format("low"): band.low if band else None,
        name.format("usual"): band.middle if band else None,
        name.format("high"): band.high if band else None,
    }


def _sources(situation: Situation, food: Food) -> tuple[str, ...]:
    stage = situation.stage
    printed = next((b for b in (stage.pieces_per_feed, stage.meal_fraction, stage.daily_fraction) if b), None)
    return (printed.sources if printed else ()) + food.energy_kj_per_g.sources


def _supplements(food: Food, daily_g: float) -> tuple[SupplementRead, ...]:
    return tuple(
        SupplementRead(
            substance=s.substance,
            amount_mg=None if s.mg_per_kg_food is None else round(s.mg_per_kg_food * daily_g / 1000.0, 2),
            fraction_of_food=s.fraction_of_food,
            per="day" if s.mg_per_kg_food is not None else "food",
        )
        for s in food.supplements
    )


def _cautions(
    situation: Situation, meal: solids.Meal, planned_kj: float, foods: Mapping[str, Food]
) -> tuple[Caution, ...]:
    cautions = list(short_day(situation))
    if meal.from_energy:
        cautions.append(
            Caution(
                code="portion_from_energy",
                severity=Severity.NOTE,
                text=(
                    "No printed amount was found for this stage: the grams come from the energy need and the food's "
                    "energy. Stop when the bird stops begging; the scale decides."
                ),
            )
        )
    need = situation.target_kj_per_day
    if situation.energy_judged and need is not None and planned_kj < intake.NEAR_ENOUGH * need:
        cautions.append(shortfall(situation.energy, planned_kj))
    first, *others = (foods[key] for key in situation.stage.foods)
    if others:
        worth = ", ".join(
            f"{first.energy_kj_per_g.value / other.energy_kj_per_g.value:.2g} g of {other.name.lower()}"
            for other in others
        )
        cautions.append(
            Caution(
                code="vary_the_food",
                severity=Severity.NOTE,
                text=f"Instead of 1 g of {first.name.lower()}, of like energy: {worth}.",
                sources=first.energy_kj_per_g.sources,
            )
        )
    return tuple(cautions)
