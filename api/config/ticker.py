"""The dispatcher of the embedded default: a thread in one of the web server's processes, where no beat runs."""

import fcntl
import logging
import os
import threading
from pathlib import Path

from django.conf import settings
from django.db import close_old_connections, connections

from api.jobs.services import dispatch
from api.web import clock

logger = logging.getLogger(__name__)

#: How long a process that is told to end waits for the turn that it has begun.
PATIENCE_S = 15


class Ticker:
    """Calls the dispatcher every ``DISPATCH_EVERY_S``, in whichever process holds the lock of a file.

    The lock goes with the process: when it ends, or is killed, another has it at its next try. Started after the fork,
    for threads do not survive one.
    """

    def __init__(self, lock: Path) -> None:
        self._lock = lock
        self._ended = threading.Event()
        # daemon: what hangs does not keep the process from ending.
        self._thread = threading.Thread(target=self._run, name="ticker", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Let the turn that has begun come to its end, so that its work need not wait for its lease to run out."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(PATIENCE_S)

    def _run(self) -> None:
        with self._lock.open("w") as file:
            while not _held(file.fileno()):
                if self._ended.wait(settings.DISPATCH_EVERY_S):
                    return
            logger.info("process %d makes due jobs and takes up lost work", os.getpid())
            while True:
                self._turn()
                if self._ended.wait(settings.DISPATCH_EVERY_S):
                    return

    def _turn(self) -> None:
        try:
            close_old_connections()
            dispatch(clock.now())
        except Exception:  # noqa: BLE001 - whatever it is, such as a database that is away, the next turn may do better
            logger.exception("a turn of the dispatcher failed")
        finally:
            connections.close_all()


def _held(descriptor: int) -> bool:
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
