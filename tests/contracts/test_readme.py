"""The README's requests are sent as they stand; what it prints of the answers must be in them."""

import json
import re
import shlex
from pathlib import Path

import pytest
from django.core.management import call_command

README = Path(__file__).parents[2] / "README.md"
EXAMPLE = re.compile(r"<!-- example: (\w+) -->\n```bash\n(.*?)```\n(.*?)(?=<!-- example|\n### |\Z)", re.S)
EXCERPT = re.compile(r"```json\n(.*?)```", re.S)

pytestmark = pytest.mark.django_db


def examples():
    """Name, request and printed excerpts of every example."""
    return [
        pytest.param(command, EXCERPT.findall(rest), id=name)
        for name, command, rest in EXAMPLE.findall(README.read_text(encoding="utf-8"))
    ]


def contains(whole, part):
    """Whether every printed value stands in the answer; a printed list may leave out members of objects."""
    if isinstance(part, dict):
        return isinstance(whole, dict) and all(k in whole and contains(whole[k], v) for k, v in part.items())
    if isinstance(part, list) and part and isinstance(part[0], dict):
        return all(any(contains(candidate, wanted) for candidate in whole) for wanted in part)
    return whole == part


@pytest.mark.parametrize(("command", "excerpts"), examples())
def test_readme_prints_what_the_service_answers(api, standing_clock, command, excerpts):
    call_command("packs_load", verbosity=0)
    words = shlex.split(command)
    address = next(word for word in words if word.startswith("http"))
    response = api.post(
        address.removeprefix("http://127.0.0.1:8000"), json.loads(words[words.index("-d") + 1]), format="json"
    )
    answer = json.loads(response.content)
    assert excerpts
    for excerpt in excerpts:
        assert contains(answer, json.loads(excerpt)), f"The README prints what is not in the answer: {excerpt}"


def test_readme_has_its_examples():
    assert [case.id for case in examples()] == ["plan", "cold", "mix", "wrong"]
