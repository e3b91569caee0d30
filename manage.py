#!/usr/bin/env python
"""Django's command line; without DJANGO_SETTINGS_MODULE it runs the embedded default."""

import sys


def main() -> None:
    try:
        from django.core.management import execute_from_command_line

        from api.config import env
    except ImportError as error:
        raise SystemExit(
            "Django is not installed here. Create the virtual environment as README.md says and call "
            "manage.py with its Python (.venv/bin/python manage.py ...)."
        ) from error
    env.complete()
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
