"""The import contracts in pyproject.toml are complete, and they bite."""

import ast
import importlib.metadata
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

from tests.rules.checkout import ROOT

# For each contract lines that break it, each put at the end of a file that may not have it.
PLANTED = {
    "Imports run downward": {"bot/store/__init__.py": "import bot.service"},
    "Pure rooms read no clock": {"bot/domain/__init__.py": "import bot.clock"},
    "Only service reaches the store": {"bot/jobs/__init__.py": "import bot.store"},
    "Only serve wires the shell": {"bot/commands/__init__.py": "import bot.jobs"},
    "One room knows the platform": {"bot/service/__init__.py": "import telegram"},
    "One room knows SQL": {"bot/reports/__init__.py": "import sqlalchemy"},
    "One room ticks": {"bot/transport/__init__.py": "import apscheduler"},
    "No circles": {"bot/errors.py": "import bot.clock", "bot/clock.py": "import bot.errors"},
}


def settings() -> dict[str, Any]:
    with (ROOT / "pyproject.toml").open("rb") as file:
        return tomllib.load(file)


def broken(checkout: Path) -> tuple[set[str], str]:
    """The names of the contracts that a checkout breaks, and the whole report."""
    lint = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [lint, "--no-cache", "--no-logo"], cwd=checkout, check=False, capture_output=True, text=True
    )
    report = done.stdout + done.stderr
    found = set(re.findall(r"^(.+) BROKEN$", report, re.MULTILINE))
    assert (done.returncode != 0) == bool(found), report
    return found, report


def copied(folder: Path) -> Path:
    """A copy of what the contracts read."""
    for file in (ROOT / "bot").rglob("*.py"):
        place = folder / file.relative_to(ROOT)
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(file, place)
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def test_each_contract_breaks_when_its_fault_is_planted(tmp_path: Path) -> None:
    assert set(PLANTED) == {contract["name"] for contract in settings()["tool"]["importlinter"]["contracts"]}
    checkout = copied(tmp_path)
    for faults in PLANTED.values():
        for path, line in faults.items():
            with (checkout / path).open("a", encoding="utf-8") as file:
                file.write(f"\n{line}\n")
    found, report = broken(checkout)
    assert found == set(PLANTED), report


def test_a_new_room_starts_with_no_place(tmp_path: Path) -> None:
    """A module of `bot` that the layers do not name is refused, so that a room cannot slip in unseen."""
    checkout = copied(tmp_path)
    (checkout / "bot" / "helpers.py").touch()
    found, report = broken(checkout)
    assert found == {"Imports run downward"}
    assert "helpers" in report


def undeclared(sources: dict[str, str], declared: set[str]) -> dict[str, str]:
    """Packages that are imported without being asked for in pyproject.toml, and one file that does so."""
    given_by = importlib.metadata.packages_distributions()
    found = {}
    for path, source in sources.items():
        for node in ast.walk(ast.parse(source)):
            match node:
                case ast.Import(names=names):
                    modules = [name.name for name in names]
                case ast.ImportFrom(module=str(module), level=0):
                    modules = [module]
                case _:
                    continue
            for top in {module.partition(".")[0] for module in modules} - sys.stdlib_module_names - {"bot"}:
                if not {_plain(name) for name in given_by.get(top, [])} & declared:
                    found[top] = path
    return found


def _plain(name: str) -> str:
    """A distribution's name in the one spelling that compares (PEP 503; from memory)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def test_what_the_program_imports_is_asked_for() -> None:
    """A package that comes only with another one may go with its next release."""
    asked = settings()["project"]["dependencies"]
    declared = {_plain(name.group()) for line in asked if (name := re.match(r"[\w.-]+", line))}
    files = [*(ROOT / "bot").rglob("*.py"), *(ROOT / "migrations").rglob("*.py")]
    sources = {str(file.relative_to(ROOT)): file.read_text(encoding="utf-8") for file in files}
    assert undeclared(sources, declared) == {}
    planted = {"bot/x.py": "import json, anyio.abc\nfrom telegram import Bot\nfrom hypothesis import given"}
    assert undeclared(planted, declared) == {"anyio": "bot/x.py", "hypothesis": "bot/x.py"}
