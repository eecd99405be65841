"""`programme-bot --help` answers at once: nothing heavy is loaded for it."""

import subprocess
import sys
from pathlib import Path

from tests.rules.checkout import ROOT

HEAVY = {"sqlalchemy", "telegram", "apscheduler", "typst"}


def loaded(arguments: list[str], folder: Path) -> tuple[set[str], str]:
    """The top-level packages that a start of Python loads, and what it printed."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *arguments],
        cwd=folder,
        check=True,
        capture_output=True,
        text=True,
    )
    timed = (line.rpartition("|")[2].strip() for line in done.stderr.splitlines() if "import time:" in line)
    return {module.partition(".")[0] for module in timed}, done.stdout


def test_help_loads_nothing_heavy() -> None:
    modules, words = loaded(["-m", "bot", "--help"], ROOT)
    assert "argparse" in modules  # so that a start which loads nothing at all does not pass
    assert "usage" in words.lower()
    assert modules & HEAVY == set()


def test_a_heavy_start_is_noticed(tmp_path: Path) -> None:
    modules, _ = loaded(["-c", "import json, sqlalchemy.orm"], tmp_path)
    assert modules & HEAVY == {"sqlalchemy"}
