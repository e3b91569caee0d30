"""The whole machine as it runs in production: gunicorn, workers, beat and a mail server, on PostgreSQL and Redis.

Twenty networks' reports are due in the same minute, and a worker is killed in the midst of them. A bird that falters on
the scale raises an alert, which only a worker can have raised.
"""

import json
import subprocess
import sys
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command

from api.jobs.models import Job, State
from api.outbox.models import Delivery, Event, Mail
from api.reports.models import Report
from api.reports.selectors.due import DAILY_REPORT
from api.tenancy.models import Network
from tests import processes
from tests.factories import bearer, make_bird, make_member, make_network, make_site, make_token, make_two_networks
from tests.factories import make_weighing as weigh

NETWORKS = 20
# Whole hours, halves and quarters of the clock, either side of the date line; the dates differ by up to two days.
ZONES = (
    "Pacific/Kiritimati",
    "Pacific/Chatham",
    "Australia/Lord_Howe",
    "Asia/Tokyo",
    "Asia/Kathmandu",
    "Asia/Kolkata",
    "Africa/Nairobi",
    "Europe/Lisbon",
    "America/St_Johns",
    "America/Sao_Paulo",
    "Pacific/Marquesas",
    "Pacific/Pago_Pago",
)
#: A cockatiel near the middle of its kind, in grams, by day; the next weight has lost a twentieth of it.
GROWING = {5: 12.2, 6: 14.7, 7: 17.7, 8: 21.0, 9: 24.7, 10: 28.8}
FALTERS_ON, FALTERS_G = 11, 27.4
LEASE_S = 3


