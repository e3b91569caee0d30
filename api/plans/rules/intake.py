"""How much slurry, how often, how thick: the choice nearest to the middle of printed practice that meets the need.

Order of remedies when the need is not met: one more feed (the interval may shrink to the stage's shortest), then
volume, then solids, then a caution. Bands are never left. docs/methods/intake.md.
"""

import math

from api.plans.rules.syringe import on_a_mark_ml
from api.plans.rules.timetable import feeds_needed, feeds_that_fit
from species.biology import food_energy
from species.domain.errors import DomainError
from species.domain.record import Record

#: First day in care: the middle of the band for a bird with an untried crop (design: practice, rule 4; HRB p.616).
FIRST_DAY_FRACTIONS = (0.07, 0.075, 0.08)
#: Emaciated: 1 to 3 % of mass, crop at most a third full (HRB p.352; first feeds of a convalescent 1 -> 3 %).
EMACIATED_FRACTIONS = (0.01, 0.02, 0.03)
#: What a syringe mark or a piece of food rounds away is no shortfall of energy.
NEAR_ENOUGH = 0.95
#: Solids are rounded to whole hundredths, which is finer than a kitchen mixes.
_SOLIDS_STEP = 0.01
_EPSILON = 1e-9


class VolumeBand(Record, frozen=True, kw_only=True):
    """Volumes of one feed, in mL: the ends that may not be left, and the middle of practice."""

    low_ml: float
    usual_ml: float
    high_ml: float


class SlurryChoice(Record, frozen=True, kw_only=True):
    """What was chosen, what was tried for the need, and whether it is met."""

    volume_ml: float
    day_feeds: int
    dry_matter_fraction: float
    planned_kj_per_day: float
    remedies: tuple[str, ...]
    need_met: bool | None


def volume_band_ml(
    *,
    mass_g: float,
    low_fraction: float,
    usual_fraction: float,
    high_fraction: float,
    cap_fraction: float,
    printed_low_ml: float | None,
    printed_high_ml: float | None,
    care: str,
) -> VolumeBand:
    """Band of one feed for the bird's actual mass.

    Parameters
    ----------
    mass_g
        Actual mass (or the low end of the expected band where it was not weighed).
    low_fraction, usual_fraction, high_fraction
        Stage's share of mass in one feed.
    cap_fraction
        Crop rule: largest share of actual mass.
    printed_low_ml, printed_high_ml
        The species' printed row for this mass, which stands before the shares and the crop rule.
    care
        ``routine``; ``first_day`` holds the feed to 7-8 % of mass; ``emaciated`` to 1-3 % and a third of the crop;
        ``slow_crop`` keeps to the lower half of the band; ``unweighed`` starts from its low end.
    """
    if printed_low_ml is not None and printed_high_ml is not None:
        low, high = printed_low_ml, printed_high_ml
        usual, cap = (low + high) / 2, high
    else:
        cap = cap_fraction * mass_g
        low, usual, high = (f * mass_g for f in (low_fraction, usual_fraction, high_fraction))
        high = min(high, cap)
    if care == "first_day":
        first_low, first_usual, first_high = (f * mass_g for f in FIRST_DAY_FRACTIONS)
        high = min(high, first_high)
        low, usual = min(low, first_low, high), min(usual, first_usual, high)
    elif care == "emaciated":
        thin_low, thin_usual, thin_high = (f * mass_g for f in EMACIATED_FRACTIONS)
        high = min(thin_high, cap / 3)
        low, usual = min(thin_low, high), min(thin_usual, high)
    elif care == "slow_crop":
        high = min(usual, high)
    elif care == "unweighed":
        usual = low
    low = min(low, high)
    usual = min(max(usual, low), high)
    top = math.floor(high * 100 + 1e-7) / 100 or high
    bottom = min(math.ceil(low * 100 - 1e-7) / 100, top)
    return VolumeBand(low_ml=bottom, usual_ml=min(max(usual, bottom), top), high_ml=top)


