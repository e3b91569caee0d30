"""The service's real processes for tests: workers and beat on Redis and PostgreSQL, and a server that takes their mail.

They share the test's database, so the test may not run inside a transaction; they read the real clock, so it may not be
held. ``real_processes`` (tests/conftest.py) is the way in.
"""

import email.policy
import logging
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from email.message import EmailMessage
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from django.conf import settings
from django.db import connection

from api.config.celery_app import app
from tests import apart

ROOT = Path(__file__).resolve().parents[1]
SERVICES_VARIABLE = "HANDREAR_SERVICES"
Found = TypeVar("Found")


def needs_services() -> None:
    """Only with PostgreSQL and a broker. Absent: the test is skipped by hand, and fails where HANDREAR_SERVICES=1."""
    if connection.vendor == "postgresql" and settings.REDIS_URL:
        return
    reason = "real processes need PostgreSQL and Redis: set DATABASE_URL and REDIS_URL"
    if os.environ.get(SERVICES_VARIABLE) == "1":
        pytest.fail(reason)
    pytest.skip(reason)


def until(ask: Callable[[], Found], *, within_s: float = 30, what: str = "") -> Found:
    """Ask again and again until the answer is true, and give it; fails when the time is over."""
    deadline = time.monotonic() + within_s
    while not (found := ask()):
        if time.monotonic() > deadline:
            pytest.fail(f"Not within {within_s} s: {what or getattr(ask, '__name__', 'what was waited for')}")
        time.sleep(0.05)
    return found


@dataclass(frozen=True)
class Letter:
    """A mail as it arrived: the envelope's addresses, and what was in it."""

    sender: str
    recipients: tuple[str, ...]
    message: EmailMessage


@dataclass
class Mailbox:
    """A mail server that takes whatever is sent to it."""

    port: int = field(default_factory=apart.free_port)
    letters: list[Letter] = field(default_factory=list)

    @property
    def url(self) -> str:
        return f"smtp://127.0.0.1:{self.port}"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802 - aiosmtpd's
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        self.letters.append(Letter(envelope.mail_from, tuple(envelope.rcpt_tos), message))
        return "250 OK"

    @contextmanager
    def open(self) -> Iterator[None]:
        logging.getLogger("mail.log").setLevel(logging.WARNING)  # it tells every line of every mail
        server = Controller(self, hostname="127.0.0.1", port=self.port)
        server.start()
        try:
            yield
        finally:
            server.stop()


