"""Runs the commands of a page as somebody would type them, one after the other.

A block of commands is fenced as `sh`. Before one that cannot be run here stands `<!-- not run here: WHY -->`;
its verbs and options are checked all the same. `<!-- by hand: WHAT -->` stands for what people do in between.
"""

import os
import re
import shlex
import subprocess
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from bot import commands

PROGRAM = "programme-bot"
PART = re.compile(
    r"(?ms)^<!-- by hand: (?P<hand>[^\n]*?) -->$"
    r"|(?:^<!-- not run here: (?P<why>[^\n]*?) -->\n)?^```sh\n(?P<block>.*?)^```"
)


@dataclass(frozen=True)
class Line:
    """One command, or what people do by hand; `why` it is not run, if so; the line of the page."""

    page: str
    number: int
    text: str
    why: str | None = None
    by_hand: bool = False

    def __str__(self) -> str:
        return f"{self.page}:{self.number}: {self.text}"


def lines(page: Path) -> Iterator[Line]:
    """The commands of a page, a continued one as a single line."""
    text = page.read_text(encoding="utf-8")
    for part in PART.finditer(text):
        if part["hand"] is not None:
            yield Line(page.name, text.count("\n", 0, part.start()) + 1, part["hand"], by_hand=True)
            continue
        first = text.count("\n", 0, part.start("block")) + 1
        held, begun = "", first
        for number, line in enumerate(part["block"].splitlines(), start=first):
            begun = begun if held else number
            held += line.removesuffix("\\").strip() + " "
            if not line.endswith("\\"):
                yield Line(page.name, begun, held.strip(), part["why"])
                held = ""


def verb_of(text: str) -> list[str] | None:
    """The arguments of a call of ours in a line, None where the line calls something else."""
    words = _words(text)
    return words[1:] if words and words[0] == PROGRAM else None


def _words(text: str) -> list[str]:
    """The words up to a redirection or the next command."""
    lexer = shlex.shlex(text, posix=True, punctuation_chars=True)
    lexer.whitespace_split = True
    words = list(lexer)
    ends = (place for place, word in enumerate(words) if word in {">", ">>", "|", "||", "&&", ";"})
    return words[: next(ends, len(words))]


class Terminal:
    """A folder, its environment, and what was printed last.

    by_hand: what people do in between, by the page's words for it.
    """

    def __init__(
        self,
        folder: Path,
        monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str],
        by_hand: Mapping[str, Callable[[], None]],
    ) -> None:
        self._folder = folder
        self._monkeypatch = monkeypatch
        self._capsys = capsys
        self._by_hand = by_hand
        monkeypatch.chdir(folder)

    def run(self, line: Line) -> str:
        """Do a line; what it printed. Fails unless it ends with 0."""
        if line.by_hand:
            self._by_hand[line.text]()
            return ""
        text = os.path.expandvars(line.text.replace("$PWD", str(self._folder)))
        if text.startswith("export "):
            name, _, value = shlex.split(text)[1].partition("=")
            self._monkeypatch.setenv(name, value)
            return ""
        arguments = verb_of(text)
        if arguments is None:
            done = subprocess.run(
                ["bash", "-euc", text], cwd=self._folder, check=False, capture_output=True, text=True
            )
            assert done.returncode == 0, f"{line}\n{done.stderr}"
            return done.stdout
        self._capsys.readouterr()
        code = commands.run(arguments)
        shown = self._capsys.readouterr()
        assert code == 0, f"{line}\n{shown.err}"
        target = re.search(r" > (\S+)$", text)
        if target:
            (self._folder / target[1]).write_text(shown.out, encoding="utf-8")
        return shown.out
