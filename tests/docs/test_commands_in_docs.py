"""Every command the pages show: run in one clinic from set-up to erasure, or at least one that there is."""

import datetime as dt
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from bot import commands, settings
from bot.clock import SystemClock
from bot.domain.people import Role
from bot.serve import open_store
from bot.service import erasures
from bot.store import chats, people
from tests.docs import terminal
from tests.docs.terminal import Line, Terminal
from tests.rules.checkout import ROOT
from tests.store.prepared import BOT

# In the order of a clinic's life; what a page leaves behind is what the next one finds.
STORY = (
    "set-up-a-clinic",
    "enrol",
    "change-a-prescription",
    "read-the-digest",
    "cover-a-holiday",
    "back-up-and-restore",
    "rotate-keys",
    "answer-an-erasure",
    "move-to-postgresql",
    "run-as-a-service",
)
PAGES = [ROOT / f"docs/how-to/{name}.md" for name in STORY]
WRITTEN_ON = dt.date(2026, 3, 2)  # the day of the demo's prescriptions
OTHERS = frozenset(
    {
        "bash", "cat", "chmod", "cp", "curl", "docker", "install", "journalctl", "mkdir", "mv", "openssl",
        "python3", "sudo", "systemctl", "bot-venv/bin/pip", "demo/run", "tests/run",
    }
)  # fmt: skip


def moved(text: str, days: int) -> str:
    """A file with every date so many days later."""

    def later(match: re.Match[str]) -> str:
        return str(dt.date.fromisoformat(match[0]) + dt.timedelta(days=days))

    return re.sub(r"\b20\d\d-\d\d-\d\d\b", later, text)


def by_hand(folder: Path) -> dict[str, Callable[[], None]]:
    """What people do between the commands."""
    ago = (SystemClock().now().date() - WRITTEN_ON).days

    def link() -> None:
        store = open_store(settings.read(settings.DatabaseSettings), SystemClock())
        now = SystemClock().now()
        with store.begin() as tx:
            clinic = people.clinic_by_code(tx, "harbour")
            assert clinic is not None
            for number, (code, role) in enumerate((("T1", Role.THERAPIST), ("F1", Role.FALLBACK)), start=7):
                staff = people.staff_by_code(tx, clinic.id, code)
                assert staff is not None
                chats.link(tx, chats.chat_of(tx, BOT, number, now), role, staff.id, now)
        store.close()

    def write() -> None:
        first = (ROOT / "demo/prescriptions/K4.toml").read_text(encoding="utf-8")
        (folder / "K4.toml").write_text(moved(first, ago), encoding="utf-8")
        (folder / "K4-next.toml").write_text(moved(first, ago + 1), encoding="utf-8")
        table = (ROOT / "docs/examples/tables/clients.csv").read_text(encoding="utf-8")
        (folder / "clients.csv").write_text(moved(table, ago), encoding="utf-8")

    def serve() -> None:
        erasures.prepare(folder / "secret/erasures.txt")

    return {
        "T1 and F1 open their invites": link,
        "K4.toml and clients.csv are written": write,
        "the service has run": serve,
    }


def test_the_how_tos_are_followed_from_set_up_to_erasure(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for name in (*settings.EXPECTED, "SECRETS_DIR"):
        monkeypatch.delenv(name, raising=False)
    # The chat platform is asked for the bot's name; nobody answers here.
    monkeypatch.setenv("BOT_API_URL", "http://127.0.0.1:9")
    shell = Terminal(tmp_path, monkeypatch, capsys, by_hand(tmp_path))
    done = [shell.run(line) for page in PAGES for line in terminal.lines(page) if line.why is None]
    assert len(done) > 40
    assert (tmp_path / "digest.pdf").read_bytes().startswith(b"%PDF")


def test_a_clinic_moves_to_postgresql_as_the_how_to_says(
    postgresql_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """All its commands but those that need the platform, on a real server."""
    for name in (*settings.EXPECTED, "SECRETS_DIR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("BOT_API_URL", "http://127.0.0.1:9")
    shell = Terminal(tmp_path, monkeypatch, capsys, by_hand(tmp_path))
    for line in terminal.lines(PAGES[0]):
        if line.why is None and " sign" not in line.text:  # nobody is enrolled here
            shell.run(line)
    people_before = shell.run(Line("here", 1, "programme-bot people"))
    moving = list(terminal.lines(ROOT / "docs/how-to/move-to-postgresql.md"))
    assert [line.text for line in moving[-2:]] == ["programme-bot selfcheck", "programme-bot serve"]
    for line in moving[:-2]:
        shell.run(line)
        if line.text.startswith("export DATABASE_URL="):
            monkeypatch.setenv("DATABASE_URL", postgresql_url)
    assert shell.run(Line("here", 1, "programme-bot people")) == people_before
    assert "harbour" in shell.run(Line("here", 1, "programme-bot retention"))


def all_lines() -> list[Line]:
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
    return [line for page in pages for line in terminal.lines(page) if not line.by_hand]


parser = cache(commands.make_parser)


def unknown(line: Line) -> str | None:
    """What is wrong with a line that cannot be run here; None when every verb and option exists."""
    arguments = terminal.verb_of(line.text)
    if arguments is None:
        program = line.text.split()[0]
        known = program in OTHERS or program.startswith("export") or program.endswith("bin/programme-bot")
        return None if known else f"{line}: an unknown program"
    try:
        parser().parse_args(arguments)
    except SystemExit:
        return f"{line}: not one of our commands"
    return None


def test_every_command_shown_exists() -> None:
    assert [fault for line in all_lines() if (fault := unknown(line))] == []


def test_a_command_that_is_not_there_is_noticed(capsys: pytest.CaptureFixture[str]) -> None:
    assert unknown(Line("x.md", 1, "programme-bot back-up week.zip"))
    assert unknown(Line("x.md", 1, "programme-bot digest --weekly"))
    assert unknown(Line("x.md", 1, "programm-bot serve"))
    assert unknown(Line("x.md", 1, "programme-bot digest --json > week.json")) is None
    capsys.readouterr()


def test_what_is_not_run_says_why() -> None:
    skipped = {line.page for line in all_lines() if line.why is not None}
    assert skipped <= {"set-up-a-clinic.md", "move-to-postgresql.md", "run-as-a-service.md"}
