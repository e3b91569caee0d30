"""``manage.py coverage``: docs/reference/coverage.md, from the built-in pack."""

from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand

from api.plans.rules.practice import practice_against_need
from species import builtin
from species.domain.pack import Pack
from species.packs.coverage import alike_lines, by_order, grade_lines, provenance_lines, shared_lines
from species.packs.read import read_pack

_FRAME = """\
# Coverage of the built-in pack

Printed by `python manage.py coverage > docs/reference/coverage.md`; a test holds the page to the pack. What is thin or
disputed in a profile stands in [docs/species](../species/README.md).

## Profiles by order and grade

{grades}

## Where values come from

How many values of a profile speak of the species itself, of its group, or come from an equation
([provenance](provenance.md)).

{provenance}

## Practice that profiles share

Values printed for a group, under the same sources. One source with two figures is either two stages or a slip.

{shared}

## Stages that are alike

{alike}

## Practice against need

Energy of the middle of the printed practice over the reckoned need, day 5 to fledging, where practice prints how often
and how much. Wanted: 0.5 to 2; `tests/species/test_plausibility.py` says why for each outlier.

{practice}
"""


class Command(BaseCommand):
    help = "Print docs/reference/coverage.md: provenance, shared practice, and practice against need of the profiles."
    requires_system_checks = ()

    def handle(self, *args: Any, **options: Any) -> None:
        pack = read_pack(builtin.folder()).pack
        parts = {
            "grades": grade_lines(pack),
            "provenance": provenance_lines(pack),
            "shared": shared_lines(pack),
            "alike": alike_lines(pack),
            "practice": _practice_lines(pack),
        }
        self.stdout.write(_FRAME.format(**{name: "\n".join(lines) for name, lines in parts.items()}), ending="")


def _practice_lines(pack: Pack) -> Iterator[str]:
    formulas = {formula.key: formula for formula in pack.formulas}
    foods = {food.key: food for food in pack.foods}
    yield "| profile | days | least | on day | most | on day |"
    yield "| --- | ---: | ---: | ---: | ---: | ---: |"
    for profile in by_order(pack):
        formula = formulas.get(profile.default_formula or "")
        days = list(practice_against_need(profile, formula=formula, foods=foods))
        if days:
            least, most = min(days, key=lambda day: day.ratio), max(days, key=lambda day: day.ratio)
            yield (
                f"| `{profile.key}` | {len(days)} | {least.ratio:.2f} | {least.day} | {most.ratio:.2f} | {most.day} |"
            )
