"""Rules on single numbers: provenance, order of a band's ends, and what the unit in a name allows."""

from collections.abc import Iterator
from dataclasses import dataclass

import msgspec

from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Band, Quantity, Reach, Sourced
from species.packs.sourced import sourced_values


def sources_or_equation(record: Record) -> Iterator[tuple[str, str]]:
    """A value is printed somewhere or inferred by an equation: one of the two."""
    for pointer, value in sourced_values(record):
        yield from _provenance(pointer, value)


def _provenance(pointer: str, value: Sourced) -> Iterator[tuple[str, str]]:
    if value.reach is Reach.INFERRED:
        if not value.equation:
            yield pointer, "an inferred value needs its equation and the inputs."
        if value.sources:
            yield (
                f"{pointer}/sources",
                "an inferred value has an equation instead of sources; name the equation's origin inside it.",
            )
    else:
        if not value.sources:
            yield pointer, f"a value of reach '{value.reach}' needs a source key and the place in it."
        if value.equation:
            yield (
                f"{pointer}/equation",
                f"a value of reach '{value.reach}' has sources, no equation.",
            )


def bands_are_in_order(record: Record) -> Iterator[tuple[str, str]]:
    """low <= usual <= high."""
    for pointer, value in sourced_values(record):
        if isinstance(value, Band):
            if value.low > value.high:
                yield pointer, f"low {value.low:g} is above high {value.high:g}."
            elif value.usual is not None and not value.low <= value.usual <= value.high:
                yield pointer, f"usual {value.usual:g} is outside {value.low:g} to {value.high:g}."


@dataclass(frozen=True)
class _Domain:
    """What a number may be: far outside any bird, near enough to catch a wrong unit or a lost point."""

    suffix: str
    low: float
    high: float
    unit: str


#: The first suffix that fits a field's name counts. Limits are plausibility ones of ours, no source.
DOMAINS = (
    _Domain("_kj_per_g_dm", 5.0, 40.0, "kJ per gram of dry matter"),
    _Domain("_kj_per_g", 0.5, 40.0, "kJ per gram"),
    _Domain("_g_per_ml", 0.1, 1.5, "grams per millilitre"),
    _Domain("rate_per_day", 0.001, 2.0, "per day"),
    _Domain("_log_sd", 0.0, 1.0, "a standard deviation of a logarithm"),
    _Domain("log_asymptote_sd", 0.0, 1.0, "a standard deviation of a logarithm"),
    _Domain("log_rate_sd", 0.0, 1.0, "a standard deviation of a logarithm"),
    _Domain("_fraction", 0.0, 1.0, "a share: 0.08 for 8 %"),
    _Domain("_share", 0.0, 1.0, "a share: 0.08 for 8 %"),
    _Domain("brooder_c", 15.0, 40.0, "°C"),
    _Domain("_c", 0.0, 42.0, "°C"),
    _Domain("_per_feed", 0.0, 1000.0, "pieces"),
    _Domain("feeds_per_day", 0.0, 60.0, "feeds a day"),
    _Domain("night_feeds", 0.0, 12.0, "feeds a night"),
    _Domain("_days", 0.0, 400.0, "days"),
    _Domain("_min", 1.0, 1440.0, "minutes"),
    _Domain("feeding_day_h", 1.0, 24.0, "hours"),
    _Domain("_h", 0.0, 96.0, "hours"),
    _Domain("_mm", 0.1, 400.0, "millimetres"),
    _Domain("gauge", 1.0, 34.0, "needle gauge"),
    _Domain("piece_mass_g", 0.01, 1000.0, "grams"),
    _Domain("_g", 0.2, 160_000.0, "grams"),
)
_COMPOSITION = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


def numbers_are_in_their_domain(record: Record) -> Iterator[tuple[str, str]]:
    """Every number is possible for the unit that its field's name ends in."""
    for pointer, value in sourced_values(record):
        domain = _domain_of(pointer)
        for name, number in _numbers(value):
            if domain is not None and not domain.low <= number <= domain.high:
                yield (
                    f"{pointer}/{name}",
                    f"{number:g} is not possible: {domain.unit}, from {domain.low:g} to {domain.high:g}.",
                )


def _domain_of(pointer: str) -> _Domain | None:
    field = pointer.rsplit("/", 1)[-1]
    return next((domain for domain in DOMAINS if field.endswith(domain.suffix)), None)


def _numbers(value: Sourced) -> Iterator[tuple[str, float]]:
    if isinstance(value, Quantity):
        yield "value", value.value
    elif isinstance(value, Band):
        yield "low", value.low
        yield "high", value.high
        if value.usual is not None:
            yield "usual", value.usual


def plain_numbers_are_in_their_domain(record: Record) -> Iterator[tuple[str, str]]:
    """The same for numbers that stand beside a provenance instead of inside it."""
    for pointer, value in sourced_values(record):
        for field in msgspec.structs.fields(value):
            number = getattr(value, field.name)
            if field.name in _COMPOSITION and not 0 <= number <= 1:
                yield f"{pointer}/{field.name}", f"{number:g} is no share; write 0.08 for 8 %."


def numbers_agree_with_each_other(profile: Profile) -> Iterator[tuple[str, str]]:
    """Masses, curve and ages of one species do not contradict each other."""
    masses = profile.masses
    if masses.adult_g.value <= 0:
        return  # told by numbers_are_in_their_domain
    if masses.adult_low_g and masses.adult_low_g.value > masses.adult_g.value:
        yield "/masses/adult_low_g", "is above adult_g."
    if masses.adult_high_g and masses.adult_high_g.value < masses.adult_g.value:
        yield "/masses/adult_high_g", "is below adult_g."
    if masses.hatch_g and masses.hatch_g.value >= masses.adult_g.value / 2:
        yield "/masses/hatch_g", "a hatchling is far lighter than half an adult; check the unit."
    if masses.peak_g and not 0.5 <= masses.peak_g.value / masses.adult_g.value <= 2.5:
        yield "/masses/peak_g", "a chick's peak is between half and two and a half times the adult mass."
    curve = profile.growth_curve
    if curve is not None:
        if curve.valid_from_day >= curve.valid_to_day:
            yield "/growth_curve/valid_to_day", "must come after valid_from_day."
        if not 0.3 <= curve.asymptote_g.value / masses.adult_g.value <= 2.5:
            yield "/growth_curve/asymptote_g", "is too far from adult_g to be the same bird; check the unit."
    if profile.first_feed_h and profile.longest_wait_h and profile.longest_wait_h.value <= 0:
        yield "/longest_wait_h", "must be more than 0 hours."
