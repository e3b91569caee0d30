"""Processes that see nothing of the settings here: neither of the environment nor of a ``.env``."""

import os
import socket
from pathlib import Path

_HERE = (
    "DJANGO_SETTINGS_MODULE",
    "SECRET_KEY",
    "DATABASE_URL",
    "REDIS_URL",
    "EMAIL_URL",
    "ALLOWED_HOSTS",
    "PUBLIC_URL",
)


def environment(var: Path, **told: str) -> dict[str, str]:
    """The environment of a process that writes under ``var`` and is told only ``told``."""
    kept = {name: value for name, value in os.environ.items() if name not in _HERE}
    return {**kept, "HANDREAR_VAR": str(var), "HANDREAR_ENV_FILE": os.devnull, **told}


def free_port() -> int:
    """A port of this machine that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
