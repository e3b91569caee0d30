"""Finds the packs of this installation: the built-in one and those that other distributions bring.

A distribution brings a pack by an entry point in the group ``handrear.species``: its name is the pack's key,
its value the importable package that holds pack.toml. One that cannot be read is a finding, no crash.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from species.domain.food import Food, Formula
from species.domain.pack import Pack
from species.packs.check import Checked, check_pack
from species.packs.findings import Finding

GROUP = "handrear.species"
BUILT_IN = "built in"


@dataclass(frozen=True)
class Discovered:
    """A pack and where it comes from: ``built in``, or the distribution that brings it."""

    origin: str
    checked: Checked


def packs_asked_for(folder: Path | None, builtin: Traversable) -> tuple[Discovered, ...]:
    """The pack in a folder, or all packs of this installation without one."""
    if folder is not None:
        return (Discovered(str(folder), check_pack(folder)),)
    return discover_packs(builtin)


def discover_packs(builtin: Traversable) -> tuple[Discovered, ...]:
    """The built-in pack first, then those of other distributions by name.

    Parameters
    ----------
    builtin
        The folder of the built-in pack.

    Returns
    -------
    tuple of Discovered
        One for each pack, broken ones with their findings. A species, powder or food that an earlier pack
        defines differently is a finding of the later one.
    """
    found = [Discovered(BUILT_IN, check_pack(builtin))]
    for entry in sorted(entry_points(group=GROUP), key=lambda entry: (entry.name, entry.value)):
        checked = _check_entry(entry)
        if checked.pack is not None:
            earlier = [other.checked.pack for other in found if other.checked.pack is not None]
            clashes = tuple(_clashes(checked.pack, earlier))
            checked = Checked(None if clashes else checked.pack, checked.findings + clashes)
        found.append(Discovered(_origin(entry), checked))
    return tuple(found)


def _origin(entry: EntryPoint) -> str:
    return f"{entry.dist.name} {entry.dist.version}" if entry.dist is not None else entry.value


def _check_entry(entry: EntryPoint) -> Checked:
    try:
        checked = check_pack(files(entry.value))
    except (Exception, SystemExit) as error:  # a stranger's package may do anything while it is imported
        message = f"the entry point {entry.name} = {entry.value} cannot be opened: {error!r}."
        return Checked(None, (_finding("pack.toml", "", "discovered", message),))
    if checked.pack is not None and checked.pack.header.key != entry.name:
        message = f"the pack calls itself {checked.pack.header.key}, its entry point {entry.name}."
        return Checked(None, (*checked.findings, _finding("pack.toml", "/key", "discovered", message)))
    return checked


def _clashes(pack: Pack, earlier: list[Pack]) -> Iterator[Finding]:
    for other in earlier:
        owner = other.header.key
        if pack.header.key == owner:
            yield _finding("pack.toml", "/key", "packs_differ", f"another pack is called {owner} already.")
        taken = {key for profile in other.profiles for key in (profile.key, *profile.former_keys)}
        for profile in pack.profiles:
            for key in sorted({profile.key, *profile.former_keys} & taken):
                file = f"{profile.order.lower()}/{profile.key}.toml"
                yield _finding(file, "/key", "packs_differ", f"the pack {owner} has {key} already.")
        yield from _differing("formulas.toml", "powder", owner, pack.formulas, other.formulas)
        yield from _differing("foods.toml", "food", owner, pack.foods, other.foods)


def _differing(
    file: str,
    word: str,
    owner: str,
    records: Sequence[Formula | Food],
    others: Sequence[Formula | Food],
) -> Iterator[Finding]:
    # The same food in two packs is one food, as long as both say the same of it.
    known = {other.key: other for other in others}
    for record in records:
        if record.key in known and known[record.key] != record:
            message = f"the pack {owner} describes the {word} {record.key} differently; give it another key."
            yield _finding(file, "", "packs_differ", message)


def _finding(file: str, pointer: str, rule: str, message: str) -> Finding:
    return Finding(file=file, pointer=pointer, rule=rule, message=message)