def band_low_ml(**inputs: float | str | None) -> float:
    """Low end of :func:`volume_band_ml`."""
    return volume_band_ml(**inputs).low_ml  # type: ignore[arg-type]


def band_high_ml(**inputs: float | str | None) -> float:
    """High end of :func:`volume_band_ml`."""
    return volume_band_ml(**inputs).high_ml  # type: ignore[arg-type]


def slurry_energy_kj_per_ml(
    *, dry_matter_fraction: float, energy_kj_per_g_dm: float, solids_ml_per_g: float, water_ml_per_g: float
) -> float:
    """Metabolisable energy of a millilitre of mix, without trapped air; rounded to 0.001 kJ/mL.

    Notes
    -----
    s e / ((1 - s)/rho_w + s v): energetics-and-mixing.md section 3.5, check C32.
    """
    density_g_per_ml = 1.0 / ((1.0 - dry_matter_fraction) * water_ml_per_g + dry_matter_fraction * solids_ml_per_g)
    return round(float(food_energy.energy_kj_per_ml(dry_matter_fraction, energy_kj_per_g_dm, density_g_per_ml)), 3)


def slurry_choice(
    *,
    low_ml: float,
    usual_ml: float,
    high_ml: float,
    feeds_low: int,
    feeds_usual: int,
    feeds_high: int,
    night_feeds: int,
    dry_matter_low: float,
    dry_matter_usual: float,
    dry_matter_high: float,
    energy_kj_per_g_dm: float,
    solids_ml_per_g: float,
    water_ml_per_g: float,
    need_kj_per_day: float | None,
    ceiling_kj_per_day: float | None,
    hold_volume: bool,
) -> SlurryChoice:
    """Choose feeds, volume and solids.

    Parameters
    ----------
    low_ml, usual_ml, high_ml
        Band of one feed.
    feeds_low, feeds_usual, feeds_high
        Feeds of the day: fewest, usual and most (:func:`feeds_range`).
    night_feeds
        Feeds in the night, beside those of the day.
    dry_matter_low, dry_matter_usual, dry_matter_high
        Band of solids.
    energy_kj_per_g_dm, solids_ml_per_g, water_ml_per_g
        Of the powder's dry matter, and of water at feeding temperature.
    need_kj_per_day, ceiling_kj_per_day
        Need to be met, and what must not be passed without cause; null while energy is not judged.
    hold_volume
        True where volume may not rise for the sake of energy (slow crop, first day, emaciated).

    Returns
    -------
    SlurryChoice
        Volume on a syringe mark inside the band; solids in whole hundredths inside theirs.
    """

    def planned(volume_ml: float, feeds: int, solids: float) -> float:
        density = slurry_energy_kj_per_ml(
            dry_matter_fraction=solids,
            energy_kj_per_g_dm=energy_kj_per_g_dm,
            solids_ml_per_g=solids_ml_per_g,
            water_ml_per_g=water_ml_per_g,
        )
        return round(volume_ml * density * (feeds + night_feeds), 1)

    feeds = feeds_usual
    volume = on_a_mark_ml(volume_ml=usual_ml, low_ml=low_ml, high_ml=high_ml)
    solids = _hundredths(dry_matter_usual, dry_matter_low, dry_matter_high)
    remedies: list[str] = []
    met: bool | None = None
    if need_kj_per_day is not None and ceiling_kj_per_day is not None:
        while feeds < feeds_high and planned(volume, feeds, solids) < need_kj_per_day:
            feeds += 1
            _note(remedies, "one_more_feed")
        if planned(volume, feeds, solids) < need_kj_per_day and not hold_volume:
            wanted = volume * need_kj_per_day / planned(volume, feeds, solids)
            raised = on_a_mark_ml(volume_ml=min(wanted, high_ml), low_ml=low_ml, high_ml=high_ml)
            if raised > volume:
                volume = raised
                _note(remedies, "more_volume")
        while solids + _SOLIDS_STEP <= dry_matter_high + _EPSILON and planned(volume, feeds, solids) < need_kj_per_day:
            solids = round(solids + _SOLIDS_STEP, 2)
            _note(remedies, "more_solids")
        while feeds > feeds_low and planned(volume, feeds - 1, solids) > ceiling_kj_per_day:
            feeds -= 1
            _note(remedies, "one_feed_less")
        met = planned(volume, feeds, solids) >= NEAR_ENOUGH * need_kj_per_day
    return SlurryChoice(
        volume_ml=volume,
        day_feeds=feeds,
        dry_matter_fraction=solids,
        planned_kj_per_day=planned(volume, feeds, solids),
        remedies=tuple(remedies),
        need_met=met,
    )


