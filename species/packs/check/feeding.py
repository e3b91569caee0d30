"""Rules on how much, how thick, how warm and by what: the bounds of docs/safety/hazards.md."""

from collections.abc import Iterator
from itertools import pairwise

from species.domain.profile import Profile
from species.domain.vocabulary import FeedingKind, FoodGuild, Method, Skill

LARGEST_FEED_FRACTION = 0.10  # hazard 17
LARGEST_GROWN_FEED_FRACTION = 0.05  # hazard 17
#: A printed table by mass may reach beyond the rule of thumb; twice it is a misprint.
LARGEST_PRINTED_FEED_FRACTION = 0.15
COOLEST_SLURRY_C = 38.0  # hazard 19
WARMEST_SLURRY_C = 41.0  # hazard 19
NEVER_ABOVE_C = 42.0  # hazard 19
THINNEST_SLURRY_FRACTION = 0.20  # hazard 21
#: The one species with printed practice of thinner food, and the day it ends: hazard 22.
THIN_FED_SPECIES = "nymphicus-hollandicus"
THIN_FED_TO_DAY = 5.0
THINNEST_FRACTION = 0.07

_VOLUMES = ("volume_fraction", "meal_fraction", "pieces_per_feed")


def _takes_slurry(profile: Profile) -> bool:
    # Nectar is a food of its own: thin, and given cool.
    return (
        profile.feeding_kind in {FeedingKind.SLURRY, FeedingKind.MIXED}
        and profile.food_guild is not FoodGuild.NECTARIVORE
    )


def caps_are_safe(profile: Profile) -> Iterator[tuple[str, str]]:
    """A cap is for birds with a crop: at most 10 % of mass growing, 5 % grown, or the printed table."""
    caps = {"feed_cap_fraction": profile.feed_cap_fraction, "grown_cap_fraction": profile.grown_cap_fraction}
    if not profile.has_crop.value:
        for name, cap in caps.items():
            if cap is not None:
                yield f"/{name}", "a bird without a crop has no crop rule; leave it out."
        return
    limit = LARGEST_PRINTED_FEED_FRACTION if profile.printed_volumes else LARGEST_FEED_FRACTION
    if profile.feed_cap_fraction is not None and profile.feed_cap_fraction.value > limit:
        yield "/feed_cap_fraction", f"is above {limit:g} of the bird's mass; more is breathed in."
    if profile.grown_cap_fraction is not None and profile.grown_cap_fraction.value > LARGEST_GROWN_FEED_FRACTION:
        yield "/grown_cap_fraction", f"is above {LARGEST_GROWN_FEED_FRACTION:g} of a grown bird's mass."
    if profile.feeding_kind is FeedingKind.SLURRY and profile.feed_cap_fraction is None:
        yield "/feed_cap_fraction", "is missing; a bird with a crop that takes slurry needs its crop rule."
    if not profile.printed_volumes:
        for index, stage in enumerate(profile.stages):
            if stage.volume_fraction is not None and stage.volume_fraction.high > LARGEST_FEED_FRACTION:
                yield (
                    f"/stages/{index}/volume_fraction/high",
                    f"is above {LARGEST_FEED_FRACTION:g} of mass; only a printed table by mass may be.",
                )


def printed_volumes_are_a_table(profile: Profile) -> Iterator[tuple[str, str]]:
    """Rows by mass follow each other, and no row gives more than 15 % of the mass it is for."""
    rows = profile.printed_volumes
    for index, row in enumerate(rows):
        at = f"/printed_volumes/{index}"
        if row.from_g < 0 or (row.to_g is not None and row.to_g <= row.from_g):
            yield at, "to_g must be above from_g, and neither below 0."
        if not 0 < row.low_ml <= row.high_ml:
            yield at, "low_ml must be above 0 and not above high_ml."
        # Volumes rise with mass inside a row, so the largest is meant for the heaviest bird of the row.
        heaviest_g = row.to_g if row.to_g is not None else row.from_g
        if heaviest_g > 0 and row.high_ml / heaviest_g > LARGEST_PRINTED_FEED_FRACTION:
            yield f"{at}/high_ml", f"is above {LARGEST_PRINTED_FEED_FRACTION:g} of the mass it is for."
        low, high = row.interval_low_min, row.interval_high_min
        if low is not None and high is not None and low > high:
            yield at, "interval_low_min is above interval_high_min."
        if any(minutes is not None and not 10 <= minutes <= 1440 for minutes in (low, high)):
            yield at, "an interval is between 10 minutes and a day."
    for index, (row, following) in enumerate(pairwise(rows)):
        if row.to_g is None or row.to_g > following.from_g:
            yield f"/printed_volumes/{index}/to_g", "the next row starts before this one ends."


