"""Settings: every fault in one go, one plain line each that names the setting and never shows a value."""

import os
import re
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from bot.errors import SettingsError
from bot.settings import EXPECTED, DatabaseSettings, LinkSettings, ServeSettings, read
from bot.store import base, vault

CHECKOUT = Path(__file__).resolve().parents[1]
TOKEN = "4200001:local-room-only"  # noqa: S105 - opens nothing
KEY = "0123abcd:" + "A" * 43 + "="
SECRET = "a-long-made-up-secret_1"  # noqa: S105 - made up
CANARY = "kanarienvogel"  # what must never be shown
GOOD = {"BOT_TOKEN": TOKEN, "DATA_KEYS": KEY}

Given = Callable[..., None]


@pytest.fixture
def given(monkeypatch: pytest.MonkeyPatch) -> Given:
    """Sets the environment to exactly these settings."""

    def give(settings: Mapping[str, str] | None = None, **more: str) -> None:
        for name in (*EXPECTED, "SECRETS_DIR", *(name.lower() for name in EXPECTED)):
            monkeypatch.delenv(name, raising=False)
        for name, value in {**(settings or {}), **more}.items():
            monkeypatch.setenv(name, value)

    return give


def faults(kind: type[DatabaseSettings] = ServeSettings) -> tuple[str, ...]:
    """The lines that reading ends in."""
    with pytest.raises(SettingsError) as caught:
        read(kind)
    return caught.value.faults


def test_what_has_a_default(given: Given, monkeypatch: pytest.MonkeyPatch) -> None:
    given(GOOD)
    monkeypatch.setenv("XDG_DATA_HOME", "/data")
    known = read(ServeSettings)
    assert known.bot_token.get_secret_value() == TOKEN
    assert known.database_url.get_secret_value() == "sqlite:////data/programme-bot/programme.sqlite3"
    assert str(known.bot_api_url) == "https://api.telegram.org/"
    assert (known.send_rate, known.log_level, known.listen_at) == (30.0, "info", ("127.0.0.1", 8080))
    assert known.webhook_url is None
    assert "listen" not in known.model_fields_set


def test_everything_given(given: Given) -> None:
    given(
        GOOD,
        BOT_API_URL="http://127.0.0.1:8081",
        DATABASE_URL="postgres://bot:pass@db/programme",
        LISTEN="[::1]:9000",
        LOG_LEVEL="DEBUG",
        SEND_RATE=" 12.5 ",
        WEBHOOK_SECRET=SECRET,
        WEBHOOK_URL="https://bot.example.org/updates",
    )
    known = read(ServeSettings)
    assert known.database_url.get_secret_value() == "postgres://bot:pass@db/programme"
    assert known.webhook_secret is not None
    assert known.webhook_secret.get_secret_value() == SECRET
    assert (known.send_rate, known.log_level, known.listen_at) == (12.5, "debug", ("::1", 9000))


@pytest.mark.parametrize(
    "url",
    [
        "sqlite:///programme.sqlite3",
        "sqlite:////var/lib/programme bot/p.sqlite3",
        "postgres://bot:p%40ss@db/programme",
        "postgresql://bot@db:5433/programme?sslmode=require",
        "postgresql+psycopg://db/programme",
    ],
)
def test_addresses_of_both_engines(given: Given, url: str) -> None:
    given(GOOD, DATABASE_URL=url)
    opened = base.read_url(read(DatabaseSettings).database_url.get_secret_value())
    assert opened.drivername in {"sqlite", "postgresql+psycopg"}


def test_a_fresh_key_is_of_the_expected_shape(given: Given) -> None:
    keys = [vault.new_master_key() for _ in range(20)]
    given(BOT_TOKEN=TOKEN, DATA_KEYS=", ".join(keys))
    assert len(vault.parse_master_keys(read(ServeSettings).keys_text())) == 20


MALFORMED = {
    "BOT_TOKEN": ["x", "4200001", "4200001:short", "token:abcdefghijklmn", "4200001:abc defghijkl"],
    "BOT_API_URL": ["api.telegram.org", "x", "://", "ftp://127.0.0.1"],
    "DATABASE_URL": ["mysql://db/x", "programme.sqlite3", "sqlite://", "postgresql:/db"],
    "DATA_KEYS": [
        "x",
        "0123abcd:short",
        KEY[:-1],
        f"{KEY}, x",
        ":" + "A" * 43 + "=",
        "schlüssel:" + "A" * 43 + "=",
    ],
    "LISTEN": ["8080", ":8080", "127.0.0.1:", "127.0.0.1:0", "127.0.0.1:65536", "::1:80", "127.0.0.1:٨٠"],
    "LOG_LEVEL": ["loud", "10"],
    "OWN_EXERCISES_FILE": ["/no/such/file"],
    "OWN_SIGNS_FILE": ["/no/such/file"],
    "SEND_RATE": ["many", "0", "-1", "1001", "nan", "inf"],
    "WEBHOOK_SECRET": ["short", "with a space inside", "x" * 257, "umläute-umläute-umläute"],
    "WEBHOOK_URL": ["bot.example.org/updates", "x"],
}


