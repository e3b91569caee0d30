"""Packs of other distributions: found by entry point, each isolated from the next."""

import sys
from pathlib import Path

import pytest

from species.packs.discover import discover_packs

ENTRY_POINTS = "[handrear.species]\n{entries}\n"


@pytest.fixture
def distribution(tmp_path, monkeypatch):
    """Installs a distribution: its packages with their files, and its entry points."""
    monkeypatch.syspath_prepend(str(tmp_path))
    installed = []

    def install(name: str, entries: str, packages: dict[str, dict[str, str]]):
        info = tmp_path / f"{name}-2.5.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 2.5\n")
        (info / "entry_points.txt").write_text(ENTRY_POINTS.format(entries=entries))
        for package, contents in packages.items():
            for file, text in {"__init__.py": "", **contents}.items():
                path = tmp_path / package / file
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(text)
            installed.append(package)

    yield install
    for package in installed:
        sys.modules.pop(package, None)


def pack_files(folder: Path, key: str, *, profiles: bool = True) -> dict[str, str]:
    """The good pack's files under another key; its profiles renamed, so that they clash with nobody's."""
    contents = {}
    for file in sorted(folder.rglob("*.toml")):
        text = file.read_text().replace('"invented"', f'"{key}"')
        name = str(file.relative_to(folder))
        if "/" in name:
            if not profiles:
                continue
            for old, new in (("fictus", "fabulus"), ("Fictus", "Fabulus"), ("natans", "volans"), ("Natans", "Volans")):
                text, name = text.replace(old, new), name.replace(old, new)
        contents[name] = text
    return contents


def found(packs):
    return {discovered.origin: discovered.checked for discovered in discover_packs(packs / "good")}


def test_the_built_in_pack_alone(packs):
    assert list(found(packs)) == ["built in"]


def test_a_pack_of_another_distribution(packs, distribution):
    distribution("fable-birds", "fable = fable_birds", {"fable_birds": pack_files(packs / "good", "fable")})
    both = found(packs)
    assert both["fable-birds 2.5"].findings == ()
    assert both["fable-birds 2.5"].pack.header.key == "fable"


@pytest.mark.parametrize(
    ("contents", "rule"),
    [
        ({"pack.toml": "contract = "}, "readable"),
        ({}, "readable"),
        ({"__init__.py": "raise RuntimeError('no')"}, "discovered"),
        ({"__init__.py": "raise SystemExit(3)"}, "discovered"),
        ({"__init__.py": "def broken(:"}, "discovered"),
    ],
)
def test_a_broken_pack_is_a_finding_and_hinders_no_other(packs, distribution, contents, rule):
    distribution("a-broken", "broken = broken_birds", {"broken_birds": contents})
    distribution("fable-birds", "fable = fable_birds", {"fable_birds": pack_files(packs / "good", "fable")})
    everything = found(packs)
    assert everything["a-broken 2.5"].pack is None
    assert everything["a-broken 2.5"].findings[0].rule == rule
    assert everything["fable-birds 2.5"].pack is not None
    assert everything["built in"].pack is not None


def test_an_entry_point_to_nowhere(packs, distribution):
    distribution("a-broken", "nowhere = no_such_package_here", {})
    assert [f.rule for f in found(packs)["a-broken 2.5"].findings] == ["discovered"]


def test_the_entry_point_is_named_after_the_pack(packs, distribution):
    distribution("fable-birds", "other = fable_birds", {"fable_birds": pack_files(packs / "good", "fable")})
    checked = found(packs)["fable-birds 2.5"]
    assert checked.pack is None
    assert checked.findings[-1].pointer == "/key"


def test_a_species_of_another_pack_is_not_taken_over(packs, distribution):
    contents = pack_files(packs / "good", "fable")
    stolen = packs / "good" / "inventiformes" / "fictus-muscivorus.toml"
    contents["inventiformes/fictus-muscivorus.toml"] = stolen.read_text()
    distribution("fable-birds", "fable = fable_birds", {"fable_birds": contents})
    checked = found(packs)["fable-birds 2.5"]
    assert checked.pack is None
    assert [(f.file, f.rule) for f in checked.findings] == [("inventiformes/fictus-muscivorus.toml", "packs_differ")]


def test_one_food_told_in_two_ways(packs, distribution):
    contents = pack_files(packs / "good", "fable", profiles=False)
    contents["foods.toml"] = contents["foods.toml"].replace("0.3", "0.4")
    distribution("fable-birds", "fable = fable_birds", {"fable_birds": contents})
    assert [f.file for f in found(packs)["fable-birds 2.5"].findings if f.rule == "packs_differ"] == ["foods.toml"]
