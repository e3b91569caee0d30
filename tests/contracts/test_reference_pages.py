"""The lists of docs/reference are those of the code: nothing is missing from a page, and nothing stands there alone.

Words come from the enums, codes from a reading of the source (a code is given where a record is made), settings from
the settings modules.
"""

import ast
import importlib
import pkgutil
import re
import tomllib
from collections.abc import Iterator
from enum import Enum
from functools import cache
from pathlib import Path

import pytest

import species.domain
from api.alerts import rules as alerts_rules
from api.alerts.models import AlertState, Resolution
from api.alerts.rules import crop, feeding, growth, outcomes
from api.birds import rules as birds_rules
from api.growth import rules as growth_rules
from api.networks.models import Role, SiteKind
from api.outbox.models import Op
from api.plans import rules
from api.reports import rules as reports_rules
from api.tenancy.scopes import SCOPES
from api.web import rules as web_rules
from api.web.problem import NOT_UNDERSTOOD
from api.web.problem_kinds import KINDS

ROOT = Path(__file__).resolve().parents[2]
PAGES = ROOT / "docs" / "reference"
#: Short makers of a caution, by how soon it asks for something.
SEVERITY_OF_MAKER = {"_note": "note", "_today": "act_today", "_urgent": "urgent"}
#: Codes of Django REST framework that pass through unchanged: given by its own fields, not by a line of ours.
OF_THE_FRAMEWORK = frozenset(
    {"required", "null", "invalid", "blank", "min_length", "empty", "not_a_list", "parse_error"}
)


def listed(page: str, heading: str) -> dict[str, list[str]]:
    """First cells of the tables below a heading, as they stand in backticks, with the other cells."""
    text = (PAGES / page).read_text(encoding="utf-8")
    below = re.split(rf"^#+ {re.escape(heading)}$", text, maxsplit=1, flags=re.MULTILINE)
    assert len(below) == 2, f"{page} has no heading '{heading}'"
    own = re.split(r"^#+ ", below[1], maxsplit=1, flags=re.MULTILINE)[0]
    rows = re.findall(r"^\| `([^`]+)` \|(.*)\|$", own, flags=re.MULTILINE)
    words = [word for word, _ in rows]
    assert len(words) == len(set(words)), f"{page}, {heading}: a word stands twice"
    assert all(cells.strip(" |") for _, cells in rows), f"{page}, {heading}: a word has no meaning"
    return {word: [cell.strip() for cell in cells.split("|")] for word, cells in rows}


# --- words


def enums() -> dict[str, type[Enum]]:
    found: dict[str, type[Enum]] = {
        "AlertState": AlertState,
        "Op": Op,
        "Resolution": Resolution,
        "Role": Role,
        "SiteKind": SiteKind,
    }
    for package in (species.domain, alerts_rules, birds_rules, growth_rules, rules, reports_rules, web_rules):
        for info in pkgutil.iter_modules(package.__path__):
            module = importlib.import_module(f"{package.__name__}.{info.name}")
            found |= {
                name: value
                for name, value in vars(module).items()
                if isinstance(value, type) and issubclass(value, Enum) and value.__module__ == module.__name__
            }
    return found


@pytest.mark.parametrize("name", sorted(enums()))
def test_words_of_an_enum_stand_on_the_page(name):
    assert list(listed("words.md", name)) == [word.value for word in enums()[name]]


def test_no_list_of_words_stands_alone():
    headings = re.findall(r"^### (\w+)$", (PAGES / "words.md").read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert sorted(headings) == sorted(enums())


def test_scopes_stand_on_the_page():
    assert set(listed("words.md", "Scopes of a token")) == set(SCOPES)


@pytest.mark.parametrize(
    ("heading", "module"),
    [
        ("Basis of an age", "ageing"),
        ("Basis of a mass", "expecting"),
        ("Fluid and route of a first step", "first_steps"),
        ("Care that narrows a feed", "situation"),
        ("Remedies for too little energy", "intake"),
    ],
)
def test_words_without_an_enum_are_written_in_their_module(heading, module):
    told = listed("words.md", heading)
    assert told
    source = (ROOT / "api" / "plans" / "rules" / f"{module}.py").read_text(encoding="utf-8")
    written = {node.value for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant)}
    assert set(told) <= written


