"""``manage.py rearing_table <key>``: a rearing day by day, to be read by who knows the bird."""

from argparse import ArgumentParser
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from api.plans.rules.rearing import RearingDay, rearing
from species import builtin
from species.packs.read import read_pack

_COLUMNS = (
    ("day", "day", "{:d}"),
    ("stage", "stage", "{}"),
    ("mass_g", "mass g", "{:.4g}"),
    ("feeds_per_day", "feeds", "{:d}"),
    ("night_feeds", "night", "{:d}"),
    ("interval_min", "every min", "{:d}"),
    ("volume_ml", "mL", "{:.3g}"),
    ("feed_g", "g food", "{:.3g}"),
    ("percent_of_mass", "% mass", "{:.1f}"),
    ("dry_matter_fraction", "solids", "{:.2f}"),
    ("brooder_c", "brooder C", "{:.1f}"),
    ("need_kj", "need kJ", "{:.3g}"),
    ("given_kj", "given kJ", "{:.3g}"),
    ("given_of_need", "given/need", "{:.2f}"),
    ("clinical_low_kj", "clin. low", "{:.3g}"),
    ("clinical_high_kj", "clin. high", "{:.3g}"),
    ("decision", "decision", "{}"),
    ("refused", "", "{}"),
)


class Command(BaseCommand):
    help = "Print the rearing of a healthy chick of one species, day by day. Reads a pack's folder, no database."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("key", help="the species' key, such as passer-domesticus")
        parser.add_argument("--to-day", type=int, help="last day; the end of weaning or fledging without it")
        parser.add_argument("--folder", type=Path, help="a pack's folder; the built-in pack without it")

    def handle(self, *args: Any, key: str, to_day: int | None, folder: Path | None, **options: Any) -> None:
        root: Traversable = folder or builtin.folder()
        # Not the checked pack: a profile is read while it is being written, whatever else the folder holds.
        reading = read_pack(root)
        profile = next((profile for profile in reading.profiles.values() if profile.key == key), None)
        if profile is None:
            told = [str(finding) for finding in reading.findings if key in finding.file]
            raise CommandError("\n".join([f"No profile of {key} can be read in {root}.", *told]))
        formula = next((formula for formula in reading.formulas if formula.key == profile.default_formula), None)
        foods = {food.key: food for food in reading.foods}
        self.stdout.write(f"{profile.vernacular_name}, {profile.scientific_name}, {profile.evidence}")
        for line in _table(list(rearing(profile, formula=formula, foods=foods, to_day=to_day))):
            self.stdout.write(line)


def _table(days: list[RearingDay]) -> list[str]:
    cells = [[heading for _, heading, _ in _COLUMNS]]
    cells += [[_cell(getattr(day, field), shape) for field, _, shape in _COLUMNS] for day in days]
    widths = [max(len(row[column]) for row in cells) for column in range(len(_COLUMNS))]
    return ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]


def _cell(value: object, shape: str) -> str:
    return "" if value is None else shape.format(value)
