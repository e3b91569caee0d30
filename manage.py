#!/usr/bin/env python
"""Django's command line; without DJANGO_SETTINGS_MODULE it runs the embedded default."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings.base")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as error:
        raise SystemExit(
            "Django is not installed here. Create the virtual environment as README.md says and call "
            "manage.py with its Python (.venv/bin/python manage.py ...)."
        ) from error
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
