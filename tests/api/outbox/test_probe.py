"""What /ready tells of work that waits."""

from datetime import timedelta

import pytest

from api.jobs.models import Job, State
from api.outbox.probes import LATE_AFTER
from api.web import clock
from tests.factories import make_network


@pytest.fixture
def network(db):
    return make_network()


def ready(api):
    answer = api.get("/api/v1/ready")
    return answer.status_code, answer.json()["checks"]["outbox"]


def wait(network, *, for_s, made_s=None, **fields):
    now = clock.now()
    made_at = now - timedelta(seconds=for_s if made_s is None else made_s)
    due_at = now - timedelta(seconds=for_s)
    Job.objects.create(kind="x", network=network, slot=f"{for_s}", due_at=due_at, made_at=made_at, **fields)


def test_nothing_waits(api, network, standing_clock):
    assert ready(api)[1]["detail"] == "Nothing waits."


def test_the_oldest_of_what_is_due(api, network, standing_clock):
    for for_s in (3, 42, 7):
        wait(network, for_s=for_s)
    assert ready(api)[1] | {"took_ms": 0} == {
        "ok": True,
        "detail": "3 pieces of work wait, the oldest for 42 s.",
        "took_ms": 0,
    }


def test_what_is_done_given_up_or_not_due_does_not_wait(api, network, standing_clock):
    late_s = LATE_AFTER.total_seconds() + 1
    wait(network, for_s=late_s, state=State.DONE)
    wait(network, for_s=late_s + 1, state=State.GIVEN_UP)
    wait(network, for_s=-60)
    assert ready(api)[1]["detail"] == "Nothing waits."


@pytest.mark.parametrize(("beyond_s", "ok"), [(0, True), (1, False)])
def test_it_fails_once_work_waits_too_long(api, network, standing_clock, beyond_s, ok):
    wait(network, for_s=LATE_AFTER.total_seconds() + beyond_s)
    status, told = ready(api)
    assert told["ok"] is ok
    assert ok or (status == 503 and "Does a worker run" in told["detail"])


def test_a_row_made_late_waits_since_it_was_made(api, network, standing_clock):
    """A report of a morning on which nothing ran is made when something does."""
    wait(network, for_s=6 * 3600, made_s=5)
    assert ready(api)[1]["detail"].endswith("the oldest for 5 s.")
