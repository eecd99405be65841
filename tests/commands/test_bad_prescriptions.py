"""Every kind of bad input to `prescribe`: one clear line, exit 2, nothing stored."""

from pathlib import Path

import pytest

from bot import commands
from bot.clock import SystemClock
from bot.store import vault
from bot.store.base import Store
from tests.rules.checkout import ROOT
from tests.store import prepared

EXAMPLE = (ROOT / "docs/examples/caesarean.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str, Store]:
    """A database with one client, C1: its URL, its key, its store."""
    keys = vault.new_master_key()
    url = f"sqlite:///{tmp_path_factory.mktemp('clinic') / 'programme.sqlite3'}"
    prepared.at_head(url)
    store = prepared.open_store(url, SystemClock().now(), keys)
    with store.begin() as tx:
        prepared.enrol(tx, SystemClock().now())
    return url, keys, store


def changed(before: str, after: str) -> bytes:
    assert before in EXAMPLE
    return EXAMPLE.replace(before, after).encode()


BAD = {
    "negative": (changed("repetitions = 6", "repetitions = -6"), "programme.contractions.0.repetitions: "),
    "hold of 90 s": (changed("hold_s = 6", "hold_s = 90"), "programme.contractions.0.hold_s: "),
    "40 sets": (changed("sets_a_day = 2", "sets_a_day = 40"), "programme.sets_a_day: "),
    "finding to come": (
        changed("on = 2026-03-02\ncontraction", "on = 2099-03-02\ncontraction"),
        "findings.0.on: 2099-03-02 lies in the future; expected a day up to ",
    ),
    "birth after clearance": (
        changed("on = 2025-12-27", "on = 2026-02-20"),
        "clearances.0.on: 2026-02-10 lies before the birth on 2026-02-20; expected a day since",
    ),
    "unknown exercise": (
        changed('"scar-massage"', '"scar-masage"'),
        "programme.adjuncts.1.exercise: 'scar-masage' is not an exercise we know; did you mean scar-massage?",
    ),
    "unknown zone": (changed("Europe/London", "Europe/Londn"), "zone: "),
    "nudge in quiet hours": (
        changed('"10:00", "17:00"', '"07:00", "17:00"'),
        "programme.nudge_times: 07:00 lies in the quiet hours 21:00 to 08:00; expected a time outside them",
    ),
    "more sets than times": (
        changed("sets_a_day = 2", "sets_a_day = 3"),
        "programme.nudge_times: 2 given, expected one for each of 3 sets",
    ),
    "mixed units": (
        changed('unit = "fingers"', 'unit = "mm"'),
        "findings.0.distances.0.unit: mm do not go with fingers; expected fingers, never converted",
    ),
    "empty": (b"", "empty; expected a prescription in TOML"),
    "10 MB": (b"# long\n" * 1_500_000, "more than 262144 bytes; expected a prescription in TOML"),
    "not TOML": (b"\x89PNG\r\n\x1a\n\xff", "not a text file in UTF-8; expected a prescription in TOML"),
    "a letter": (b"Dear Ms Quillfeather,\n", "not TOML ("),
    "Windows line ends beside a slip": (
        changed("hold_s = 6", "hold_s = 90").replace(b"\n", b"\r\n"),
        "programme.contractions.0.hold_s: ",
    ),
    "a byte order mark beside a slip": (
        b"\xef\xbb\xbf" + changed("hold_s = 6", "hold_s = 90"),
        "programme.contractions.0.hold_s: ",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_one_clear_line_and_nothing_stored(
    name: str,
    clinic: tuple[str, str, Store],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    url, keys, store = clinic
    for setting in ("DATA_KEYS_FILE", "SECRETS_DIR", "BOT_TOKEN", "OWN_EXERCISES_FILE"):
        monkeypatch.delenv(setting, raising=False)
    monkeypatch.setenv("DATABASE_URL", url)
    monkeypatch.setenv("DATA_KEYS", keys)
    content, expected = BAD[name]
    file = tmp_path / "C1.toml"
    file.write_bytes(content)
    assert commands.run(["prescribe", str(file)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    (line,) = said.err.splitlines()
    assert line.startswith(f"{file}: {expected}")
    if name == "unknown zone":
        assert "Europe/London" in line
    with store.begin() as tx:
        assert tx.connection.exec_driver_sql("select count(*) from prescription").scalar() == 0
