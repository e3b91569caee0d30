"""What the documents name exists: files, commands, functions, links; and no page names a place of one machine."""

import importlib
import pkgutil
import re
import subprocess
from functools import cache, reduce
from pathlib import Path

import pytest
from django.core.management import get_commands

import species.biology
import species.charts
import species.domain
from api.alerts import rules as alerts_rules
from api.catalog import rules as catalog_rules
from api.growth import rules as growth_rules
from api.plans import rules

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
IDS = [page.relative_to(ROOT).as_posix() for page in PAGES]
METHODS = sorted((ROOT / "docs" / "methods").glob("*.md"))
#: Names of files that a reader makes, or that the service writes when it runs.
NOT_IN_THE_REPOSITORY = frozenset({"backup.sqlite3"})
#: Settings for a server: the module refuses to load without its variables, which other tests look after.
UNREADY = frozenset({"api.config.settings.production"})
FILE = re.compile(r"(?:[\w.-]+/)*[\w-]*[\w.-]*\.(?:py|md|toml|json|yaml|yml|txt|html)")


@cache
def files() -> tuple[str, ...]:
    """Everything that git knows or would take."""
    told = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return tuple(name for name in told.stdout.splitlines() if (ROOT / name).exists())


def in_backticks(page: Path) -> list[str]:
    """Short pieces of code in running text; fenced and indented blocks are examples."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.findall(r"`([^`\n]+)`", text)


def is_a_place(word: str) -> bool:
    """Whether a piece of code looks like a path of this repository."""
    if re.search(r"[<>{}\s*=(),]", word) or word.startswith("/"):
        return False
    tops = {name.split("/", 1)[0] for name in files()}
    return FILE.fullmatch(word) is not None or ("/" in word and word.split("/", 1)[0] in tops)


def exists(word: str) -> bool:
    bare = word.rstrip("/")
    if (ROOT / bare).exists():
        return True
    return FILE.fullmatch(bare) is not None and any(f"/{name}".endswith(f"/{bare}") for name in files())


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_every_path_exists(page):
    named = {word for word in in_backticks(page) if is_a_place(word)} - NOT_IN_THE_REPOSITORY
    assert [word for word in sorted(named) if not exists(word)] == []


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_every_command_exists(page):
    named = set(re.findall(r"manage\.py (?:\[-\w+\] )?([a-z_]+)", page.read_text(encoding="utf-8")))
    assert named - set(get_commands()) == set()


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_every_module_that_is_run_exists(page):
    for name in re.findall(r"python -m (species[\w.]+|api[\w.]+)", page.read_text(encoding="utf-8")):
        assert importlib.util.find_spec(name.rstrip(".")), name


def anchors(page: Path) -> set[str]:
    headings = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_every_link_resolves(page):
    broken = []
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8")):
        if re.match(r"[a-z]+:", target):
            continue
        name, _, anchor = target.partition("#")
        leads_to = (page.parent / name).resolve() if name else page
        found = leads_to.exists() and leads_to.is_relative_to(ROOT)
        if not found or (anchor and leads_to.suffix == ".md" and anchor not in anchors(leads_to)):
            broken.append(target)
    assert broken == []


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_no_page_names_a_place_of_one_machine(page):
    assert re.findall(r"(?<![\w.])/(?:work|tmp|home|root|srv)/\w", page.read_text(encoding="utf-8")) == []


@cache
def modules() -> dict[str, list[str]]:
    """Rule and biology modules by their short name, which two rooms may share, and by their full one."""
    found: dict[str, list[str]] = {}
    for package in (species.domain, species.biology, species.charts, alerts_rules, catalog_rules, growth_rules, rules):
        for info in pkgutil.iter_modules(package.__path__):
            full = f"{package.__name__}.{info.name}"
            found[full] = [full]
            found.setdefault(info.name, []).append(full)
    return found


def function_named(word: str):
    """(modules, path inside one) of ``module.function``; None where the first part is no module of ours."""
    for name in sorted(modules(), key=len, reverse=True):
        if word.startswith(f"{name}."):
            return modules()[name], word.removeprefix(f"{name}.")
    return None


@pytest.mark.parametrize("page", METHODS, ids=[page.name for page in METHODS])
def test_every_function_of_a_method_exists(page):
    named = {word for word in in_backticks(page) if re.fullmatch(r"\w+(\.\w+)+", word) and not FILE.fullmatch(word)}
    found = {word: function_named(word) for word in named}
    missing = []
    for word, place in found.items():
        if place is None:
            continue
        if not any(has(module, place[1]) for module in place[0]):
            missing.append(word)
    assert missing == []


def has(module: str, path: str) -> bool:
    """Whether something of that path stands in a module."""
    try:
        reduce(getattr, path.split("."), importlib.import_module(module))
    except AttributeError:
        return False
    return True


def resolves(word: str) -> bool:
    """Whether a dotted name leads to a module, or to something inside one."""
    parts = word.split(".")
    for length in range(len(parts), 0, -1):
        try:
            module = importlib.import_module(".".join(parts[:length]))
        except ImportError:
            continue
        try:
            reduce(getattr, parts[length:], module)
        except AttributeError:
            return False
        return True
    return False


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_every_full_name_of_ours_leads_somewhere(page):
    """``api.…``, ``species.…``, and names of rules as an answer writes them, without their first part."""
    named = {
        re.sub(r"^plans\.rules\.", "api.plans.rules.", word)
        for word in in_backticks(page)
        if re.fullmatch(r"(?:api|species|plans\.rules)(?:\.\w+)+", word) and not FILE.fullmatch(word)
    }
    assert [word for word in sorted(named) if word not in UNREADY and not resolves(word)] == []


def test_every_method_page_names_its_functions():
    """So that the test above has something to hold: a page of a rule names at least one."""
    silent = [
        page.name
        for page in METHODS
        if not any(function_named(word) for word in in_backticks(page) if not FILE.fullmatch(word))
    ]
    assert set(silent) <= {"mixing.md"}


def test_example_environment_names_settings_that_exist():
    from tests.contracts.test_reference_pages import environment_names

    lines = (ROOT / ".env.example").read_text(encoding="utf-8").splitlines()
    named = {match[1] for line in lines if (match := re.match(r"#?\s?([A-Z][A-Z_]+)=", line))}
    assert named
    assert named - environment_names() - {"DJANGO_SETTINGS_MODULE"} == set()
