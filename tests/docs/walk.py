"""Walks the tutorial in a real browser, literally: what the page says to press, write and see is done.

The words of a step decide. "choose **X**", "press **X**" and "write `X`" are acts, "see *X*" is what has to
appear; "above" is the clock, "the client's chat" and "the therapist's chat" are the two sides, and a picture
is a screen to be kept.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from bot.conversation import copy
from tests.rules.checkout import ROOT

TUTORIAL = ROOT / "docs/tutorial/first-digest.md"
WITHIN_MS = 60_000
HAND_OVER = "Hand this invite to someone new"
QUIET_MS = 250  # a person looks at what came before she taps again
# All that the bot has said in both chats.
SAID = "() => [...document.querySelectorAll('.theirs .text')].map((said) => said.innerText).join()"
# Whether the bot has said something else than before, and has been quiet for a moment.
ANSWERED = f"""([before, quiet]) => {{
  const said = ({SAID})();
  if (said !== window.lastSaid) {{ window.lastSaid = said; window.lastAt = performance.now(); }}
  return said !== before && performance.now() - window.lastAt > quiet;
}}"""

TOKEN = re.compile(
    r"(?P<place>[Tt]he (?:client|therapist)'s chat|\b[Aa]bove\b|[Ff]or the name)"
    r"|(?<!\*)\*\*(?P<press>[^*]+)\*\*(?!\*)"
    r"|(?<!\*)\*(?P<see>[^*]+)\*(?!\*)"
    r"|[Ww]rite (?P<digits>the four digits)"
    r"|[Ww]rite `(?P<write>[^`]+)`"
    r"|!\[[^\]]*\]\((?P<picture>[^)]+)\)"
)


@dataclass(frozen=True)
class Deed:
    """One thing the tutorial asks for: `kind` is a group of TOKEN, `what` its words, `line` its place."""

    kind: str
    what: str
    line: int


def commands(text: str) -> list[str]:
    """The lines to be typed in a terminal."""
    blocks = re.findall(r"(?ms)^```sh\n(.*?)^```", text)
    return [line for block in blocks for line in block.splitlines()]


def deeds(text: str) -> list[Deed]:
    """What the numbered steps and the pictures ask for, in their order."""
    return [
        Deed(str(match.lastgroup), match[str(match.lastgroup)], number)
        for number, words in _steps(text)
        for match in TOKEN.finditer(words)
    ]


def _steps(text: str) -> Iterator[tuple[int, str]]:
    """Every numbered step and picture as one line, with the line it begins on."""
    begun, words = 0, ""
    for number, line in enumerate([*text.splitlines(), ""], start=1):
        if words and line.startswith("   "):
            words += f" {line.strip()}"
            continue
        if words:
            yield begun, words
        is_step = re.match(r"\d+\. |!\[", line)
        begun, words = (number, line) if is_step else (0, "")


class Walk:
    """Somebody in front of the page.

    keep: told the name of a picture and the place it shows, when the tutorial comes to one.
    """

    def __init__(self, page: Page, keep: Callable[[str, Locator], None] | None = None) -> None:
        self._page = page
        self._keep = keep
        self._place: Locator = page.locator("body")
        self._in_form = False

    def walk(self, text: str) -> None:
        """Do everything; raises AssertionError with the line of the tutorial that does not hold."""
        for deed in deeds(text):
            try:
                self._do(deed)
            except Exception as error:
                raise AssertionError(f"line {deed.line}: {deed.kind} {deed.what!r}: {error}") from error

    def _do(self, deed: Deed) -> None:
        match deed.kind:
            case "place":
                self._go(deed.what.lower())
            case "press":
                self._press(deed.what)
            case "write":
                self._write(deed.what)
            case "digits":
                self._write(self._digits())
            case "see":
                self._see(deed.what)
            case "picture" if self._keep is not None:
                self._keep(deed.what, self._place)
            case _:
                pass

    def _go(self, where: str) -> None:
        self._in_form = where == "for the name"
        if self._in_form:
            self._place = self._page.locator("#newcomer")
        elif where == "above":
            self._place = self._page.locator("header")
        else:
            self._place = self._page.locator(f"[data-side={'left' if 'client' in where else 'right'}].pane")

    def _press(self, name: str) -> None:
        people = self._page.locator("[data-side=right] select.person option", has_text=name)
        if people.count() and "Brackenfield" in name:
            self._page.locator("[data-side=right] select.person").select_option(label=name)
            return
        button = self._place.get_by_role("button", name=name, exact=True).last
        expect(button).to_be_enabled(timeout=WITHIN_MS)
        if name == HAND_OVER:
            button.click()  # fills in the form and says nothing
            return
        before = self._page.evaluate(SAID)
        button.click()
        if self._place.get_attribute("class") == "top":
            # The clock is through when its buttons can be pressed again.
            expect(self._page.locator("#stop")).to_be_hidden(timeout=WITHIN_MS)
            expect(button).to_be_enabled(timeout=WITHIN_MS)
        else:
            self._answered(before)

    def _answered(self, before: str) -> None:
        self._page.wait_for_function(ANSWERED, arg=[before, QUIET_MS], timeout=WITHIN_MS)

    def _write(self, text: str) -> None:
        if self._in_form:
            self._place.get_by_label("Name").fill(text)
            return
        before = self._page.evaluate(SAID)
        box = self._place.locator("textarea.words")
        box.fill(text)
        box.press("Enter")
        self._answered(before)

    def _see(self, words: str) -> None:
        said = self._place.get_by_text(words).last
        expect(said).to_be_visible(timeout=WITHIN_MS)

    def _digits(self) -> str:
        shown = self._page.locator("[data-side=right].pane .log").inner_text()
        found = re.findall(r"Tell her aloud: (\d{4})", shown)
        if not found:
            raise AssertionError("no digits stand in the therapist's chat")
        return str(found[-1])


def text() -> str:
    """The tutorial."""
    return TUTORIAL.read_text(encoding="utf-8")


def pictures() -> list[Path]:
    """The pictures it shows."""
    return [TUTORIAL.parent / deed.what for deed in deeds(text()) if deed.kind == "picture"]


def sentences() -> list[str]:
    """Everything the bot can say, as it is written."""
    return list(copy.LANGUAGES["en"].values())
