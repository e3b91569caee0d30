"""The build that answers name is the version of the distribution."""

import tomllib
from pathlib import Path

from api.web.build import BUILD


def test_build_is_the_version_of_the_distribution():
    project = tomllib.loads((Path(__file__).resolve().parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["version"] == BUILD
