"""Where the reference notes and data lie, which are no part of the repository.

Every test that reads them goes through :func:`needs_reference`, so that it is plain what runs without them.
"""

import os
from pathlib import Path

import pytest

FOLDER_VARIABLE = "HANDREAR_REFERENCE"


def reference_folder() -> Path:
    """The folder named by the environment, or ``shared/reference`` beside the repository."""
    named = os.environ.get(FOLDER_VARIABLE)
    return Path(named) if named else Path(__file__).resolve().parents[2] / "shared" / "reference"


def needs_reference(*parts: str) -> Path:
    """Path of a reference file. Absent: the test is skipped by hand, and fails where CI=true.

    Parameters
    ----------
    parts
        Path below the reference folder, such as ``"data", "chickweight.csv"``.
    """
    path = reference_folder().joinpath(*parts)
    if not path.exists():
        reason = f"{'/'.join(parts) or 'the reference folder'} is absent; set {FOLDER_VARIABLE} to its folder"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return path