@pytest.mark.parametrize(
    ("name", "value"), [(name, value) for name in MALFORMED for value in MALFORMED[name]]
)
def test_a_malformed_setting_gives_one_line(given: Given, name: str, value: str) -> None:
    whole = GOOD | {"WEBHOOK_URL": "https://bot.example.org/updates", "WEBHOOK_SECRET": SECRET}
    given(whole | {name: value})
    assert faults() == (f"{name}: malformed; expected {EXPECTED[name]}",)


def test_all_faults_come_in_one_go(given: Given) -> None:
    given({name: values[0] for name, values in MALFORMED.items()})
    assert sorted(faults()) == sorted(f"{name}: malformed; expected {EXPECTED[name]}" for name in MALFORMED)


def test_all_that_is_missing_comes_in_one_go(given: Given) -> None:
    given(WEBHOOK_URL="https://bot.example.org/updates")
    assert faults() == (
        "DATA_KEYS: missing; give it or DATA_KEYS_FILE, make a key with `programme-bot new-key`",
        "BOT_TOKEN: missing; expected a bot token, NUMBER:LETTERS as the platform gave it",
        "WEBHOOK_SECRET: missing; expected 16 to 256 letters, digits, _ or -, beside WEBHOOK_URL",
    )
    given(WEBHOOK_URL="x", SEND_RATE="x")
    assert [line.partition(":")[0] for line in faults()] == [
        "DATA_KEYS", "BOT_TOKEN", "SEND_RATE", "WEBHOOK_URL", "WEBHOOK_SECRET",
    ]  # fmt: skip


def test_an_empty_value_is_a_missing_one(given: Given) -> None:
    """A compose file passes on what is not set as empty."""
    given(dict.fromkeys(EXPECTED, ""))
    assert [line.partition(";")[0] for line in faults()] == ["DATA_KEYS: missing", "BOT_TOKEN: missing"]
    given(GOOD | {name: "" for name in EXPECTED if name not in GOOD})
    assert read(ServeSettings).listen_at == ("127.0.0.1", 8080)


def test_only_what_a_verb_needs_is_asked_for(given: Given) -> None:
    given(DATA_KEYS=KEY)
    assert read(DatabaseSettings).keys_text() == KEY
    assert read(LinkSettings).bot_token is None


# --- keys in a file ---


def test_keys_from_a_file(given: Given, tmp_path: Path) -> None:
    file = tmp_path / "keys"
    file.write_text(f"{KEY}\n{KEY}\n", encoding="utf-8")
    given(BOT_TOKEN=TOKEN, DATA_KEYS_FILE=str(file))
    known = read(ServeSettings)
    assert known.keys_text().split() == [KEY, KEY]
    file.unlink()
    with pytest.raises(SettingsError, match=r"^DATA_KEYS_FILE: the file cannot be read \(No such file"):
        known.keys_text()


def test_keys_given_twice(given: Given, tmp_path: Path) -> None:
    given(GOOD, DATA_KEYS_FILE=str(tmp_path / "keys"))
    assert faults() == ("DATA_KEYS: given twice; expected DATA_KEYS or DATA_KEYS_FILE, not both",)


def test_a_key_file_that_is_none(given: Given, tmp_path: Path) -> None:
    def fault(path: Path) -> str:
        given(BOT_TOKEN=TOKEN, DATA_KEYS_FILE=str(path))
        (line,) = faults()
        return line

    file = tmp_path / CANARY
    assert fault(file) == "DATA_KEYS_FILE: the file cannot be read (No such file or directory)"
    assert fault(tmp_path) == "DATA_KEYS_FILE: the file cannot be read (Is a directory)"
    file.write_bytes(b"\xff\xfe\x00")
    assert fault(file) == "DATA_KEYS_FILE: not a text file"
    for text in ("", CANARY):
        file.write_text(text, encoding="utf-8")
        assert fault(file) == f"DATA_KEYS_FILE: malformed; expected {EXPECTED['DATA_KEYS_FILE']}"


# --- a folder of secrets ---


def test_settings_come_from_a_folder_and_the_environment_goes_first(given: Given, tmp_path: Path) -> None:
    for name, value in {
        "BOT_TOKEN": TOKEN + "\n",
        "data_keys": KEY,
        "send_rate": "5",
        "listen": "h:1",
    }.items():
        (tmp_path / name).write_text(value, encoding="utf-8")
    given(SECRETS_DIR=str(tmp_path), SEND_RATE="7")
    known = read(ServeSettings)
    assert known.bot_token.get_secret_value() == TOKEN
    assert known.keys_text() == KEY
    assert (known.send_rate, known.listen_at) == (7.0, ("h", 1))
    assert "listen" in known.model_fields_set


