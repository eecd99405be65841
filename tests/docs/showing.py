"""The demo as a newcomer starts it, and a browser in front of it."""

import os
import re
import signal
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page

STOP_WITHIN_S = 20
SIZE = {"width": 1280, "height": 960}


@contextmanager
def demo(command: Sequence[str], folder: Path) -> Iterator[str]:
    """Run the demo until the block ends, as by Ctrl-C; its address, once everybody is in the room.

    Raises RuntimeError with what it printed when it ends before that.
    """
    surroundings = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    process = subprocess.Popen(command, cwd=folder, env=surroundings, stdout=subprocess.PIPE, text=True)
    try:
        yield _address(process)
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(STOP_WITHIN_S)
        finally:
            process.kill()
            if process.stdout:
                process.stdout.close()
    if process.returncode != 0:
        raise RuntimeError(f"the demo ended with {process.returncode}")


def _address(process: subprocess.Popen[str]) -> str:
    said: list[str] = []
    for line in process.stdout or ():
        said.append(line)
        if "Ctrl-C" in line:
            found = re.search(r"http://\S+", "".join(said))
            if found:
                return found[0]
    raise RuntimeError("".join(said))


@contextmanager
def page_of(browser: Browser, address: str) -> Iterator[Page]:
    """The demo's page; errors of its script are raised at the end."""
    context = browser.new_context(viewport=SIZE)  # type: ignore[arg-type]  # a plain dictionary is taken
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(address)
    yield page
    context.close()
    if complaints:
        raise RuntimeError("\n".join(complaints))
