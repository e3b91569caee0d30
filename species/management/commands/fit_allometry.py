"""``manage.py fit_allometry <reference folder>``: species/biology/any_bird_lines.py, from open growth data."""

from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from species.biology.pooled_lines import Line, Spreads, fit_spreads, lines
from species.management.open_growth import MeasuredSpecies, measured_species, relatives

TARGETS = ("fledging", "halfway", "halfway_told", "rate", "shape")

_HEAD = '''\
"""Lines of :mod:`species.biology.any_bird`, by family and order; "" is any other bird.

Printed by ``manage.py fit_allometry <reference folder> > species/biology/any_bird_lines.py``; a test holds it to that.
Our fit (source OURALLOM) to {count} species of AmP's growth data with adult masses of AVONET.
"""

from collections.abc import Mapping
from types import MappingProxyType

from species.biology.pooled_lines import Line, Spreads'''


class Command(BaseCommand):
    help = "Print species/biology/any_bird_lines.py: lines on adult mass and fledging age, from the reference folder."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="the reference folder, with its data")

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        for line in module_lines(measured_species(folder)):
            self.stdout.write(line)


def module_lines(species: list[MeasuredSpecies]) -> Iterator[str]:
    """Lines of text of the module."""
    fitted = {target: fit_spreads(relatives(species, target)) for target in TARGETS}
    yield _HEAD.format(count=len(species))
    yield ""
    yield "SPREADS: Mapping[str, Spreads] = MappingProxyType("
    yield "    {"
    for target, spreads in fitted.items():
        yield f'        "{target}": {_spreads(spreads)},'
    yield "    }"
    yield ")"
    yield "LINES: Mapping[str, Mapping[str, Line]] = MappingProxyType("
    yield "    {"
    for target, spreads in fitted.items():
        yield f'        "{target}": {{'
        for taxon, line in lines(relatives(species, target), spreads).items():
            yield f'            "{taxon}": {_line(line)},'
        yield "        },"
    yield "    }"
    yield ")"


def _spreads(spreads: Spreads) -> str:
    order, family, scatter = (_number(value) for value in (spreads.order, spreads.family, spreads.scatter))
    return f"Spreads({order}, {family}, {_tuple(spreads.order_slopes)}, {scatter})"


def _line(line: Line) -> str:
    return f"Line({line.species_count}, {_number(line.level)}, {_tuple(line.slopes)}, {_number(line.scale)})"


def _tuple(values: tuple[float, ...]) -> str:
    inside = ", ".join(map(_number, values))
    return f"({inside},)" if len(values) == 1 else f"({inside})"


def _number(value: float) -> str:
    return f"{value:.4f}"
