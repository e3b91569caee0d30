"""``manage.py packs_check [folder]``: every fault of the packs of this installation, or of one folder."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from species import builtin
from species.packs.check.report import check_lines
from species.packs.discover import packs_asked_for


class Command(BaseCommand):
    help = "Check species packs: every fault with its file and place. Writes nothing."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", nargs="?", type=Path, help="a pack's folder; all packs found without it")

    def handle(self, *args: Any, folder: Path | None, **options: Any) -> None:
        packs = packs_asked_for(folder, builtin.folder())
        for discovered in packs:
            self.stdout.write(f"[{discovered.origin}]")
            for line in check_lines(discovered.checked):
                self.stdout.write(line)
        broken = [discovered.origin for discovered in packs if discovered.checked.pack is None]
        if broken:
            raise CommandError(f"Not to be loaded as it is: {', '.join(broken)}.")
