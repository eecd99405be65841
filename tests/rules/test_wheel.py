"""The built wheel is whole: it works from anywhere, without the checkout."""

import subprocess
import sys
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.rules.checkout import ROOT, committed

# Of each kind of data that travels with the program at least one file must be there.
KINDS = {"migrations": "bot/migrations/versions/*.py", "alembic's start": "bot/migrations/env.py"} | {
    "warning signs": "bot/rules/sign_data/*.toml",
    "fonts": "bot/reports/fonts/*.ttf",
    "templates": "bot/reports/templates/*.typ",
}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the checkout with the build tool that is installed here: no network."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (found,) = folder.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with nothing but the installed wheel in it."""
    folder = tmp_path_factory.mktemp("installed")
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--no-compile"]
    subprocess.run([*pip, "--target", str(folder), str(wheel)], check=True, capture_output=True)
    return folder


def missing(wanted: Sequence[str], there: Sequence[str]) -> list[str]:
    """The committed files that a wheel should hold and does not."""
    places = (path if path.startswith("bot/") else f"bot/{path}" for path in wanted)
    return sorted(set(places) - set(there))


def test_every_committed_file_of_the_program_is_in_the_wheel(wheel: Path) -> None:
    wanted = [path for path in committed() if path.startswith(("bot/", "migrations/"))]
    there = zipfile.ZipFile(wheel).namelist()
    assert missing(wanted, there) == []
    assert missing(["bot/absent.py", "migrations/absent.py", "bot/clock.py"], there) == [
        "bot/absent.py",
        "bot/migrations/absent.py",
    ]
    assert {name.split("/")[0].partition("-")[0] for name in there} == {"bot", "programme_bot"}


@pytest.mark.parametrize("kind", KINDS)
def test_the_installed_program_carries_its_data(installed: Path, kind: str) -> None:
    assert list(installed.glob(KINDS[kind]))


def test_the_installed_program_runs_from_another_folder(installed: Path, tmp_path: Path) -> None:
    def run(*arguments: str) -> str:
        # The path goes before what the environment itself offers, such as the checkout.
        surroundings = {"PYTHONPATH": str(installed)}
        command = [sys.executable, *arguments]
        return subprocess.check_output(command, cwd=tmp_path, env=surroundings, text=True)

    assert run("-c", "import bot; print(bot.__file__)").startswith(f"{installed}/")
    assert "usage" in run("-m", "bot", "--help").lower()
