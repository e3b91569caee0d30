"""Rules that need the whole pack: names of files, unique keys, and what one file says of another."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from species.domain.food import Food, Formula
from species.domain.record import Record
from species.packs.check.values import (
    bands_are_in_order,
    numbers_are_in_their_domain,
    plain_numbers_are_in_their_domain,
    sources_or_equation,
)
from species.packs.read import Reading
from species.packs.sourced import source_keys, sourced_values

#: (file, JSON pointer, message)
Complaint = tuple[str, str, str]

COMPOSITION_TOLERANCE = 0.02


def _tables(reading: Reading) -> Iterator[tuple[str, str, Formula | Food]]:
    for index, formula in enumerate(reading.formulas):
        yield "formulas.toml", f"/formula/{index}", formula
    for index, food in enumerate(reading.foods):
        yield "foods.toml", f"/food/{index}", food


def _records(reading: Reading) -> Iterator[tuple[str, str, Record]]:
    yield from _tables(reading)
    for file, profile in reading.profiles.items():
        yield file, "", profile


def files_are_named_after_their_species(reading: Reading) -> Iterator[Complaint]:
    """A profile lies in ``<order in lower case>/<key>.toml``."""
    for file, profile in reading.profiles.items():
        wanted = f"{profile.order.lower()}/{profile.key}.toml"
        if file != wanted:
            yield file, "/key", f"the profile of {profile.key} belongs in {wanted}."


def keys_are_unique(reading: Reading) -> Iterator[Complaint]:
    """No two species, sources, powders or foods share a key, former keys included."""
    for file, table, records in (
        ("SOURCES.toml", "source", reading.sources),
        ("formulas.toml", "formula", reading.formulas),
        ("foods.toml", "food", reading.foods),
    ):
        for key, times in Counter(record.key for record in records).items():
            if times > 1:
                yield file, f"/{table}", f"{key} stands here {times} times."
    claimed: defaultdict[str, list[str]] = defaultdict(list)
    for file, profile in reading.profiles.items():
        for key in (profile.key, *profile.former_keys):
            claimed[key].append(file)
    for key, claimants in claimed.items():
        for file in claimants[1:]:
            if file != claimants[0]:
                yield file, "/key", f"{key} is claimed by {claimants[0]} already."


def references_exist(reading: Reading) -> Iterator[Complaint]:
    """Every source, powder and food a file speaks of is defined in the pack."""
    sources = {source.key for source in reading.sources}
    formulas = {formula.key for formula in reading.formulas}
    foods = {food.key for food in reading.foods}
    if "SOURCES.toml" not in reading.broken:
        for file, prefix, record in _records(reading):
            for pointer, value in sourced_values(record, prefix):
                for key in sorted(set(source_keys(value)) - sources):
                    yield file, f"{pointer}/sources", f"there is no source {key} in SOURCES.toml."
    for file, profile in reading.profiles.items():
        wanted = profile.default_formula
        if wanted is not None and wanted not in formulas and "formulas.toml" not in reading.broken:
            yield file, "/default_formula", f"there is no powder {wanted} in formulas.toml."
        if "foods.toml" not in reading.broken:
            for index, stage in enumerate(profile.stages):
                for food in sorted(set(stage.foods) - foods):
                    yield file, f"/stages/{index}/foods", f"there is no food {food} in foods.toml."


def tables_are_sourced(reading: Reading) -> Iterator[Complaint]:
    """Powders and foods keep the rules that every value keeps."""
    for file, prefix, record in _tables(reading):
        for rule in (
            sources_or_equation,
            bands_are_in_order,
            numbers_are_in_their_domain,
            plain_numbers_are_in_their_domain,
        ):
            for pointer, message in rule(record):
                yield file, prefix + pointer, message


def compositions_add_up(reading: Reading) -> Iterator[Complaint]:
    """The mass fractions of a powder add up to 1, and its dry matter is what is not water."""
    for index, formula in enumerate(reading.formulas):
        parts = formula.composition
        total = parts.water + parts.protein + parts.fat + parts.carbohydrate + parts.fibre + parts.ash
        if abs(total - 1) > COMPOSITION_TOLERANCE:
            yield (
                "formulas.toml",
                f"/formula/{index}/composition",
                f"the parts of {formula.key} add up to {total:.3f}; they should add up to 1.",
            )
        if abs(1 - parts.water - formula.dry_matter_fraction.value) > COMPOSITION_TOLERANCE:
            yield (
                "formulas.toml",
                f"/formula/{index}/dry_matter_fraction",
                f"is {formula.dry_matter_fraction.value:g}, but {parts.water:g} of {formula.key} is water.",
            )


def sources_are_used(reading: Reading) -> Iterator[Complaint]:
    """A source nobody names is worth a look."""
    used = {
        key
        for _, prefix, record in _records(reading)
        for _, value in sourced_values(record, prefix)
        for key in source_keys(value)
    }
    unused = [source.key for source in reading.sources if source.key not in used]
    if unused:
        yield "SOURCES.toml", "", f"no value names {', '.join(unused)}."
