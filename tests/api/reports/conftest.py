"""The morning that the tests of reports stand in."""

from datetime import timedelta

import pytest

from api.web import clock
from tests.api.reports.rows import MORNING, founded


@pytest.fixture
def morning():
    """Twenty seconds after the report is due, the dispatcher's pace."""
    with clock.standing_at(MORNING + timedelta(seconds=20)):
        yield MORNING


@pytest.fixture
def network(db):
    return founded()
