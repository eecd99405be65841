"""The tutorial's pictures, taken anew from the real page: `python -m tests.docs.pictures`."""

import io
import os
import shlex
import shutil
import sys

from PIL import Image
from playwright.sync_api import Locator, sync_playwright

from tests.docs import showing, walk
from tests.fixtures.browser import FLAGS, NAMES
from tests.rules.checkout import ROOT

COLOURS = 64  # the page has few; a picture of all of them is three times the size
# A message that is longer than the chat shows its beginning.
TO_ITS_TOP = """(message) => {
  const log = message.closest('.log');
  log.scrollTop += message.getBoundingClientRect().top - log.getBoundingClientRect().top;
}"""


def main() -> None:
    """Walk the tutorial and keep what it shows."""
    program = next(filter(None, map(shutil.which, NAMES)), None)
    if program is None:
        sys.exit(f"no browser found: none of {', '.join(NAMES)} is on the path")
    flags = [*FLAGS, "--no-sandbox"] if os.geteuid() == 0 else [*FLAGS]
    (command,) = walk.commands(walk.text())
    options = shlex.split(command)[1:]
    with (
        showing.demo([sys.executable, "-m", "demo", *options, "--port", "0"], ROOT) as address,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=program, args=flags)
        with showing.page_of(browser, address) as page:
            walk.Walk(page, keep).walk(walk.text())
        browser.close()


def keep(name: str, place: Locator) -> None:
    """Keep a picture of a place on the page, with few colours."""
    if "pane" in (place.get_attribute("class") or ""):
        place.locator(".theirs").last.evaluate(TO_ITS_TOP)
    picture = Image.open(io.BytesIO(place.screenshot()))
    file = walk.TUTORIAL.parent / name
    file.parent.mkdir(exist_ok=True)
    picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)
    print(f"{file.relative_to(ROOT)}: {file.stat().st_size} bytes")


if __name__ == "__main__":
    main()
