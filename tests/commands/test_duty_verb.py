"""Naming who answers for what, on the command line."""

from collections.abc import Callable
from pathlib import Path

import pytest

from bot import commands
from bot.store import vault
from demo import cast
from tests.store import prepared

Run = Callable[..., tuple[int, list[str]]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """A verb in this process, on a clinic with a therapist and a colleague."""
    url = f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    prepared.at_head(url)
    monkeypatch.setenv("DATABASE_URL", url)
    monkeypatch.setenv("DATA_KEYS", vault.new_master_key())
    for name in ("BOT_TOKEN", "DATA_KEYS_FILE", "OWN_SIGNS_FILE", "SECRETS_DIR"):
        monkeypatch.delenv(name, raising=False)

    def verb(*arguments: str) -> tuple[int, list[str]]:
        code = commands.run(arguments)
        shown = capsys.readouterr()
        return code, (shown.out if code == 0 else shown.err).splitlines()

    clinic = [f"--{name.replace('_', '-')}={value}" for name, value in cast.CLINIC.items() if name != "code"]
    assert verb("add-clinic", "lantern-yard", *clinic)[0] == 0
    assert verb("add-therapist", "T1", "--name=Nuala", "--registration=D1")[0] == 0
    assert verb("add-colleague", "C1", "--name=Orla")[0] == 0
    return verb


def test_duties_are_named_shown_and_ended(run: Run) -> None:
    assert run("duty") == (0, ["safeguarding: nobody is named; expected a safeguarding lead"])
    assert run("duty", "safeguarding", "C1") == (0, ["safeguarding, C1 (has not opened the invite)"])
    assert run("duty", "on-call", "C1", "--hours", "mon-sun 17:00-09:00")[1][-1] == (
        "on_call, C1 (has not opened the invite)"
    )
    leave = ("--for", "T1", "--from", "2026-03-02", "--until", "2026-03-13")
    assert run("duty", "no-cover", *leave)[1][-1] == "no_cover, nobody, for T1, 2026-03-02 to 2026-03-13"
    assert run("duty", "safeguarding", "--end")[1][0] == "ended: 1"
    assert run("duty", "solo", "--recorded-by", "Nuala Brackenfield")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "faults"),
    [
        (("on-call", "C1"), ['--hours: expected the hours on call, such as "mon-sun 17:00-09:00"']),
        (("safeguarding",), ["safeguarding: expected the code of a person, such as C1"]),
        (("mood", "C1"), ["--crisis-line: expected the number of a crisis line"]),
        (
            ("cover", "X9"),
            [
                "X9: nobody in clinic lantern-yard has this code; see `programme-bot add-colleague`",
                "--from, --until: expected the first and the last day of the leave",
                "--for: expected the code of the therapist on leave",
            ],
        ),
        (("solo",), ["--recorded-by: expected the full name of who says so"]),
    ],
)
def test_what_is_missing_is_said_in_one_go(run: Run, arguments: tuple[str, ...], faults: list[str]) -> None:
    assert run("duty", *arguments) == (2, faults)


def test_a_clinic_with_a_fallback_contact_is_not_solo(run: Run) -> None:
    assert run("add-fallback", "F1", "--name=Tom")[0] == 0
    assert run("duty", "solo", "--recorded-by", "Nuala Brackenfield") == (
        2,
        ["solo: the clinic has a fallback contact; it is solo only without one"],
    )
