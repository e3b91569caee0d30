"""A feed of slurry: volume, number, thickness and what goes into it."""

from typing import Any

from api.kitchen.rules.powders import Powder
from api.plans.rules import intake
from api.plans.rules.feed_parts import (
    Spacing,
    crop_rule,
    daily_amount,
    method_reads,
    printed_row,
    short_day,
    shortfall,
    spacing,
    spacing_inputs,
    spacing_read,
    spacing_sources,
)
from api.plans.rules.plan import Feed, FormulaRead
from api.plans.rules.situation import Situation
from api.plans.rules.syringe import syringe_ml
from api.web.rules.cautions import Caution, Severity
from api.web.rules.ledger import Ledger
from species.biology import mixing, water
from species.biology import powder as powders
from species.domain.record import Record
from species.domain.sourcing import Band
from species.domain.vocabulary import Portion

#: Temperature at which a millilitre of mix is reckoned.
FEEDING_C = 40.0
#: Volume of dry solids where a powder's composition is not known: powder X of the mixing notes, section 3.2.
SOLIDS_ML_PER_G = 0.7056
WATER_ML_PER_G = round(1.0 / float(water.density_g_per_ml(FEEDING_C)), 5)
#: Thinner food than this is for a hatchling whose hatching is known, to its fourth day (R&G86).
THIN_BELOW, THIN_UNTIL_DAY = 0.20, 4.0
KNOWN_HATCHING = frozenset({"given", "hatched_on", "hatched_at"})


class SlurryPlan(Record, frozen=True, kw_only=True):
    """The feed, its formula, its energy and what must be said of them."""

    feed: Feed
    formula: FormulaRead
    planned_kj_per_day: float
    day_feeds: int
    cautions: tuple[Caution, ...]


def plan_slurry(situation: Situation, powder: Powder, ledger: Ledger) -> SlurryPlan:
    """Choose and explain a feed of slurry."""
    apart = spacing(**spacing_inputs(situation))
    band_inputs, band_sources = _band_inputs(situation)
    low_ml = ledger.derive("/feed/low_ml", intake.band_low_ml, sources=band_sources, **band_inputs)
    high_ml = ledger.derive("/feed/high_ml", intake.band_high_ml, sources=band_sources, **band_inputs)
    band = intake.volume_band_ml(**band_inputs)
    solids = solids_band(situation)
    inputs = _choice_inputs(situation, apart, band, solids, powder)
    choice = intake.slurry_choice(**inputs)
    energy_sources = powder.sources + solids.sources
    volume_ml = ledger.derive("/feed/volume_ml", intake.feed_volume_ml, sources=band_sources, **inputs)
    feeds = ledger.derive("/feed/feeds_per_day", intake.feeds_per_day, sources=spacing_sources(situation), **inputs)
    dry_matter = ledger.derive(
        "/formula/dry_matter_fraction", intake.dry_matter_fraction, sources=solids.sources, **inputs
    )
    planned_kj = ledger.derive(
        "/energy/planned_kj_per_day", intake.planned_kj_per_day, sources=energy_sources, **inputs
    )
    times = spacing_read(situation, choice.day_feeds, ledger)
    feed = Feed(
        portion=Portion.SLURRY,
        provisional=situation.provisional,
        volume_ml=volume_ml,
        low_ml=low_ml,
        high_ml=high_ml,
        mass_g=None,
        low_g=None,
        high_g=None,
        percent_of_mass=ledger.derive(
            "/feed/percent_of_mass", intake.percent_of_mass, amount=volume_ml, mass_g=situation.mass_g
        ),
        feeds_per_day=feeds,
        interval_min=times.interval_min,
        interval_low_min=times.interval_low_min,
        interval_high_min=times.interval_high_min,
        night_feeds=times.night_feeds,
        max_wait_min=times.interval_high_min,
        daily_ml=ledger.derive("/feed/daily_ml", daily_amount, amount=volume_ml, feeds=feeds),
        daily_g=None,
        stop_when=situation.profile.stop_when.value,
        methods=tuple(use.method.value for use in situation.profile.methods),
        method_details=method_reads(situation.profile),
        syringe_ml=ledger.derive("/feed/syringe_ml", syringe_ml, volume_ml=volume_ml),
        items=(),
        supplements=(),
        casting=None,
    )
    formula = _formula(volume_ml, dry_matter, solids, inputs, powder, energy_sources, ledger)
    return SlurryPlan(
        feed=feed,
        formula=formula,
        planned_kj_per_day=planned_kj,
        day_feeds=choice.day_feeds,
        cautions=_cautions(choice, situation, powder),
    )


def solids_band(situation: Situation) -> Band:
    """Band of solids: the stage's, but never thin food for a bird whose hatching is not known to be so recent."""
    stages = situation.profile.stages
    index = stages.index(situation.stage)
    band = situation.stage.dry_matter_fraction
    age = situation.age
    hatchling = age.basis in KNOWN_HATCHING and age.days < THIN_UNTIL_DAY
    if band is not None and (band.middle >= THIN_BELOW or hatchling):
        return band
    thicker = (s.dry_matter_fraction for s in stages[index:])
    return next(b for b in thicker if b is not None and b.low >= THIN_BELOW)


def powder_per_feed_g(
    *,
    volume_ml: float,
    dry_matter_fraction: float,
    powder_dry_matter_fraction: float,
    solids_ml_per_g: float,
    water_ml_per_g: float,
) -> float:
    """Powder as sold in one feed, to 0.01 g (mixing notes 3.1 and 3.5)."""
    mass_g = _slurry_g(volume_ml, dry_matter_fraction, solids_ml_per_g, water_ml_per_g)
    return round(float(mixing.mass_balance(mass_g, dry_matter_fraction, powder_dry_matter_fraction).powder_g), 2)