def test_a_folder_as_a_cluster_mounts_it(given: Given, tmp_path: Path) -> None:
    """The files are links into a hidden folder beside them."""
    hidden = tmp_path / "..2026_03_02"
    hidden.mkdir()
    for name, value in GOOD.items():
        (hidden / name).write_text(value, encoding="utf-8")
        (tmp_path / name).symlink_to(Path(hidden.name) / name)
    given(SECRETS_DIR=str(tmp_path))
    assert read(ServeSettings).keys_text() == KEY


def test_faults_in_a_folder_are_named_the_same(given: Given, tmp_path: Path) -> None:
    (tmp_path / "bot_token").write_text(CANARY, encoding="utf-8")
    (tmp_path / "data_keys").write_text("", encoding="utf-8")
    given(SECRETS_DIR=str(tmp_path))
    assert [line.partition(";")[0] for line in faults()] == ["DATA_KEYS: missing", "BOT_TOKEN: malformed"]


def test_a_folder_that_is_none(given: Given, tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.touch()
    for folder in (tmp_path / "nowhere", file):
        given(GOOD, SECRETS_DIR=str(folder))
        assert faults() == ("SECRETS_DIR: not a folder; expected one with a file for each setting",)


def test_a_file_in_the_folder_that_cannot_be_read(given: Given, tmp_path: Path) -> None:
    unreadable = ("SECRETS_DIR: a file in it cannot be read; expected text files",)
    given(SECRETS_DIR=str(tmp_path))
    (tmp_path / "bot_token").mkdir()
    assert faults() == unreadable
    (tmp_path / "bot_token").rmdir()
    (tmp_path / "bot_token").write_bytes(b"\xff\xfe\x00")
    assert faults() == unreadable


# --- what is shown ---


def test_no_value_is_ever_shown(given: Given, tmp_path: Path) -> None:
    shown: list[str] = []
    for name in EXPECTED:
        given(GOOD | {name: f"{CANARY} {CANARY}"})
        shown += faults()
    given(GOOD, SECRETS_DIR=str(tmp_path / CANARY))
    shown += faults()
    assert len(shown) >= len(EXPECTED)
    assert CANARY not in "\n".join(shown)


def test_settings_hide_their_secrets_when_printed(given: Given) -> None:
    given(
        BOT_TOKEN=f"4200001:{CANARY}",
        DATA_KEYS=f"{CANARY[:8]}:" + "A" * 43 + "=",
        DATABASE_URL=f"postgresql://bot:{CANARY}@db/x",
        WEBHOOK_SECRET=f"{CANARY}-{CANARY}",
    )
    assert CANARY[:8] not in repr(read(ServeSettings)) + str(read(ServeSettings))


def test_every_line_is_short_and_plain(given: Given) -> None:
    lines = [f"{name}: malformed; expected {expected}" for name, expected in EXPECTED.items()]
    given(WEBHOOK_URL="https://bot.example.org")
    for line in (*lines, *faults()):
        assert len(line) <= 110
        assert re.match(r"[A-Z_]+: [a-z].*[^.]$", line)
        for jargon in ("Input", "Value error", "validation", "pydantic", "Literal", "string", "type="):
            assert jargon not in line


# --- as a command ---


def serve(folder: Path, **settings: str) -> subprocess.CompletedProcess[str]:
    """`python -m bot serve` with these settings alone."""
    kept = {name: value for name, value in os.environ.items() if name in {"PATH", "LANG"}}
    return subprocess.run(
        [sys.executable, "-m", "bot", "serve"],
        cwd=CHECKOUT,
        env={**kept, "HOME": str(folder), **settings},
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )


def test_a_start_that_is_refused_ends_with_2_and_lines_only(tmp_path: Path) -> None:
    done = serve(tmp_path, BOT_TOKEN=CANARY, SEND_RATE=CANARY)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines() == [
        "DATA_KEYS: missing; give it or DATA_KEYS_FILE, make a key with `programme-bot new-key`",
        f"BOT_TOKEN: malformed; expected {EXPECTED['BOT_TOKEN']}",
        f"SEND_RATE: malformed; expected {EXPECTED['SEND_RATE']}",
    ]


def test_a_database_file_that_cannot_be_had_is_one_line_too(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    done = serve(tmp_path, **GOOD, DATABASE_URL=f"sqlite:///{tmp_path}/file/below/it.sqlite3")
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert re.match(r"DATABASE_URL: the file cannot be used \(.+\)$", line)
