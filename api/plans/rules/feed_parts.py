"""Parts of a feed that slurry and solid food share: how many, how far apart, how it is given."""

import math
from typing import Any

from api.plans.rules.feeding_day import FALLBACK_H
from api.plans.rules.intake import FeedsRange, feeds_range
from api.plans.rules.plan import Energy, MethodRead
from api.plans.rules.situation import Situation
from api.plans.rules.timetable import even_interval_min
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, URGENT_WITHIN_H, Caution, Severity
from api.web.rules.ledger import Ledger
from species.domain.profile import MethodUse, Profile
from species.domain.record import Record
from species.domain.sourcing import Band
from species.domain.stage import PrintedVolume, Stage

#: A day shorter than this share of the printed one starves; less than half of that, or with a bird so young, at once.
#: Common practice, no source.
SHORT_DAY_FRACTION, YOUNG_DAYS = 0.75, 5.0
#: Crop rules where a profile prints none: growing (APN, ZWE, JOH) and grown (TUBE: 50 mL/kg).
GROWING_CAP_FRACTION, GROWN_CAP_FRACTION = 0.10, 0.05


class Spacing(Record, frozen=True, kw_only=True):
    """Feeds of the day and the limits of their distance, in minutes."""

    feeds: FeedsRange
    low_min: int
    high_min: int
    night_feeds: int


def spacing(
    *,
    window_min: int,
    night_feeds: int,
    interval_low_min: float | None,
    interval_usual_min: float | None,
    interval_high_min: float | None,
    feeds_low: float | None,
    feeds_usual: float | None,
    feeds_high: float | None,
    crop_empties_h: float | None,
    printed_window_min: int,
) -> Spacing:
    """How often a stage is fed in a feeding day.

    Parameters
    ----------
    window_min
        Minutes between the first and the last feed of the day.
    night_feeds
        Feeds in the night; counted in ``feeds_*`` and taken off there.
    interval_low_min, interval_usual_min, interval_high_min
        Printed time between feeds.
    feeds_low, feeds_usual, feeds_high
        Printed number of feeds in a day and night.
    crop_empties_h
        Shortest time in which the crop empties: no interval is shorter.
    printed_window_min
        Feeding day that a printed number of feeds was meant for: a shorter day has fewer feeds, not closer ones.
    """
    low, usual, high = interval_low_min, interval_usual_min, interval_high_min
    if low is None and feeds_low is not None and feeds_usual is not None and feeds_high is not None:
        high, usual, low = (
            printed_window_min / max(feeds - night_feeds - 1, 1) for feeds in (feeds_low, feeds_usual, feeds_high)
        )
    if low is not None and usual is not None and high is not None and crop_empties_h is not None:
        low = max(low, crop_empties_h * 60)
        usual, high = max(usual, low), max(high, low)
    feeds = feeds_range(
        window_min=window_min,
        interval_low_min=low,
        interval_usual_min=usual,
        interval_high_min=high,
        feeds_low=None if feeds_low is None else feeds_low - night_feeds,
        feeds_usual=None if feeds_usual is None else feeds_usual - night_feeds,
        feeds_high=None if feeds_high is None else feeds_high - night_feeds,
    )
    return Spacing(
        feeds=feeds,
        low_min=math.floor(low) if low is not None else even_interval_min(window_min=window_min, feeds=feeds.high),
        high_min=math.ceil(high) if high is not None else even_interval_min(window_min=window_min, feeds=feeds.low),
        night_feeds=night_feeds,
    )


def spacing_low_min(**inputs: Any) -> int:
    """Shortest interval of :func:`spacing`."""
    return spacing(**inputs).low_min


def spacing_high_min(**inputs: Any) -> int:
    """Longest interval of :func:`spacing`; longer than that no bird waits by day."""
    return spacing(**inputs).high_min


def spacing_night_feeds(**inputs: Any) -> int:
    """Feeds in the night of :func:`spacing`."""
    return spacing(**inputs).night_feeds


def spacing_inputs(situation: Situation) -> dict[str, Any]:
    """What :func:`spacing` needs of a bird: the printed row of its mass stands before the stage's own intervals."""
    stage, row = situation.stage, printed_row(situation)
    own = _printed_interval(row)
    interval, counted = stage.interval_min, stage.feeds_per_day
    low, usual, high = own or ((interval.low, interval.middle, interval.high) if interval else (None, None, None))
    if own is not None:
        counted = None
    return {
        "window_min": situation.window_min,
        "night_feeds": round(stage.night_feeds.value) if stage.night_feeds else 0,
        "interval_low_min": low,
        "interval_usual_min": usual,
        "interval_high_min": high,
        "feeds_low": counted.low if counted else None,
        "feeds_usual": counted.middle if counted else None,
        "feeds_high": counted.high if counted else None,
        "crop_empties_h": stage.crop_empties_h.low if stage.crop_empties_h and own is None else None,
        "printed_window_min": printed_window_min(stage),
    }


def printed_window_min(stage: Stage) -> int:
    """Length of the feeding day that practice prints for a stage, or the usual one."""
    return round(60 * (stage.feeding_day_h.middle if stage.feeding_day_h else FALLBACK_H))


