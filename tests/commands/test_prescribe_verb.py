"""`prescribe`: a file is put in force from the command line, or refused with nothing stored."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from bot import commands
from bot.clock import SystemClock
from bot.store import people, vault
from tests.rules.checkout import ROOT
from tests.store import prepared

ONE_DAY = dt.timedelta(days=1)


@pytest.fixture
def clinic(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The settings of a clinic with one client, C1; answers the database's URL."""
    keys, url = vault.new_master_key(), f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    for name in ("DATA_KEYS_FILE", "SECRETS_DIR", "BOT_TOKEN"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DATABASE_URL", url)
    monkeypatch.setenv("DATA_KEYS", keys)
    prepared.at_head(url)
    store = prepared.open_store(url, SystemClock().now(), keys)
    with store.begin() as tx:
        prepared.enrol(tx, SystemClock().now())
    store.close()
    return keys


def test_a_version_is_put_in_force(clinic: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def put(starts_on: dt.date, hold_s: int) -> tuple[int, Any]:
        text = (ROOT / "demo/prescriptions/K2.toml").read_text(encoding="utf-8")
        text = text.replace('client = "K2"', 'client = "C1"').replace("hold_s = 5", f"hold_s = {hold_s}")
        text = text.replace("2026-03-02", str(starts_on)).replace("2026-03-31", str(starts_on + 30 * ONE_DAY))
        file = tmp_path / "C1.toml"
        file.write_text(text, encoding="utf-8")
        return commands.run(["prescribe", str(file)]), capsys.readouterr()

    start = SystemClock().now().date() + 2 * ONE_DAY
    code, said = put(start, 5)
    assert (code, said.out) == (0, f"client C1: version 1 is in force from {start}\n")
    code, said = put(start + ONE_DAY, 8)
    assert (code, said.out.splitlines()) == (
        0,
        [
            f"client C1: version 2 is in force from {start + ONE_DAY}",
            "Deep-abdominal draw-in: hold 5 s -> 8 s",
            "Pelvic-floor long hold: hold 5 s -> 8 s",
            f"review on {start + 31 * ONE_DAY} instead of {start + 30 * ONE_DAY}",
        ],
    )
    code, said = put(start, 9)
    assert (code, said.out) == (2, "")
    assert "overlaps version 2" in said.err

    store = prepared.open_store(f"sqlite:///{tmp_path / 'programme.sqlite3'}", SystemClock().now(), clinic)
    with store.begin() as tx:
        client = people.clients_of(tx, _therapist(tx))[0]
        kept = people.prescription_documents(tx, [client.id])[client.id]
    store.close()
    assert [number for number, _ in kept] == [1, 2]


def _therapist(tx: Any) -> Any:
    found = people.staff_by_code(tx, people.clinics(tx)[0].id, "T1")
    assert found is not None
    return found.id