def feed_volume_ml(**inputs: float | bool | None) -> float:
    """Volume of :func:`slurry_choice`."""
    return slurry_choice(**inputs).volume_ml  # type: ignore[arg-type]


def feeds_per_day(**inputs: float | bool | None) -> int:
    """Feeds of the day and the night of :func:`slurry_choice`."""
    return slurry_choice(**inputs).day_feeds + int(inputs["night_feeds"] or 0)  # type: ignore[arg-type]


def dry_matter_fraction(**inputs: float | bool | None) -> float:
    """Solids of :func:`slurry_choice`."""
    return slurry_choice(**inputs).dry_matter_fraction  # type: ignore[arg-type]


def planned_kj_per_day(**inputs: float | bool | None) -> float:
    """Energy of :func:`slurry_choice`: volume x energy density x feeds."""
    return slurry_choice(**inputs).planned_kj_per_day  # type: ignore[arg-type]


class FeedsRange(Record, frozen=True, kw_only=True):
    """Feeds between the first and the last of the day, both counted."""

    low: int
    usual: int
    high: int


def feeds_range(
    *,
    window_min: int,
    interval_low_min: float | None,
    interval_usual_min: float | None,
    interval_high_min: float | None,
    feeds_low: float | None,
    feeds_usual: float | None,
    feeds_high: float | None,
) -> FeedsRange:
    """How many feeds a day may have: as many as the intervals allow in the feeding day, within the printed count.

    Where both are printed and the feeding day allows none of the printed counts, the intervals decide.

    Raises
    ------
    DomainError
        If the stage prints neither.
    """
    counted = None
    if feeds_low is not None and feeds_usual is not None and feeds_high is not None:
        counted = FeedsRange(low=max(round(feeds_low), 1), usual=max(round(feeds_usual), 1), high=round(feeds_high))
    if interval_low_min is None or interval_usual_min is None or interval_high_min is None:
        if counted is None:
            raise DomainError(
                "The stage prints neither an interval nor a number of feeds.",
                field="/species",
                code="no_interval_known",
                remedy="Ask a vet or a rescue that rears this species.",
            )
        return counted
    most = feeds_that_fit(window_min=window_min, interval_min=interval_low_min)
    fewest = min(feeds_needed(window_min=window_min, interval_min=interval_high_min), most)
    usual = round(window_min / interval_usual_min) + 1
    if counted is not None and max(fewest, counted.low) <= min(most, counted.high):
        fewest, most, usual = max(fewest, counted.low), min(most, counted.high), counted.usual
    return FeedsRange(low=fewest, usual=min(max(usual, fewest), most), high=most)


def percent_of_mass(*, amount: float, mass_g: float) -> float:
    """Share of actual mass in one feed, in per cent; a millilitre counts as a gram, as practice prints it."""
    return round(100.0 * amount / mass_g, 1)


def _hundredths(value: float, low: float, high: float) -> float:
    shown = round(value, 2)
    return shown if low - _EPSILON <= shown <= high + _EPSILON else value


def _note(remedies: list[str], remedy: str) -> None:
    if remedy not in remedies:
        remedies.append(remedy)
