"""docs/reference/coverage.md is what the command prints of the pack as it is."""

from io import StringIO
from pathlib import Path

from django.core.management import call_command

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "coverage.md"


def test_the_page_is_that_of_the_pack():
    printed = StringIO()
    call_command("coverage", stdout=printed)
    assert PAGE.read_text("utf-8") == printed.getvalue(), "manage.py coverage > docs/reference/coverage.md"
