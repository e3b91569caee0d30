"""Reads a pack's folder into records, and lists every fault of form instead of stopping at the first."""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

import msgspec

from species.domain.food import Food, Formula
from species.domain.pack import Pack, PackHeader
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Source
from species.packs.files import PackFolderError, UnreadableFileError, read_toml, toml_files
from species.packs.findings import Finding, errors_of
from species.packs.schema import CONTRACT, FILE_RECORDS, FoodsFile, FormulasFile, SourcesFile, shape_faults

Shape = TypeVar("Shape", bound=Record)


@dataclass(frozen=True)
class Reading:
    """What could be read of a pack, and what was wrong with the rest.

    ``profiles`` maps each profile's file to the profile; ``broken`` names the files that gave nothing.
    """

    header: PackHeader | None
    sources: tuple[Source, ...]
    formulas: tuple[Formula, ...]
    foods: tuple[Food, ...]
    profiles: Mapping[str, Profile]
    broken: frozenset[str]
    findings: tuple[Finding, ...]

    @property
    def pack(self) -> Pack | None:
        """The pack, if nothing at all was wrong with its form."""
        if self.header is None or errors_of(self.findings):
            return None
        return Pack(
            header=self.header,
            sources=self.sources,
            formulas=self.formulas,
            foods=self.foods,
            profiles=tuple(self.profiles.values()),
        )


class _Desk:
    """Collects what is read and what is found while a folder is gone through."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.broken: set[str] = set()

    def complain(self, file: str, pointer: str, rule: str, message: str) -> None:
        self.broken.add(file)
        self.findings.append(Finding(file=file, pointer=pointer, rule=rule, message=message))

    def document(self, path: str, entry: Traversable) -> dict[str, Any] | None:
        try:
            return read_toml(entry)
        except (UnreadableFileError, OSError) as error:
            self.complain(path, "", "readable", str(error))
            return None

    def record(self, path: str, document: dict[str, Any], shape: type[Shape]) -> Shape | None:
        for pointer, message in shape_faults(document, shape):
            self.complain(path, pointer, "shape", message)
        if path in self.broken:
            return None
        try:
            return msgspec.convert(document, shape)
        except msgspec.ValidationError as error:
            self.complain(path, "", "shape", f"{error}.")
            return None


def read_pack(root: Traversable) -> Reading:
    """Read every file of a pack.

    Parameters
    ----------
    root
        The pack's folder: a path, or what ``importlib.resources.files`` gives.

    Returns
    -------
    Reading
        Whatever was readable, with all faults of form. A pack written for another contract is not read
        further than its header.
    """
    desk = _Desk()
    try:
        entries = dict(toml_files(root))
    except (PackFolderError, OSError) as error:
        desk.complain("pack.toml", "", "readable", str(error))
        return _reading(desk, None, {}, {})

    header = _header(desk, entries)
    if header is not None and header.contract != CONTRACT:
        desk.complain(
            "pack.toml",
            "/contract",
            "contract",
            f"the pack was written for contract {header.contract}; this service reads contract {CONTRACT}. "
            f"Bring it to the form in docs/packs/format.md and set contract = {CONTRACT}.",
        )
        return _reading(desk, None, {}, {})

    tables: dict[str, Record] = {}
    profiles: dict[str, Profile] = {}
    for path, entry in entries.items():
        if path == "pack.toml":
            continue
        shape = FILE_RECORDS.get(path, Profile if path.count("/") == 1 else None)
        if shape is None:
            desk.complain(path, "", "place", _misplaced(path))
        elif (document := desk.document(path, entry)) is not None:
            record = desk.record(path, document, shape)
            if isinstance(record, Profile):
                profiles[path] = record
            elif record is not None:
                tables[path] = record
    return _reading(desk, header, tables, profiles)


def _header(desk: _Desk, entries: Mapping[str, Traversable]) -> PackHeader | None:
    if "pack.toml" not in entries:
        desk.complain("pack.toml", "", "readable", "pack.toml is missing; it says what the pack is.")
        return None
    document = desk.document("pack.toml", entries["pack.toml"])
    return None if document is None else desk.record("pack.toml", document, PackHeader)


def _misplaced(path: str) -> str:
    if "/" in path:
        return "a profile lies one folder deep, in a folder named after its order: <order>/<key>.toml."
    return (
        f"the pack's own folder holds only {', '.join(FILE_RECORDS)}; a profile goes into a folder named "
        "after its order: <order>/<key>.toml."
    )


def _reading(
    desk: _Desk,
    header: PackHeader | None,
    tables: Mapping[str, Record],
    profiles: Mapping[str, Profile],
) -> Reading:
    sources, formulas, foods = (tables.get(name) for name in ("SOURCES.toml", "formulas.toml", "foods.toml"))
    return Reading(
        header=header,
        sources=sources.source if isinstance(sources, SourcesFile) else (),
        formulas=formulas.formula if isinstance(formulas, FormulasFile) else (),
        foods=foods.food if isinstance(foods, FoodsFile) else (),
        profiles=profiles,
        broken=frozenset(desk.broken),
        findings=tuple(desk.findings),
    )
