"""``manage.py packs_load [folder]``: bring the database to what the packs of this installation say."""

from argparse import ArgumentParser
from collections import Counter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from species import builtin
from species.curation.services import Applied, Outcome, pack_apply
from species.domain.errors import DomainError
from species.domain.pack import Pack
from species.packs.check.report import check_lines
from species.packs.discover import Discovered, packs_asked_for


class Command(BaseCommand):
    help = (
        "Load species packs: read, check, compare, publish what changed. A broken pack is refused whole; "
        "loading twice changes nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", nargs="?", type=Path, help="a pack's folder; all packs found without it")

    def handle(self, *args: Any, folder: Path | None, **options: Any) -> None:
        packs = packs_asked_for(folder, builtin.folder())
        refused = [discovered.origin for discovered in packs if not self._load(discovered)]
        if refused:
            raise CommandError(f"Nothing was loaded from: {', '.join(refused)}.")

    def _load(self, discovered: Discovered) -> bool:
        pack = discovered.checked.pack
        if pack is None:
            for line in check_lines(discovered.checked):
                self.stderr.write(line)
            return False
        try:
            applied = pack_apply(pack=pack, progress=self._tell)
        except DomainError as error:
            self.stderr.write(str(error))
            return False
        self.stdout.write(_summary(pack, applied))
        return True

    def _tell(self, applied: Applied) -> None:
        changed = f", {applied.changes} changed" if applied.outcome is Outcome.CHANGED else ""
        self.stdout.write(f"  {applied.key}: {applied.outcome}, revision {applied.revision}{changed}")


def _summary(pack: Pack, applied: tuple[Applied, ...]) -> str:
    counted = Counter(one.outcome for one in applied)
    outcomes = ", ".join(f"{counted[outcome]} {outcome}" for outcome in Outcome if counted[outcome])
    nothing_new = counted[Outcome.UNCHANGED] == len(applied)
    tail = " Nothing had changed, so no revision was made." if nothing_new else ""
    return f"{pack.header.key} {pack.header.version}: {outcomes or 'no species'}.{tail}"