def water_per_feed_ml(
    *,
    volume_ml: float,
    dry_matter_fraction: float,
    powder_dry_matter_fraction: float,
    solids_ml_per_g: float,
    water_ml_per_g: float,
) -> float:
    """Water in one feed, as a warm millilitre measures it, to 0.01 mL."""
    mass_g = _slurry_g(volume_ml, dry_matter_fraction, solids_ml_per_g, water_ml_per_g)
    balance = mixing.mass_balance(mass_g, dry_matter_fraction, powder_dry_matter_fraction)
    return round(float(balance.water_g) * water_ml_per_g, 2)


def consistency(*, dry_matter_fraction: float) -> str:
    """How the mix looks off the spoon. From memory; powders differ, so weigh rather than judge by eye."""
    if dry_matter_fraction < 0.10:
        return "runs like milk"
    if dry_matter_fraction < 0.20:
        return "runs like thin cream"
    if dry_matter_fraction < 0.25:
        return "pours like cream"
    if dry_matter_fraction < 0.30:
        return "pours slowly, like thick cream"
    return "drops off the spoon, like soft yoghurt"


def _slurry_g(volume_ml: float, dry_matter: float, solids_ml_per_g: float, water_ml_per_g: float) -> float:
    return volume_ml / ((1.0 - dry_matter) * water_ml_per_g + dry_matter * solids_ml_per_g)


def _band_inputs(situation: Situation) -> tuple[dict[str, Any], tuple[str, ...]]:
    share = situation.stage.volume_fraction
    row = printed_row(situation)
    cap_fraction, cap_sources = crop_rule(situation)
    sources = (row.sources if row else share.sources if share else ()) + cap_sources
    low, usual, high = cap_fraction / 2, cap_fraction * 0.75, cap_fraction
    if share is not None and not situation.grown:
        low, usual, high = share.low, share.middle, share.high
    return {
        "mass_g": situation.mass_g,
        "low_fraction": low,
        "usual_fraction": usual,
        "high_fraction": high,
        "cap_fraction": cap_fraction,
        "printed_low_ml": row.low_ml if row else None,
        "printed_high_ml": row.high_ml if row else None,
        "care": situation.care,
    }, sources


def _choice_inputs(
    situation: Situation, apart: Spacing, band: intake.VolumeBand, solids: Band, powder: Powder
) -> dict[str, Any]:
    judged = situation.energy_judged
    feeds = apart.feeds
    return {
        "low_ml": band.low_ml,
        "usual_ml": band.usual_ml,
        "high_ml": band.high_ml,
        "feeds_low": feeds.low,
        "feeds_usual": feeds.high if situation.care == "emaciated" else feeds.usual,
        "feeds_high": feeds.high,
        "night_feeds": apart.night_feeds,
        "dry_matter_low": solids.low,
        "dry_matter_usual": solids.middle,
        "dry_matter_high": solids.high,
        "energy_kj_per_g_dm": powder.energy_kj_per_g_dm,
        "solids_ml_per_g": solids_ml_per_g(powder),
        "water_ml_per_g": WATER_ML_PER_G,
        "need_kj_per_day": situation.target_kj_per_day if judged else None,
        "ceiling_kj_per_day": situation.ceiling_kj_per_day if judged else None,
        "hold_volume": situation.volume_is_held,
    }


def solids_ml_per_g(powder: Powder) -> float:
    if powder.composition is None:
        return SOLIDS_ML_PER_G
    parts = {name: getattr(powder.composition, name) for name in powder.composition.__struct_fields__}
    return round(float(powders.dry_solids_volume_ml_per_g(parts, FEEDING_C)), 4)


def _formula(
    volume_ml: float,
    dry_matter: float,
    solids: Band,
    inputs: dict[str, Any],
    powder: Powder,
    energy_sources: tuple[str, ...],
    ledger: Ledger,
) -> FormulaRead:
    volumes = {
        "solids_ml_per_g": inputs["solids_ml_per_g"],
        "water_ml_per_g": inputs["water_ml_per_g"],
    }
    per_feed = {
        "volume_ml": volume_ml,
        "dry_matter_fraction": dry_matter,
        "powder_dry_matter_fraction": powder.dry_matter_fraction,
        **volumes,
    }
    return FormulaRead(
        dry_matter_fraction=dry_matter,
        low_fraction=solids.low,
        high_fraction=solids.high,
        energy_kj_per_ml=ledger.derive(
            "/formula/energy_kj_per_ml",
            intake.slurry_energy_kj_per_ml,
            sources=energy_sources,
            dry_matter_fraction=dry_matter,
            energy_kj_per_g_dm=powder.energy_kj_per_g_dm,
            **volumes,
        ),
        powder_g_per_feed=ledger.derive("/formula/powder_g_per_feed", powder_per_feed_g, **per_feed),
        water_ml_per_feed=ledger.derive("/formula/water_ml_per_feed", water_per_feed_ml, **per_feed),
        consistency=ledger.derive("/formula/consistency", consistency, dry_matter_fraction=dry_matter),
    )


def _cautions(choice: intake.SlurryChoice, situation: Situation, powder: Powder) -> tuple[Caution, ...]:
    cautions = list(short_day(situation))
    if choice.need_met is False:
        cautions.append(shortfall(situation.energy, choice.planned_kj_per_day))
    if powder.composition is None:
        cautions.append(
            Caution(
                code="composition_assumed",
                severity=Severity.NOTE,
                text="The powder's composition was not told: its density is that of an ordinary rearing powder.",
            )
        )
    return tuple(cautions)
