"""What is committed, read once for the rules about it."""

import functools
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@functools.cache
def committed() -> tuple[str, ...]:
    """The paths that git keeps, from the top of the checkout, with `/` between; deleted files left out."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True)
    return tuple(path for path in listed.stdout.split("\0") if path and (ROOT / path).is_file())


def text(path: str) -> str | None:
    """The text of a committed file, or None if it is not text."""
    raw = (ROOT / path).read_bytes()
    if b"\0" in raw:
        return None
    try:
        return raw.decode()
    except UnicodeDecodeError:
        return None
