"""The checkout's own virtual environments: made on the first start, left alone until something changes.

Standard library only, since it runs before anything is installed. Only the packages that pyproject.toml
asks for are installed; the program itself is run from the checkout.
"""

import contextlib
import fcntl
import hashlib
import importlib.util
import json
import os
import subprocess
import sys
import sysconfig
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parents[1]
REPORT_EVERY_S = 5
LINES_OF_A_FAILURE = 25
RECIPE = 2  # raise it when what is done below changes, so that every environment is made anew


class SetUpError(Exception):
    """Set-up cannot go on; the text says what to do. `status` is the command's exit code."""

    def __init__(self, text: str, status: int) -> None:
        super().__init__(text)
        self.status = status


def ready(name: str, extras: Sequence[str] = ()) -> Path:
    """The Python of `.venv/<name>`, with the packages of pyproject.toml and of `extras` in place.

    Costs a few milliseconds when nothing changed. Else the environment is made from scratch: a folder
    without its stamp is the rest of an install that failed or was interrupted.
    Raises SetUpError with advice when that is impossible.
    """
    folder = ROOT / ".venv" / name
    packages = _packages(extras)
    stamp = _stamp(folder, packages)
    if not _is_ready(folder, stamp):
        folder.parent.mkdir(exist_ok=True)
        with _alone(folder) as lock:
            # Whoever held the lock before us may have done the work.
            if not _is_ready(folder, stamp):
                _make(folder, packages, lock)
                (folder / "stamp").write_text(stamp, encoding="utf-8")
    return folder / "bin" / "python"


def hand_over(python: Path, arguments: Sequence[str]) -> NoReturn:
    """Become `python arguments...`, in the same folder and with the same terminal."""
    sys.stdout.flush()
    sys.stderr.flush()
    os.execve(python, [str(python), *arguments], surroundings())  # noqa: S606 - no shell is wanted


def surroundings() -> dict[str, str]:
    """The environment variables for a Python of ours: only its own packages and this checkout are seen.

    PYTHONSAFEPATH keeps a folder named `bot` or `demo` in the caller's working folder from being taken for
    ours.
    """
    kept = {name: value for name, value in os.environ.items() if name not in {"PYTHONPATH", "PYTHONHOME"}}
    return kept | {"PYTHONSAFEPATH": "1"}


def start(name: str, extras: Sequence[str] = ()) -> Path:
    """What a command does first: `ready`, with a failure told in plain words and turned into an exit."""
    try:
        return ready(name, extras)
    except SetUpError as failure:
        sys.stderr.write(f"{failure}\n")
        sys.exit(failure.status)
    except KeyboardInterrupt:
        sys.stderr.write("\nSet-up was stopped. The next start makes it anew.\n")
        sys.exit(130)


def _packages(extras: Sequence[str]) -> list[str]:
    with (ROOT / "pyproject.toml").open("rb") as file:
        project = tomllib.load(file)["project"]
    optional = project.get("optional-dependencies", {})
    return [*project["dependencies"], *(package for extra in extras for package in optional[extra])]


def _stamp(folder: Path, packages: Sequence[str]) -> str:
    """What the environment depends on. A moved checkout counts, since the scripts inside name their place."""
    facts = [RECIPE, sys.version, sys.base_prefix, str(folder), *packages]
    return hashlib.sha256(json.dumps(facts).encode()).hexdigest()


def _is_ready(folder: Path, stamp: str) -> bool:
    try:
        found = (folder / "stamp").read_text(encoding="utf-8")
    except OSError:
        return False
    return found == stamp and (folder / "bin" / "python").exists()


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[int]:
    """Hold the environment's lock; the system frees it when its holders end, however they end.

    Yields the file that is the lock. Each step inherits it, so that the next start also waits for a step
    that has outlived a killed one.
    """
    with folder.with_suffix(".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            sys.stderr.write("Another start is setting up the same environment; waiting for it.\n")
            fcntl.flock(lock, fcntl.LOCK_EX)
        yield lock.fileno()


def _make(folder: Path, packages: Sequence[str], lock: int) -> None:
    if importlib.util.find_spec("ensurepip") is None:
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        raise SetUpError(
            f"This Python {version} cannot make virtual environments: its ensurepip part is missing.\n"
            f"On Debian and Ubuntu install it with: sudo apt-get install python3-venv (or "
            f"python{version}-venv), then start again.",
            status=2,
        )
    started = time.monotonic()

    def tell(what: str) -> None:
        sys.stderr.write(f"  {time.monotonic() - started:4.0f} s  {what}\n")
        sys.stderr.flush()

    sys.stderr.write(f"Setting up .venv/{folder.name}: the first start, or its requirements changed.\n")
    log = folder.with_suffix(".log")
    tell("making the virtual environment")
    # The old stamp must be gone before anything else changes.
    (folder / "stamp").unlink(missing_ok=True)
    _run([sys.executable, "-I", "-m", "venv", "--clear", str(folder)], log, lock, tell)
    paths = {"base": str(folder), "platbase": str(folder)}
    modules = Path(sysconfig.get_path("purelib", scheme="venv", vars=paths))
    (modules / "checkout.pth").write_text(f"{ROOT}\n", encoding="utf-8")
    tell(f"installing {len(packages)} packages and what they need")
    pip = [str(folder / "bin" / "python"), "-I", "-m", "pip", "--disable-pip-version-check", "--no-input"]
    # What is imported is compiled then; most of what is installed never is.
    _run([*pip, "install", "--progress-bar", "off", "--no-compile", *packages], log, lock, tell)
    tell("ready")


def _run(command: Sequence[str], log: Path, lock: int, tell: Callable[[str], None]) -> None:
    """Run a step, its words into `log`, now and then one of them told; raise SetUpError if it fails."""
    lines: list[str] = []
    last = time.monotonic()
    with (
        log.open("w", encoding="utf-8") as file,
        subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            pass_fds=[lock],
        ) as process,
    ):
        assert process.stdout is not None  # noqa: S101 - asked for in the line above
        for line in process.stdout:
            file.write(line)
            lines.append(line)
            if line.startswith("Installing collected packages"):
                tell("putting them in place")
            elif line.startswith("Collecting ") and time.monotonic() - last > REPORT_EVERY_S:
                last = time.monotonic()
                tell(f"collecting {line.split()[1]}")
    if process.returncode != 0:
        sys.stderr.writelines(lines[-LINES_OF_A_FAILURE:])
        raise SetUpError(
            f"Setting up failed; all that was said is in {log}.\n"
            "Often the package index was out of reach: check the network, or pip's own settings "
            "(`pip config list`), and start again.",
            status=1,
        )