class Running:
    """A process in a group of its own with all that it starts, and what it says in a file."""

    def __init__(self, name: str, command: list[str], environment: dict[str, str], folder: Path) -> None:
        self.name, self.log = name, folder / f"{name}.log"
        # Where pytest itself is killed nobody is left to stop it, so the kernel is asked to.
        with_parent = [setpriv, "--pdeathsig", "KILL"] if (setpriv := shutil.which("setpriv")) else []
        with self.log.open("x") as output:
            self._process = subprocess.Popen(
                [*with_parent, *command],
                cwd=ROOT,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    @property
    def pid(self) -> int:
        return self._process.pid

    def pids(self) -> list[int]:
        """Every process of its group that lives, the first among them."""
        listed = subprocess.run(["ps", "-eo", "pid=,pgid=,stat="], capture_output=True, text=True, check=True).stdout
        rows = [line.split() for line in listed.splitlines()]
        return [int(pid) for pid, group, state in rows if int(group) == self.pid and not state.startswith("Z")]

    def said(self) -> str:
        return self.log.read_text(errors="replace")

    def kill(self) -> None:
        """SIGKILL to all of it, as a machine that fails does: nothing is finished, nothing put back."""
        with suppress(ProcessLookupError):
            os.killpg(self.pid, signal.SIGKILL)
        self._process.wait()
        until(lambda: not self.pids(), what=f"{self.name} is gone")

    def stop(self, *, within_s: float = 20) -> int:
        """Ask it to finish what it has begun and end; gives its exit code. What does not end is killed."""
        self._process.send_signal(signal.SIGTERM)
        try:
            return self._process.wait(timeout=within_s)
        except subprocess.TimeoutExpired:
            pytest.fail(f"{self.name} did not end within {within_s} s.")
        finally:
            self.kill()

    def show(self) -> None:
        print(f"--- {self.log}\n{self.said()[-20_000:]}")

    def must_live(self) -> None:
        if self._process.poll() is not None:
            pytest.fail(f"{self.name} ended with {self._process.returncode}:\n{self.said()[-4000:]}")


class Processes:
    """Starts what a test asks for, each under a name of its own; whatever is left at its end is killed."""

    def __init__(self, folder: Path, at_the_end: ExitStack) -> None:
        self.folder = folder
        self.mailbox = Mailbox()
        self._at_the_end = at_the_end
        self._at_the_end.enter_context(self.mailbox.open())

    def worker(self, name: str = "worker", *, concurrency: int = 1, **told: str) -> Running:
        """A worker that takes tasks, once it does.

        Parameters
        ----------
        told
            Variables of its environment, beside the database, the broker and the mail server.
        """
        node = f"{name}.{self.folder.name}@handrear"
        options = ["worker", "--hostname", node, "--concurrency", str(concurrency), "--loglevel", "INFO"]
        worker = self._start(name, options, told)
        until(lambda: worker.must_live() or answers(node), what=f"{name} takes tasks")
        return worker

    def beat(self, name: str = "beat", **told: str) -> Running:
        """Celery's clock, once it ticks."""
        options = ["beat", "--schedule", str(self.folder / name), "--pidfile", "", "--loglevel", "INFO"]
        beat = self._start(name, options, told)
        until(lambda: beat.must_live() or "beat: Starting" in beat.said(), what=f"{name} ticks")
        return beat

    def server(self, name: str = "server", **told: str) -> tuple[Running, int]:
        """``manage.py serve`` with two processes, once it answers; and its port on 127.0.0.1."""
        port = apart.free_port()
        serve = [sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{port}", "--workers", "2"]
        server = self._run(name, serve, told)
        until(lambda: server.must_live() or listens(port), within_s=60, what=f"{name} answers")
        return server, port

    def _start(self, name: str, options: list[str], told: dict[str, str]) -> Running:
        return self._run(name, [sys.executable, "-m", "celery", "-A", "api.config.celery_app", *options], told)

    def _run(self, name: str, command: list[str], told: dict[str, str]) -> Running:
        running = Running(name, command, self.environment(**told), self.folder)
        self._at_the_end.callback(running.show)
        self._at_the_end.callback(running.kill)
        return running

    def environment(self, **told: str) -> dict[str, str]:
        """What a process of the service needs to work beside the test."""
        return apart.environment(
            self.folder / "var",
            **{
                "SECRET_KEY": settings.SECRET_KEY,
                "DATABASE_URL": database_url(),
                "REDIS_URL": settings.REDIS_URL,
                "HANDREAR_KEY_PREFIX": settings.KEY_PREFIX,
                "EMAIL_URL": self.mailbox.url,
                **told,
            },
        )


@contextmanager
def running(folder: Path) -> Iterator[Processes]:
    """Processes for one test. Their logs are printed at its end: pytest shows them where it failed."""
    needs_services()
    # What an earlier test left in the queue speaks of rows that are no more.
    app.control.purge()
    with ExitStack() as at_the_end:
        yield Processes(folder, at_the_end)


def answers(node: str) -> bool:
    """Whether a worker answers a ping that goes through the broker and back."""
    return bool(app.control.ping(destination=[node], timeout=1))


def listens(port: int) -> bool:
    """Whether somebody takes connections at a port of this machine."""
    try:
        socket.create_connection(("127.0.0.1", port), timeout=1).close()
    except OSError:
        return False
    return True


def database_url() -> str:
    """Where the database of this test lies, for a process beside it."""
    at: dict[str, Any] = connection.settings_dict
    who = ":".join(quote(at[part], safe="") for part in ("USER", "PASSWORD") if at[part])
    host = at["HOST"] + (f":{at['PORT']}" if at["PORT"] else "")
    return f"postgres://{who}{'@' if who else ''}{host}/{quote(at['NAME'])}"
