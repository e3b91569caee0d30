"""The web server of the embedded default: one command from nothing to an answer."""

import errno
import socket
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from gunicorn.app.base import BaseApplication

from api.config.ticker import Ticker

PORT_TAKEN = 98  # the operating system's own number for it


class Server(BaseApplication):
    """gunicorn with its options from here: none are read from files or from the command line."""

    def __init__(self, options: dict[str, Any]) -> None:
        self.options = options
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        from api.config.wsgi import application

        return application


class Command(BaseCommand):
    help = "Bring the database up to date, load the species packs and serve the API."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--bind", default="127.0.0.1:8000", help="host:port, 127.0.0.1:8000 by default")
        parser.add_argument("--workers", type=int, default=2, help="processes, 2 by default")
        parser.add_argument("--threads", type=int, default=4, help="threads of each process, 4 by default")

    def handle(self, *args: Any, bind: str, workers: int, threads: int, **options: Any) -> None:
        host, port = split_bind(bind)
        refuse_taken_port(host, port)
        migrate_if_behind()
        try:
            call_command("packs_load", verbosity=options["verbosity"], stdout=self.stdout, stderr=self.stderr)
        except CommandError as refused:  # a pack is broken: what the others hold is served, and /ready tells of it
            self.stderr.write(str(refused))
        # A connection does not survive being shared with the processes that are forked now.
        connections.close_all()
        self.stdout.write(f"Serving on http://{bind}, documented at http://{bind}/api/v1/docs. Ctrl+C ends it.")
        self.stdout.flush()
        Server(
            {
                "bind": bind,
                "workers": workers,
                "threads": threads,
                "worker_class": "gthread",
                "timeout": 60,
                "graceful_timeout": 20,
                "control_socket_disable": True,
                "loglevel": "warning",
                **({} if settings.REDIS_URL else with_ticker()),
            }
        ).run()


def with_ticker() -> dict[str, Any]:
    """Options of the server that have due jobs made and lost work taken up, where there is no broker and no beat."""
    ticker = Ticker(settings.VAR_DIR / "ticker.lock")
    return {"post_worker_init": lambda worker: ticker.start(), "worker_exit": lambda server, worker: ticker.stop()}


def split_bind(bind: str) -> tuple[str, int]:
    host, _, port = bind.rpartition(":")
    if not host or not port.isdigit() or not 0 < int(port) < 65536:
        raise CommandError(f"--bind is host:port, such as 127.0.0.1:8000; {bind} is not.")
    return host.strip("[]"), int(port)


def refuse_taken_port(host: str, port: int) -> None:
    """Before anything is done: gunicorn itself would try for five seconds and then exit without a word."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            if error.errno == errno.EADDRINUSE:
                raise CommandError(
                    f"Port {port} on {host} is taken by another program. End that, or choose another port: "
                    f"manage.py serve --bind {host}:{port + 1}",
                    returncode=PORT_TAKEN,
                ) from error
            raise CommandError(f"Cannot listen on {host}:{port}: {error.strerror}.") from error


def migrate_if_behind() -> None:
    executor = MigrationExecutor(connections["default"])
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", interactive=False, verbosity=0)
