"""The environment, completed from a file ``.env``, before anything is read from it."""

import os
from pathlib import Path

import environ
from django.conf import settings

BESIDE_MANAGE_PY = Path(__file__).resolve().parents[2] / ".env"


def complete() -> None:
    """Read ``.env``, then choose the settings: the first act of every entry point.

    What the environment says goes before the file, which may name the settings module as well. Where settings are
    chosen already, as in the tests, the file is left alone. ``HANDREAR_ENV_FILE`` names another file.
    """
    if settings.configured:
        return
    named = os.environ.get("HANDREAR_ENV_FILE", "")
    file = Path(named) if named else BESIDE_MANAGE_PY
    if named and not file.exists():
        raise SystemExit(f"HANDREAR_ENV_FILE names {named}, and there is no such file.")
    if file.exists():
        environ.Env.read_env(file)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings.base")
