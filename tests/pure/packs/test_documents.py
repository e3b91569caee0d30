"""The documents of the pack format say what the code does."""

import re
from pathlib import Path

from species.packs import files
from species.packs.reference import field_tables, rule_list
from species.packs.schema import CONTRACT, build_schema

FORMAT = (Path(__file__).resolve().parents[3] / "docs" / "packs" / "format.md").read_text()


def test_fields_and_rules_are_those_of_the_code():
    told = "run python -m species.packs.reference and paste what it prints below 'Rules'"
    assert rule_list() in FORMAT, told
    assert field_tables() in FORMAT, told


def test_every_record_has_its_section():
    assert set(re.findall(r"^### (\w+)$", FORMAT, re.MULTILINE)) == set(build_schema()["$defs"])


def test_limits_are_those_of_the_code():
    assert f"contract {CONTRACT}" in FORMAT.splitlines()[0]
    assert f"{files.LARGEST_FILE_BYTES // 1024} KiB" in FORMAT
    assert f"at most {files.MOST_FILES} in a pack" in FORMAT
    assert files.DEEPEST_NESTING == 8
    assert "at most eight levels" in FORMAT
