"""`demo/run` and `tests/run` set themselves up, leave well alone, and mend what was cut short."""

import ast
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.rules.checkout import ROOT

COMMANDS = ("demo/run", "tests/run")


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A small checkout, a blank in its path: the real command and set-up, a demo that says where it is."""
    place = tmp_path / "a checkout"
    (place / "demo").mkdir(parents=True)
    for name in ("demo/run", "demo/environment.py"):
        (place / name).write_bytes((ROOT / name).read_bytes())
    (place / "demo/__init__.py").touch()
    (place / "demo/__main__.py").write_text(
        "import os, sys, little\nprint(little.WORD, os.path.dirname(__file__), os.getcwd(), sys.argv[1:])\n"
    )
    return place


def ask_for(checkout: Path, package: Path) -> None:
    """Make the small checkout require one package, a wheel on this machine."""
    words = f'[project]\ndependencies = ["little @ {package.as_uri()}"]\n'
    (checkout / "pyproject.toml").write_text(words, encoding="utf-8")


def little_wheel(folder: Path) -> Path:
    """A package with one word in it."""
    wheel = folder / "little-1-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w") as packed:
        packed.writestr("little.py", "WORD = 'found'\n")
        packed.writestr("little-1.dist-info/METADATA", "Metadata-Version: 2.1\nName: little\nVersion: 1\n")
        packed.writestr(
            "little-1.dist-info/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        packed.writestr("little-1.dist-info/RECORD", "")
    return wheel


def start(checkout: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, str(checkout / "demo/run"), *arguments]
    # Modules of the caller's must neither reach the program nor count as installed.
    surroundings = os.environ | {"PYTHONPATH": str(folder), "PIP_NO_INDEX": "1"}
    return subprocess.run(
        command, cwd=folder, env=surroundings, check=False, capture_output=True, text=True, timeout=120
    )


def test_a_start_sets_up_once_and_mends_what_failed(checkout: Path, tmp_path: Path) -> None:
    caller = tmp_path / "elsewhere"
    (caller / "demo").mkdir(parents=True)
    (caller / "demo/__main__.py").write_text("print('the wrong demo')")
    (caller / "little.py").write_text("WORD = 'the wrong package'")

    ask_for(checkout, tmp_path / "little-1-py3-none-any.whl")  # not there yet
    failed = start(checkout, caller)
    assert failed.returncode == 1
    assert failed.stdout == ""
    assert "Setting up failed" in failed.stderr
    assert "little" in failed.stderr

    little_wheel(tmp_path)
    mended = start(checkout, caller, "--keep", "a folder")
    said = f"found {checkout / 'demo'} {caller} ['--keep', 'a folder']\n"
    assert (mended.returncode, mended.stdout) == (0, said), mended.stderr
    assert "Setting up" in mended.stderr

    again = start(checkout, caller, "--keep", "a folder")
    assert (again.returncode, again.stdout, again.stderr) == (0, said, "")


@pytest.mark.parametrize("command", COMMANDS)
def test_an_old_python_is_refused_in_words(command: str) -> None:
    """The first lines are plain enough for old versions to read, and say what is needed."""
    ast.parse((ROOT / command).read_text(encoding="utf-8"), feature_version=(3, 7))
    pretend = (
        "import runpy, sys; sys.version_info = (3, 10, 9); sys.version = '3.10.9 (old)'; "
        f"sys.argv = [{command!r}]; runpy.run_path({command!r}, run_name='__main__')"
    )
    done = subprocess.run(
        [sys.executable, "-c", pretend], cwd=ROOT, check=False, capture_output=True, text=True
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "This needs Python 3.11 or newer; python3 here is 3.10.9.\n"


def test_set_up_needs_nothing_installed() -> None:
    alone = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import demo.environment"
    subprocess.run([sys.executable, "-I", "-S", "-c", alone], check=True)