# --- codes


@cache
def source() -> dict[str, ast.Module]:
    """Every module of ours, by its path."""
    paths = sorted([*(ROOT / "api").rglob("*.py"), *(ROOT / "species").rglob("*.py")])
    return {path.relative_to(ROOT).as_posix(): ast.parse(path.read_text(encoding="utf-8")) for path in paths}


@cache
def calls() -> tuple[tuple[str, str, ast.Call], ...]:
    """Every call in the source, as (file, name called, call)."""
    return tuple(
        (file, node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", ""), node)
        for file, module in source().items()
        for node in ast.walk(module)
        if isinstance(node, ast.Call)
    )


@cache
def names() -> dict[str, dict[str, str]]:
    """For every file the names that it gives a text at its top."""
    return {
        file: {
            target.id: node.value.value
            for node in module.body
            if isinstance(node, ast.Assign)
            and isinstance(node.value, ast.Constant)
            and isinstance(node.value.value, str)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for file, module in source().items()
    }


def told_as_code(call: ast.Call) -> ast.expr | None:
    return next((keyword.value for keyword in call.keywords if keyword.arg == "code"), None)


def written_out(file: str, code: ast.expr | None) -> str | None:
    """The text of an argument: a constant, or a name that the same file gives a text."""
    if isinstance(code, ast.Name):
        return names()[file].get(code.id)
    return code.value if isinstance(code, ast.Constant) and isinstance(code.value, str) else None


def codes_of(*records: str) -> Iterator[tuple[str, str]]:
    """(file, code) wherever one of the records is made with a code written out."""
    for file, called, call in calls():
        code = written_out(file, told_as_code(call))
        if called in records and code is not None:
            yield file, code


def cautions_made() -> Iterator[tuple[str, str, str]]:
    """(file, code, severity), severity '' where the record is made at full length."""
    yield from ((file, code, "") for file, code in codes_of("Caution"))
    for file, called, call in calls():
        code = written_out(file, call.args[0]) if called in SEVERITY_OF_MAKER and call.args else None
        if code is not None:
            yield file, code, SEVERITY_OF_MAKER[called]


def in_profiles(*path: str) -> set[str]:
    found = set()
    for file in (ROOT / "species" / "builtin").glob("*/*.toml"):
        table = tomllib.loads(file.read_text(encoding="utf-8"))
        for step in path:
            table = table.get(step, {})
        found |= {statement["code"] for statement in table}
    return found


#: Cautions that have a list of their own, by the file that makes them; every other file's are a plan's.
OWN_LISTS = {
    "Cautions of a mix": "api/plans/rules/mix_cautions.py",
    "Cautions of an age": "api/growth/rules/age_cautions.py",
    "Cautions of an assessment": "api/growth/rules/assessment_cautions.py",
    "Cautions of a report": "api/reports/rules/composing.py",
}
CAUTION_LISTS = ("Cautions of a plan", *OWN_LISTS)


def told_in(heading: str, file: str) -> bool:
    return file == OWN_LISTS[heading] if heading in OWN_LISTS else file not in OWN_LISTS.values()


@pytest.mark.parametrize("heading", CAUTION_LISTS)
def test_cautions(heading):
    assert set(listed("codes.md", heading)) == {code for file, code, _ in cautions_made() if told_in(heading, file)}


@pytest.mark.parametrize("heading", CAUTION_LISTS)
def test_severity_of_a_caution_is_the_one_it_is_made_with(heading):
    for code, cells in listed("codes.md", heading).items():
        told = set(re.findall(r"\w+", cells[0]))
        made = {
            severity for file, of, severity in cautions_made() if of == code and severity and told_in(heading, file)
        }
        assert made <= told, code
        assert told <= {*made, *SEVERITY_OF_MAKER.values()}, code


def test_cautions_of_profiles():
    made = in_profiles("cautions") | {code for _, code in codes_of("ProfileCaution", "Statement")}
    assert set(listed("codes.md", "Cautions of a species")) == made


def test_checks():
    assert set(listed("codes.md", "Checks")) == {code for _, code in codes_of("Check")}


def test_first_steps():
    assert set(listed("codes.md", "First steps")) == {code for _, code in codes_of("FirstStep")}


def test_findings_are_those_that_alerts_can_close():
    assert set(listed("codes.md", "Findings of weight")) == growth.CODES
    assert set(listed("codes.md", "Findings of records")) == crop.CODES | feeding.CODES | outcomes.CODES


@pytest.mark.parametrize("of", ["weaning", "release"])
def test_criteria(of):
    made = in_profiles(of, "criteria")
    if of == "release":
        made |= {code for _, code in codes_of("Criterion")}
    assert set(listed("codes.md", f"Criteria of {of}")) == made


# --- problems


def test_every_problem_type_stands_on_the_page_with_its_status():
    told = listed("problems.md", "Types")
    assert {slug: int(cells[0]) for slug, cells in told.items()} == {slug: kind.status for slug, kind in KINDS.items()}


def fault_codes() -> set[str]:
    """Codes of ``errors[]``: where a domain error, a fault or a field's refusal is written."""
    found = {
        code
        for _, code in codes_of("DomainError", "WaterTemperatureError", "__init__", "_one")
        if not code.startswith("invalid-")
    }
    for _, called, call in calls():
        words = [argument.value if isinstance(argument, ast.Constant) else None for argument in call.args]
        if called == "fail" and words and isinstance(words[0], str):
            found.add(words[0])
        elif called in ("Fault", "ErrorDetail", "refused") and len(words) > 1:
            found |= {word for word in words[1:2] if word}
    return found | {f"vessel_too_{word}" for word in ("cold", "hot")}


def test_every_code_of_a_fault_stands_on_the_page():
    told = {*listed("problems.md", "Not understood: 400"), *listed("problems.md", "Refused: 422")}
    assert fault_codes() - told == set()
    written = {node.value for _, _, call in calls() for node in ast.walk(call) if isinstance(node, ast.Constant)}
    assert told - written - OF_THE_FRAMEWORK - fault_codes() == set()


def test_every_code_of_a_conflict_stands_on_the_page():
    assert set(listed("problems.md", "In conflict: 409")) == {code for _, code in codes_of("ConflictError")}


def test_codes_of_400_are_those_that_make_a_400():
    assert set(listed("problems.md", "Not understood: 400")) == NOT_UNDERSTOOD


# --- settings

SETTINGS = "api/config/settings/"
SETTINGS_OR_BEFORE = (SETTINGS, "api/config/env.py")


def environment_names() -> set[str]:
    """Names that the settings read: by ``env.kind("NAME")``, ``rate("NAME")`` or from ``os.environ``."""
    found = set()
    for file, _, call in calls():
        owner = call.func.value if isinstance(call.func, ast.Attribute) else call.func
        reader = getattr(owner, "id", getattr(owner, "attr", ""))
        if file.startswith(SETTINGS_OR_BEFORE) and reader in ("env", "rate", "environ") and call.args:
            name = written_out(file, call.args[0])
            found |= {name} if name is not None else set()
    return found


def production_needs() -> set[str]:
    module = source()[f"{SETTINGS}production.py"]
    required = next(
        node.value
        for node in module.body
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "REQUIRED"
    )
    return set(ast.literal_eval(required))


def test_every_environment_variable_stands_on_the_page():
    read = environment_names()
    assert {"SECRET_KEY", "DATABASE_URL", "RATE_OPEN"} <= read
    assert set(listed("settings.md", "Variables")) == read


def test_the_page_marks_what_production_needs():
    needed = {name for name, cells in listed("settings.md", "Variables").items() if cells[-1] == "yes"}
    assert needed == production_needs()


def test_findings_of_weight_stand_on_the_page():
    made = {
        code
        for file, called, call in calls()
        if called == "_finding" and file.endswith("findings.py")
        for node in ast.walk(call.args[0])
        if isinstance(node, ast.Constant) and isinstance(code := node.value, str)
    }
    assert set(listed("codes.md", "Findings of weight")) == made
