"""Processes that see nothing of the settings here: neither of the environment nor of a ``.env``."""

import os
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
