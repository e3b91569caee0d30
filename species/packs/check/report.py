"""A check told as lines of text."""

from collections.abc import Iterator

from species.domain.pack import Pack
from species.domain.sourcing import Reach
from species.packs.check import Checked
from species.packs.findings import errors_of
from species.packs.sourced import provenance_counts


def provenance_table(pack: Pack) -> Iterator[str]:
    """For each profile, how many values come from the species, its group, an equation."""
    width = max((len(profile.key) for profile in pack.profiles), default=0)
    width = max(width, len("profile"))
    yield f"{'profile':<{width}}  {'evidence':<9}" + "".join(f"{reach:>10}" for reach in Reach)
    for profile in pack.profiles:
        counts = provenance_counts(profile)
        figures = "".join(f"{counts[reach]:>10}" for reach in Reach)
        yield f"{profile.key:<{width}}  {profile.evidence:<9}{figures}"


def check_lines(checked: Checked) -> Iterator[str]:
    """Every finding, then a summary; for a good pack the provenance of its values."""
    yield from map(str, checked.findings)
    errors = len(errors_of(checked.findings))
    notes = len(checked.findings) - errors
    if checked.pack is None:
        yield f"{_counted(errors, 'error')}, {_counted(notes, 'note')}: the pack cannot be loaded."
        return
    pack = checked.pack
    yield from provenance_table(pack)
    parts = (
        _counted(len(pack.profiles), "profile"),
        _counted(len(pack.sources), "source"),
        _counted(len(pack.formulas), "powder"),
        _counted(len(pack.foods), "food"),
    )
    name = f"{pack.header.key} {pack.header.version}"
    yield f"{name}: {', '.join(parts)}; no errors, {_counted(notes, 'note')}."


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