def short_day(situation: Situation) -> tuple[Caution, ...]:
    """Say that the carer's feeding day is too short for the ration: it is not crammed into fewer hours."""
    stage = situation.stage
    hours = stage.feeding_day_h.low if stage.feeding_day_h else FALLBACK_H
    share = situation.window_min / (60 * hours)
    if share >= SHORT_DAY_FRACTION:
        return ()
    urgent = share < SHORT_DAY_FRACTION / 2 or situation.age.days < YOUNG_DAYS
    return (
        Caution(
            code="feeding_day_too_short",
            severity=Severity.URGENT if urgent else Severity.ACT_TODAY,
            act_within_h=URGENT_WITHIN_H if urgent else ACT_TODAY_WITHIN_H,
            text=(
                f"A feeding day of {situation.window_min / 60:.2g} h is too short: {hours:g} h are usual here. "
                "What is missing is not made up by closer or larger feeds. Feed longer, or find somebody who can."
            ),
            sources=stage.feeding_day_h.sources if stage.feeding_day_h else ("COMMON feeding day",),
        ),
    )


def spacing_sources(situation: Situation) -> tuple[str, ...]:
    """Where the stage's intervals and counts are printed."""
    stage, row = situation.stage, printed_row(situation)
    printed = [row] if _printed_interval(row) else [stage.interval_min, stage.feeds_per_day, stage.crop_empties_h]
    return tuple(ref for value in printed if value is not None for ref in value.sources)


class SpacingRead(Record, frozen=True, kw_only=True):
    """Spacing as the plan shows it."""

    interval_min: int
    interval_low_min: int
    interval_high_min: int
    night_feeds: int


def spacing_read(situation: Situation, day_feeds: int, ledger: Ledger) -> SpacingRead:
    """Note the intervals of a feed and its night feeds."""
    inputs, sources = spacing_inputs(situation), spacing_sources(situation)
    low = ledger.derive("/feed/interval_low_min", spacing_low_min, sources=sources, **inputs)
    high = ledger.derive("/feed/interval_high_min", spacing_high_min, sources=sources, **inputs)
    ledger.derive("/feed/max_wait_min", spacing_high_min, sources=sources, **inputs)
    return SpacingRead(
        interval_min=ledger.derive(
            "/feed/interval_min",
            feed_interval_min,
            window_min=situation.window_min,
            day_feeds=day_feeds,
            low_min=low,
            high_min=high,
        ),
        interval_low_min=low,
        interval_high_min=high,
        night_feeds=ledger.derive("/feed/night_feeds", spacing_night_feeds, sources=sources, **inputs),
    )


def printed_row(situation: Situation) -> PrintedVolume | None:
    """Row of the species' printed table for the bird's mass; none for a grown bird, whose crop rule is another."""
    if situation.grown:
        return None
    rows = situation.profile.printed_volumes
    return next(
        (r for r in rows if r.from_g <= situation.mass_g and (r.to_g is None or situation.mass_g < r.to_g)), None
    )


def _printed_interval(row: PrintedVolume | None) -> tuple[float, float, float] | None:
    if row is None or row.interval_low_min is None or row.interval_high_min is None:
        return None
    return row.interval_low_min, (row.interval_low_min + row.interval_high_min) / 2, row.interval_high_min


def crop_rule(situation: Situation) -> tuple[float, tuple[str, ...]]:
    """Largest share of actual mass in a feed of slurry, and its sources."""
    profile = situation.profile
    cap = profile.grown_cap_fraction if situation.grown else profile.feed_cap_fraction
    if cap is not None:
        return cap.value, cap.sources
    if situation.grown:
        return GROWN_CAP_FRACTION, ("TUBE crop capacity 50 mL/kg",)
    return GROWING_CAP_FRACTION, ("APN about 10 % of body weight a feed", "ZWE 10 % of body weight")


def feed_interval_min(*, window_min: int, day_feeds: int, low_min: int, high_min: int) -> int:
    """Minutes between the feeds of the day, spread evenly, inside the stage's limits."""
    return min(max(even_interval_min(window_min=window_min, feeds=day_feeds), low_min), high_min)


def daily_amount(*, amount: float, feeds: int) -> float:
    """Amount of a whole day, in the unit of one feed."""
    return round(amount * feeds, 2)


def shortfall(energy: Energy, planned_kj_per_day: float) -> Caution:
    """Say that the need is not met: for today below the need's 90 % interval or the clinical band, else to know."""
    floor = min(e for e in (energy.low_kj_per_day, energy.clinical_low_kj_per_day) if e is not None)
    serious = planned_kj_per_day < floor
    return Caution(
        code="energy_below_need",
        severity=Severity.ACT_TODAY if serious else Severity.NOTE,
        act_within_h=ACT_TODAY_WITHIN_H if serious else None,
        text=(
            f"Fed as often, as much and as rich as practice allows, this gives {planned_kj_per_day:g} of about "
            f"{energy.need_kj_per_day:g} kJ a day. Weigh every morning; ask a vet if the bird does not gain."
        ),
        sources=("WEA92 whole-rearing energy", "QUE89 growth factor"),
    )


def method_reads(profile: Profile) -> tuple[MethodRead, ...]:
    """Ways to give the food, safest first as the profile lists them."""
    return tuple(_method_read(use) for use in profile.methods)


def _method_read(use: MethodUse) -> MethodRead:
    return MethodRead(
        method=use.method.value,
        skill=use.skill.value,
        tip=use.tip,
        gauge=_span(use.gauge),
        tube_mm=_span(use.tube_mm),
    )


def _span(band: Band | None) -> str | None:
    if band is None:
        return None
    return f"{band.low:g}" if band.low == band.high else f"{band.low:g}-{band.high:g}"