@pytest.fixture
def machine(real_processes):
    """Processes that work and do not pretend: what is sent to a worker is done by one."""
    call_command("packs_load", verbosity=0)
    ask = "from api.config.celery_app import app; print(app.conf.task_always_eager, app.conf.broker_url)"
    asked = subprocess.run(
        [sys.executable, "manage.py", "shell", "--no-imports", "-c", ask],
        cwd=processes.ROOT,
        env=real_processes.environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    eager, broker = asked.stdout.split()
    assert eager == "False", "work would be done where it is sent, and nothing here would be tried"
    assert broker.startswith("redis://")
    return real_processes


def rescue(number: int) -> None:
    """A network with two coordinators and a bird that falters."""
    network = make_network(name=f"Rescue {number}", time_zone=ZONES[number % len(ZONES)])
    for name in ("a", "b"):
        make_member(network, role="coordinator", email=f"{name}{number}@example.org")
    now = datetime.now(UTC)
    bird = make_bird(
        make_site(network),
        name=f"Bird {number}",
        hatched_at=now - timedelta(days=FALTERS_ON, hours=1),
        intake={"at": now - timedelta(days=7)},
    )
    for day, mass_g in {**GROWING, FALTERS_ON: FALTERS_G}.items():
        weigh(bird, mass_g, at=now - timedelta(days=FALTERS_ON - day, hours=1))


def all_due_at(due_at: datetime) -> None:
    """Have every network's report leave at one instant, by its own clock, and none before."""
    for network in Network.objects.all():
        network.report_at = due_at.astimezone(ZoneInfo(network.time_zone)).time()
        network.created_at = due_at - timedelta(minutes=1)
        network.save()


def reports_done() -> int:
    return Job.objects.filter(kind=DAILY_REPORT, state=State.DONE).count()


def at_work() -> int:
    return Job.objects.filter(kind=DAILY_REPORT, state=State.WAITING, claimed_until__isnull=False).count()


def test_twenty_networks_have_their_report_once_though_a_worker_is_killed_in_the_midst(machine):
    for number in range(NETWORKS):
        rescue(number)
    all_due_at(datetime.now(UTC) + timedelta(hours=12))  # not yet
    quick = {"DISPATCH_EVERY_S": "1", "WORK_LEASE_S": str(LEASE_S)}
    doomed = machine.worker("doomed", concurrency=2, **quick)
    other = machine.worker("other", concurrency=1, **quick)
    beat = machine.beat(**quick)
    print("pids: doomed", doomed.pids(), "other", other.pids(), "beat", beat.pids())
    assert len(doomed.pids()) == 3
    due_at = datetime.now(UTC).replace(microsecond=0) + timedelta(seconds=3)
    all_due_at(due_at)
    assert not Job.objects.exists(), "nobody is early"

    # Three at work: two of them in the worker that is killed.
    processes.until(lambda: reports_done() >= 3 and at_work() >= 3, within_s=180, what="some reports are written")
    doomed.kill()
    written, lost = reports_done(), at_work()
    print(f"killed with {written} of {NETWORKS} reports written and {lost} at work")
    assert 3 <= written < NETWORKS, "the worker was not killed in the midst"

    processes.until(lambda: reports_done() == NETWORKS, within_s=180, what="all reports are written")
    processes.until(lambda: not Mail.objects.exclude(state=State.DONE).exists(), within_s=60, what="all mails are sent")
    time.sleep(3 * LEASE_S)  # whoever would do something twice has had time for it

    jobs = list(Job.objects.filter(kind=DAILY_REPORT))
    assert len(jobs) == len({job.network_id for job in jobs}) == NETWORKS
    assert {job.due_at for job in jobs} == {due_at}
    assert max(job.attempts for job in jobs) > 1, "nothing was taken up a second time: the kill hit nothing"
    for rows in (Report._base_manager, Event._base_manager.filter(name="report.published")):
        assert Counter(rows.values_list("network_id", flat=True)) == {job.network_id: 1 for job in jobs}

    mails = {mail.message_id: mail.recipient for mail in Mail.objects.all()}
    arrived = [(letter.message["Message-ID"], letter.recipients) for letter in machine.mailbox.letters]
    assert set(arrived) == {(message_id, (recipient,)) for message_id, recipient in mails.items()}
    assert sorted(mails.values()) == sorted(
        f"{name}{number}@example.org" for name in "ab" for number in range(NETWORKS)
    )
    print(f"{len(arrived)} mails arrived, {len(arrived) - len(mails)} of them twice")
    late_s = max((report.composed_at - due_at).total_seconds() for report in Report._base_manager.all())
    print(f"the last report was written {late_s:.0f} s after it was due")
    for letter in machine.mailbox.letters:
        number = int(letter.recipients[0][1:].partition("@")[0])
        assert f"Bird {number}" in letter.message.get_body(("plain",)).get_content()


class App:
    """An app that records over HTTP, on a connection of its own for each request."""

    def __init__(self, port: int, token: str) -> None:
        self.port = port
        self.headers = {"Authorization": bearer(token)["HTTP_AUTHORIZATION"], "Content-Type": "application/json"}

    def send(self, method: str, address: str, body: dict | None = None) -> dict:
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.request(method, f"/api/v1/{address}", body and json.dumps(body), self.headers)
        answer = connection.getresponse()
        told = json.loads(answer.read())
        connection.close()
        assert answer.status in (200, 201), told
        return told

    def alerts(self, bird: dict) -> list[str]:
        return [alert["code"] for alert in self.send("GET", f"alerts?bird_id={bird['id']}")["results"]]


def test_a_bird_that_falters_on_the_scale_raises_an_alert_within_seconds(machine):
    two = make_two_networks()
    site = make_site(two.own)
    server, port = machine.server()
    app = App(port, make_token(two.member))
    print("pids: server", server.pids())
    hatched = datetime.now(UTC) - timedelta(days=FALTERS_ON, hours=1)
    body = {"id": str(uuid4()), "name": "Pip", "site_id": str(site.uid), "species": "nymphicus-hollandicus"}
    bird = app.send("POST", "birds", body | {"hatched_at": hatched.isoformat()})

    def weigh_on(day: int, mass_g: float) -> None:
        at = (hatched + timedelta(days=day)).isoformat()
        told = {"bird_id": bird["id"], "at": at, "mass_g": mass_g, "context": "before_first_feed"}
        app.send("POST", "weighings", {"id": str(uuid4()), **told})

    for day, mass_g in GROWING.items():
        weigh_on(day, mass_g)
    waiting = Delivery.objects.filter(state=State.WAITING).count()
    assert waiting >= len(GROWING), "without a worker nobody hears of anything: the server does not do it itself"
    time.sleep(1)
    assert Delivery.objects.exclude(state=State.WAITING, attempts=0).count() == 0

    worker = machine.worker(concurrency=1)
    print("pids: worker", worker.pids())
    processes.until(lambda: not Delivery.objects.filter(state=State.WAITING).exists(), what="the worker catches up")
    assert "no_gain" not in app.alerts(bird)
    assert "weight_loss" not in app.alerts(bird)
    before = set(app.alerts(bird))
    asked = time.monotonic()
    weigh_on(FALTERS_ON, FALTERS_G)
    raised = processes.until(lambda: set(app.alerts(bird)) - before, within_s=15, what="an alert is raised")
    print(f"{sorted(raised)} raised {time.monotonic() - asked:.1f} s after the weighing was sent")
    [event] = Event._base_manager.filter(name="alert.opened").order_by("-at")[:1]
    assert event.data["bird_id"] == bird["id"]
    assert "makes due jobs" not in server.said(), "with a broker the server has no dispatcher of its own"