def food_is_not_too_hot(profile: Profile) -> Iterator[tuple[str, str]]:
    """Slurry is given between 38 and 41 °C and never above 42; nothing else is given hotter."""
    temperature = profile.feeding_temperature
    if temperature is None:
        if _takes_slurry(profile) and profile.feeding_kind is FeedingKind.SLURRY:
            yield "/feeding_temperature", "is missing; slurry burns or stops a crop at the wrong temperature."
        return
    if temperature.never_above_c.value > NEVER_ABOVE_C:
        yield "/feeding_temperature/never_above_c", f"is above {NEVER_ABOVE_C:g} °C, which burns the crop."
    if temperature.band_c.high > WARMEST_SLURRY_C:
        yield "/feeding_temperature/band_c/high", f"food is given at {WARMEST_SLURRY_C:g} °C at most."
    if temperature.band_c.high > temperature.never_above_c.value:
        yield "/feeding_temperature/band_c/high", "is above never_above_c."
    if _takes_slurry(profile) and profile.has_crop.value and temperature.band_c.low < COOLEST_SLURRY_C:
        yield (
            "/feeding_temperature/band_c/low",
            f"slurry in a crop is given at {COOLEST_SLURRY_C:g} °C at least; cooler food slows the crop.",
        )


def food_is_not_too_thin(profile: Profile) -> Iterator[tuple[str, str]]:
    """Slurry has at least 20 % dry matter; 7 % only for the cockatiel to day 4. Nectar is exempt."""
    if not _takes_slurry(profile):
        return
    for index, stage in enumerate(profile.stages):
        band = stage.dry_matter_fraction
        at = f"/stages/{index}/dry_matter_fraction"
        if band is None:
            if profile.feeding_kind is FeedingKind.SLURRY:
                yield at, "is missing; a stage fed on slurry needs its dry matter."
            continue
        early = stage.ages.to_day is not None and stage.ages.to_day <= THIN_FED_TO_DAY
        thinnest = THINNEST_FRACTION if early and profile.key == THIN_FED_SPECIES else THINNEST_SLURRY_FRACTION
        if band.low < thinnest:
            yield f"{at}/low", f"is below {thinnest:g}; the chick starves with a full crop."


def tube_is_never_first(profile: Profile) -> Iterator[tuple[str, str]]:
    """A tube is for trained hands, and a method safe for everyone is named before it."""
    for index, use in enumerate(profile.methods):
        if use.method is Method.TUBE:
            if index == 0:
                yield (
                    "/methods/0",
                    "a tube is never the first method; name one that is safe untrained.",
                )
            if use.skill is Skill.UNTRAINED:
                yield f"/methods/{index}/skill", "a tube needs trained hands."


def portions_fit_the_feeding_kind(profile: Profile) -> Iterator[tuple[str, str]]:
    """A bird that feeds itself has no portion; one that is fed has, and a way to give it."""
    kind = profile.feeding_kind
    if kind is FeedingKind.SELF_FEEDING:
        if profile.printed_volumes:
            yield "/printed_volumes", "a bird that feeds itself has no volume per feed."
        for index, stage in enumerate(profile.stages):
            for name in _VOLUMES:
                if getattr(stage, name) is not None:
                    yield f"/stages/{index}/{name}", "a bird that feeds itself has no portion per feed."
        return
    if not profile.methods:
        yield "/methods", "name at least one way to give the food, the safest first."
    if kind is FeedingKind.SOLID:
        for index, stage in enumerate(profile.stages):
            if stage.volume_fraction is not None:
                yield (
                    f"/stages/{index}/volume_fraction",
                    "is for slurry; solid food has meal_fraction.",
                )
    if kind in {FeedingKind.SLURRY, FeedingKind.MIXED} and profile.default_formula is None:
        yield "/default_formula", "is missing; without one nobody can mix a feed."


def fed_stages_say_how_often(profile: Profile) -> Iterator[tuple[str, str]]:
    """Every stage of a bird that is fed has an interval or a number of feeds; without one no plan can be made."""
    if profile.feeding_kind is FeedingKind.SELF_FEEDING:
        return
    for index, stage in enumerate(profile.stages):
        if stage.interval_min is None and stage.feeds_per_day is None:
            yield f"/stages/{index}", "prints neither interval_min nor feeds_per_day; nobody can be told when to feed."
