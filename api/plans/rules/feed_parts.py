"""Parts of a feed that slurry and solid food share: how many, how far apart, how it is given."""

from api.plans.rules.intake import FeedsRange, feeds_range
from api.plans.rules.plan import Caution, Energy, MethodRead, Severity
from api.plans.rules.situation import Situation
from api.plans.rules.timetable import even_interval_min
from species.domain.profile import MethodUse, Profile
from species.domain.record import Record
from species.domain.sourcing import Band


class Spacing(Record, frozen=True, kw_only=True):
    """Feeds of the day and the limits of their distance, in minutes."""

    feeds: FeedsRange
    low_min: int
    high_min: int
    night_feeds: int


def spacing_of(situation: Situation) -> Spacing:
    """Read how often the stage is fed; the interval is never shorter than the crop takes to empty, where printed."""
    stage, window = situation.stage, situation.window_min
    night = round(stage.night_feeds.value) if stage.night_feeds else 0
    interval, counted = stage.interval_min, stage.feeds_per_day
    row = printed_interval_of(situation)
    low, usual, high = row or ((interval.low, interval.middle, interval.high) if interval else (None, None, None))
    if low is not None and usual is not None and high is not None and stage.crop_empties_h is not None and row is None:
        low = max(low, stage.crop_empties_h.low * 60)
        usual, high = max(usual, low), max(high, low)
    by_count = counted if row is None else None
    feeds = feeds_range(
        window_min=window,
        interval_low_min=low,
        interval_usual_min=usual,
        interval_high_min=high,
        feeds_low=by_count.low - night if by_count else None,
        feeds_usual=by_count.middle - night if by_count else None,
        feeds_high=by_count.high - night if by_count else None,
    )
    return Spacing(
        feeds=feeds,
        low_min=round(low) if low is not None else even_interval_min(window_min=window, feeds=feeds.high),
        high_min=round(high) if high is not None else even_interval_min(window_min=window, feeds=feeds.low),
        night_feeds=night,
    )


def printed_interval_of(situation: Situation) -> tuple[float, float, float] | None:
    """Interval of the species' printed row for this mass, where the row has one."""
    if situation.grown:
        return None
    for row in situation.profile.printed_volumes:
        if row.from_g <= situation.mass_g and (row.to_g is None or situation.mass_g < row.to_g):
            if row.interval_low_min is None or row.interval_high_min is None:
                return None
            return row.interval_low_min, (row.interval_low_min + row.interval_high_min) / 2, row.interval_high_min
    return None


def interval_min(situation: Situation, spacing: Spacing, day_feeds: int) -> int:
    """Minutes between the feeds of the day, spread evenly, inside the stage's limits."""
    even = even_interval_min(window_min=situation.window_min, feeds=day_feeds)
    return min(max(even, spacing.low_min), spacing.high_min)


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
        act_within_h=8 if serious else None,
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
