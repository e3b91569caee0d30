"""Packs that other distributions bring, installed as real wheels: loaded beside the built-in one, or told broken."""

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests import apart

ROOT = Path(__file__).parents[2]
GOOD = ROOT / "fixtures" / "packs" / "good"
BROKEN = ROOT / "fixtures" / "packs" / "bad-unit"
ASK = """
import json
from django.core.management import CommandError, call_command
from django.test import Client
call_command("migrate", verbosity=0)
refused = {}
for command in ("packs_check", "packs_load", "packs_load"):
    try:
        call_command(command)
    except CommandError as error:
        refused[command] = str(error)
ask = Client(headers={"host": "localhost"}).get
print(json.dumps({
    "refused": refused,
    "ready": ask("/api/v1/ready").json(),
    "species": [ask(f"/api/v1/species/{key}").status_code for key in ("fictus-psittacinus", "nymphicus-hollandicus")],
}))
"""


def wheel(folder: Path, name: str, key: str, pack: Path) -> Path:
    """A wheel after the binary distribution format: a zip with the files and what describes them."""
    package, info = f"{name}_pack", f"{name}-1.0.dist-info"
    told = {
        f"{package}/__init__.py": "",
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nGenerator: tests\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        f"{info}/entry_points.txt": f"[handrear.species]\n{key} = {package}\n",
    }
    # The built-in pack has crickets of its own.
    texts = {
        file.relative_to(pack): file.read_text().replace("cricket", "tale") for file in sorted(pack.rglob("*.toml"))
    }
    told |= {f"{package}/{file}": text for file, text in texts.items()}
    told[f"{info}/RECORD"] = "".join(f"{file},,\n" for file in [*told, f"{info}/RECORD"])
    path = folder / f"{name}-1.0-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as archive:
        for file, text in told.items():
            archive.writestr(file, text)
    return path


@pytest.fixture(scope="module")
def answer(tmp_path_factory):
    """What an installation with a good and a broken pack beside the built-in one says of itself."""
    folder = tmp_path_factory.mktemp("packs")
    wheels = [wheel(folder, "invented", "invented", GOOD), wheel(folder, "broken", "broken", BROKEN)]
    site = folder / "site"
    into = ["--no-index", "--no-deps", "--quiet", "--target", str(site)]
    subprocess.run([sys.executable, "-m", "pip", "install", *into, *map(str, wheels)], check=True)
    done = subprocess.run(
        [sys.executable, "manage.py", "shell", "--no-imports", "--command", ASK],
        cwd=ROOT,
        env=apart.environment(folder / "var", PYTHONPATH=str(site)),
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done, json.loads(done.stdout.splitlines()[-1])


def test_a_good_pack_is_loaded_beside_the_built_in_one(answer):
    assert answer[1]["species"] == [200, 200]


def test_loading_again_changes_nothing(answer):
    assert answer[0].stdout.count("Nothing had changed, so no revision was made.") == 2


def test_a_broken_pack_is_told_by_the_check_and_by_loading(answer):
    done, told = answer
    assert told["refused"] == {
        "packs_check": "Not to be loaded as it is: broken 1.0.",
        "packs_load": "Nothing was loaded from: broken 1.0.",
    }
    assert "the pack cannot be loaded" in done.stdout


def test_the_service_is_ready_and_tells_of_the_broken_pack(answer):
    ready = answer[1]["ready"]
    assert ready["status"] == "ready"
    assert ready["checks"]["packs"]["detail"].endswith("not loaded, see manage.py packs_check: broken 1.0")
