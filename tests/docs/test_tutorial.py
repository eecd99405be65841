"""The tutorial, done literally: its command in a terminal, its steps in a real browser."""

import shlex
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.docs import showing, walk
from tests.rules.checkout import ROOT


def follow(browser: Browser, command: Sequence[str], folder: Path) -> list[str]:
    """Start the demo and walk; the names of the pictures that were passed."""
    passed: list[str] = []
    with showing.demo(command, folder) as address, showing.page_of(browser, address) as page:
        walk.Walk(page, lambda name, _: passed.append(name)).walk(walk.text())
    return passed


def options() -> list[str]:
    """What follows `demo/run` in the tutorial's one command; any free port, since others may be at work."""
    (command,) = walk.commands(walk.text())
    program, *given = shlex.split(command)
    assert program == "demo/run"
    return [*given, "--port", "0"]


@pytest.mark.slow
def test_a_newcomer_with_a_fresh_copy_and_a_fresh_environment(browser: Browser, tmp_path: Path) -> None:
    """As the tutorial says, from nothing: needs the network, as a newcomer does."""
    copy = tmp_path / "programme-bot"
    subprocess.run(["git", "clone", "-q", "--no-hardlinks", str(ROOT), str(copy)], check=True)
    assert not (copy / ".venv").exists()
    passed = follow(browser, [str(copy / "demo/run"), *options()], copy)
    assert [walk.TUTORIAL.parent / name for name in passed] == walk.pictures()


def test_its_words_are_understood_and_are_all_there() -> None:
    """What the walk would do: every kind of deed, every label said by the page or the bot."""
    deeds = walk.deeds(walk.text())
    kinds = [deed.kind for deed in deeds]
    assert {kind: kinds.count(kind) for kind in ("digits", "picture")} == {"digits": 1, "picture": 5}
    assert kinds.count("press") >= 20
    assert kinds.count("see") >= 12
    assert kinds.count("write") >= 8
    page = "".join(file.read_text(encoding="utf-8") for file in (ROOT / "demo/room/page").iterdir())
    said = page + "".join(walk.sentences())
    labels = {deed.what for deed in deeds if deed.kind == "press" and len(deed.what) > 4}
    made_up = {"Nuala Brackenfield", "Put in force for K7", "· 2.5"}  # put together from values
    assert {label for label in labels if label not in said} == made_up


def test_the_pictures_are_there_and_small() -> None:
    for picture in walk.pictures():
        assert picture.read_bytes().startswith(b"\x89PNG")
        assert picture.stat().st_size < 64 * 1024


def test_a_step_that_does_not_hold_is_told_with_its_line(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(walk, "WITHIN_MS", 50)
    page.set_content("<section data-side=left class=pane><p>Noted</p><button>Done</button></section>")
    walk.Walk(page).walk("1. In the client's chat you see *Noted*.\n")
    with pytest.raises(AssertionError, match="line 3: press 'Undone'"):
        walk.Walk(page).walk("Words.\n\n1. In the client's chat you see *Noted*. Press **Undone**.\n")
    with pytest.raises(AssertionError, match="line 1: see 'Nothing'"):
        walk.Walk(page).walk("1. In the client's chat you see *Nothing*.\n")
