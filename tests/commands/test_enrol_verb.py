"""`enrol`: a table of clients from the command line, all or nothing, with their invites."""

import re
from pathlib import Path

import pytest

from bot import commands, serve, settings
from bot.clock import SystemClock
from bot.domain.people import Role
from bot.service import approval
from bot.store import chats, people, vault
from tests.rules.checkout import ROOT
from tests.store import prepared

TABLE = str(ROOT / "docs/examples/tables/clients.csv")


@pytest.fixture
def signed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A clinic whose people are linked and whose rules, with exercises of its own, carry a sign-off."""
    keys, url = vault.new_master_key(), f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    for name in ("DATA_KEYS_FILE", "SECRETS_DIR", "BOT_TOKEN"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DATABASE_URL", url)
    monkeypatch.setenv("DATA_KEYS", keys)
    monkeypatch.setenv("OWN_EXERCISES_FILE", str(ROOT / "docs/examples/own/clinic.toml"))
    prepared.at_head(url)
    now = SystemClock().now()
    store = prepared.open_store(url, now, keys)
    with store.begin() as tx:
        clinic = prepared.clinic(now)
        people.add_clinic(tx, clinic, now)
        for number, (code, role) in enumerate((("T1", Role.THERAPIST), ("F1", Role.FALLBACK)), 1):
            person = prepared.staff(now, clinic.id, code, role)
            people.add_staff(tx, person, "REG 0001" if role is Role.THERAPIST else None, None, now)
            chats.link(tx, chats.chat_of(tx, prepared.BOT, number, now), role, person.id, now)
    known = serve.contents(settings.read(settings.DatabaseSettings))
    assert "the clinic's own exercises" in known.parts
    approval.sign(store.begin, SystemClock(), known, "Oona Quillfeather", "REG 0001", now.date())
    store.close()


@pytest.mark.usefixtures("signed")
def test_a_table_is_enrolled_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert commands.run(["enrol", TABLE]) == 0
    said = capsys.readouterr().out.splitlines()
    assert re.fullmatch(r"T1  /start \S{30,}  \d{4}  until \d{4}-\d\d-\d\d \d\d:\d\d UTC", said[0])
    assert said[1].startswith("T2  /start ")
    assert commands.run(["enrol", TABLE]) == 2
    assert capsys.readouterr().err.splitlines() == [
        f"{TABLE}: row 2: client: T1 is a client already",
        f"{TABLE}: row 3: client: T2 is a client already",
    ]


@pytest.mark.usefixtures("signed")
def test_another_file_of_exercises_needs_another_sign_off(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("OWN_EXERCISES_FILE")
    assert commands.run(["enrol", TABLE]) == 2
    assert "have changed since the sign-off of" in capsys.readouterr().err
