"""Without a broker the server makes due jobs and takes up lost work: one process of it, and another if that dies."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from api.config import ticker
from api.config.ticker import Ticker
from tests import apart

ROOT = Path(__file__).parents[2]
EVERY_S = 0.5
MAKE_NETWORK = """
from datetime import timedelta
from api.networks.services import network_create
from api.tenancy.models import Network
from api.web import clock
network = network_create(name={name!r}, time_zone="Europe/Lisbon")
Network.objects.filter(pk=network.pk).update(created_at=clock.now() - timedelta(days=3))
"""


class Server:
    """manage.py serve with two processes, its log and its database."""

    def __init__(self, folder):
        self.folder, self.log = folder, folder / "log"
        self.environment = apart.environment(folder / "var", DISPATCH_EVERY_S=str(EVERY_S))
        command = [sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{apart.free_port()}", "--workers", "2"]
        with self.log.open("w") as output:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env=self.environment, stdout=output, stderr=subprocess.STDOUT
            )

    def until(self, ask, what, within_s=60):
        deadline = time.monotonic() + within_s
        while not (found := ask()):
            assert self.process.poll() is None, self.log.read_text()
            assert time.monotonic() < deadline, f"Not within {within_s} s: {what}\n{self.log.read_text()}"
            time.sleep(0.1)
        return found

    def tickers(self):
        """Processes that took the task on, in their order."""
        return [int(pid) for pid in re.findall(r"process (\d+) makes due jobs", self.log.read_text())]

    def add_network(self, name):
        """A network of three days ago, whose report of its last morning is due."""
        make = [sys.executable, "manage.py", "shell", "--no-imports", "-c", MAKE_NETWORK.format(name=name)]
        subprocess.run(make, cwd=ROOT, env=self.environment, check=True, capture_output=True)

    def jobs(self, name):
        """(state, attempts) of a network's jobs."""
        query = (
            "SELECT state, attempts FROM jobs_job JOIN tenancy_network ON tenancy_network.id = jobs_job.network_id "
            "WHERE name = ?"
        )
        with closing(sqlite3.connect(self.folder / "var" / "handrear.sqlite3", timeout=20)) as rows:
            return rows.execute(query, [name]).fetchall()


@pytest.fixture
def server(tmp_path):
    started = Server(tmp_path)
    try:
        yield started
    finally:
        started.process.send_signal(signal.SIGTERM)
        try:
            assert started.process.wait(timeout=25) == 0
        finally:
            started.process.kill()


def test_what_is_due_is_done_once_and_goes_on_when_the_process_that_does_it_is_killed(server):
    server.until(server.tickers, "a process takes the task on")
    server.add_network("Hedgerow")
    server.until(lambda: server.jobs("Hedgerow") == [("done", 1)], "the first report is written")
    time.sleep(4 * EVERY_S)
    assert server.jobs("Hedgerow") == [("done", 1)]
    [first] = server.tickers()
    os.kill(first, signal.SIGKILL)
    server.add_network("Copse")
    server.until(lambda: server.jobs("Copse") == [("done", 1)], "the second report is written")
    assert len(server.tickers()) == 2
    assert server.tickers()[1] != first
    assert server.jobs("Hedgerow") == [("done", 1)]


@pytest.fixture
def quick(settings):
    settings.DISPATCH_EVERY_S = 0.01


def eventually(ask):
    deadline = time.monotonic() + 20
    while not ask():
        assert time.monotonic() < deadline
        time.sleep(0.01)


def test_a_turn_that_fails_ends_nothing(quick, tmp_path, monkeypatch, caplog):
    turns = []

    def dispatch(now):
        turns.append(now)
        if len(turns) == 1:
            raise OSError("the database is away")

    monkeypatch.setattr(ticker, "dispatch", dispatch)
    started = Ticker(tmp_path / "lock")
    started.start()
    eventually(lambda: len(turns) > 2)
    started.stop()
    assert [record.message for record in caplog.records if record.exc_info] == ["a turn of the dispatcher failed"]
    done = len(turns)
    time.sleep(0.1)
    assert len(turns) == done


def test_of_two_one_ticks_and_the_other_takes_over(quick, tmp_path, monkeypatch):
    names = []
    monkeypatch.setattr(ticker, "dispatch", lambda now: names.append(threading.current_thread()))
    first, second = Ticker(tmp_path / "lock"), Ticker(tmp_path / "lock")
    first.start()
    eventually(lambda: len(names) > 1)
    second.start()
    time.sleep(0.2)
    assert len(set(names)) == 1
    first.stop()
    eventually(lambda: len(set(names)) == 2)
    second.stop()


def test_one_that_never_began_may_be_stopped(tmp_path):
    Ticker(tmp_path / "lock").stop()


def test_the_end_waits_for_the_turn_that_has_begun(quick, tmp_path, monkeypatch):
    begun, ended = threading.Event(), []

    def dispatch(now):
        begun.set()
        time.sleep(0.3)
        ended.append(now)

    monkeypatch.setattr(ticker, "dispatch", dispatch)
    started = Ticker(tmp_path / "lock")
    started.start()
    assert begun.wait(20)
    started.stop()
    assert len(ended) == 1
