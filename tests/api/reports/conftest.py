"""The morning that the tests of reports stand in."""

from datetime import timedelta

import pytest

from api.config.celery_app import app
from api.web import clock
from tests.api.reports.rows import MORNING, founded


@pytest.fixture(autouse=True)
def _done_here():
    """Work is done where it is sent, also where the settings name a broker: no worker looks at a test's database."""
    usual, app.conf.task_always_eager = app.conf.task_always_eager, True
    yield
    app.conf.task_always_eager = usual


@pytest.fixture
def morning():
    """Twenty seconds after the report is due, the dispatcher's pace."""
    with clock.standing_at(MORNING + timedelta(seconds=20)):
        yield MORNING


@pytest.fixture
def network(db):
    return founded()
