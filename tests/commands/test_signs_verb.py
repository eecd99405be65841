"""The verbs about the warning signs, as commands: without settings, database or network where they say so."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from bot import commands
from bot.rules import in_force, own_signs, signs
from bot.store import vault
from demo import cast
from demo.exempt import Exempt
from tests.rules.checkout import ROOT
from tests.store import prepared


def verb(folder: Path, *arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name == "PATH"}
    return subprocess.run(
        [sys.executable, "-m", "bot", *arguments],
        cwd=ROOT,
        env={**kept, "HOME": str(folder), "PYTHONIOENCODING": "utf-8", **settings},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=60,
    )


def test_signs_as_a_table_as_data_and_as_a_page(tmp_path: Path) -> None:
    done = verb(tmp_path, "signs", "--json", "--page", str(tmp_path / "signs.html"))
    assert (done.returncode, done.stderr) == (0, "")
    shown = json.loads(done.stdout)
    rules = signs.load()
    assert {row["id"] for row in shown["signs"]} == set(rules.signs)
    assert shown["digest"] == in_force.contents(own_signs.load(None)).digest
    for row in shown["signs"]:
        sign = rules.signs[row["id"]]
        assert (row["level"], row["source"]) == (sign.level.value, sign.source)
        assert row["source_was"] == ("read" if sign.source_read else "from memory")
    page = (tmp_path / "signs.html").read_text(encoding="utf-8")
    for sign in rules.signs.values():
        assert f"<code>{sign.id}</code>" in page
    assert shown["digest"] in page
    assert "Signature" in page
    assert not re.search(r"<script|<link|src=|href=", page)  # needs nothing from elsewhere
    table = verb(tmp_path, "signs").stdout.splitlines()
    assert table[0].split() == ["sign", "level", "route", "handling", "sets", "aside", "nudges", "source"]
    assert len([line for line in table if line.endswith(("(read)", "(from memory)"))]) == len(rules.signs)


def test_a_page_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    done = verb(tmp_path, "signs", "--page", str(tmp_path / "no" / "signs.html"))
    assert done.returncode == 2
    assert done.stderr.endswith("cannot be written (No such file or directory)\n")


def test_enrolment_waits_for_the_signature(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """From nothing to a client, by the command line: refused, signed, enrolled; a change shuts it again."""

    def verb(*arguments: str, own: Path | None = None) -> tuple[int, str, str]:
        """In this process: starting a new one for each would take most of a minute."""
        monkeypatch.setenv("OWN_SIGNS_FILE", "" if own is None else str(own))
        capsys.readouterr()
        status = commands.run(arguments)
        said = capsys.readouterr()
        return status, said.out, said.err

    url = f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    prepared.at_head(url)
    for name, value in {"DATABASE_URL": url, "DATA_KEYS": vault.new_master_key(), "BOT_TOKEN": ""}.items():
        monkeypatch.setenv(name, value)
    status, out, _ = verb("sign-off")
    assert status == 0
    assert "carry no sign-off" in out
    assert in_force.intended_use() in out
    status, _, err = verb("sign-off", "--digest", "0" * 64)
    assert status == 2
    assert err.startswith("--digest: ")
    who = ("--name", "Nuala Brackenfield", "--registration", "DEMO-0001", "--on", "2026-03-01")
    _, out, _ = verb("sign-off", *who)
    assert out.splitlines()[-1] == "clients may be enrolled"
    assert "signed 2026-03-01 by Nuala Brackenfield (DEMO-0001)" in out
    own = tmp_path / "own.toml"
    own.write_text('[[level]]\nsign = "doming"\nlevel = "same_day"\n', encoding="utf-8")
    _, out, _ = verb("sign-off", own=own)
    assert "have changed since the sign-off of 2026-03-01 (the clinic's own file)" in out
    clinic = [f"--{name.replace('_', '-')}={value}" for name, value in cast.CLINIC.items() if name != "code"]
    assert verb("add-clinic", "lantern-yard", *clinic)[0] == 0
    assert verb("add-therapist", "T1", "--name=N", "--registration=D1")[0] == 0
    file = str(cast.PRESCRIPTIONS / "K1.toml")
    status, _, err = verb("add-client", file, own=own)
    assert status == 2
    assert any("have changed since the sign-off" in line for line in err.splitlines())
    status, _, err = verb("add-client", file)
    assert status == 2
    assert "sign-off" not in err  # only who has not opened an invite yet


def test_the_exemption_is_the_demos_own() -> None:
    """Nothing under bot/ knows of it."""
    assert Exempt.__module__ == "demo.exempt"
    for file in (ROOT / "bot").rglob("*.py"):
        assert not re.search(
            r"\bdemo\b.*import|import.*\bdemo\b|Exempt\b", file.read_text(encoding="utf-8")
        ), file


def test_explain_says_which_words_fired_and_which_denied(tmp_path: Path) -> None:
    done = verb(tmp_path, "read", "--explain", "--json", "no fever but soaked two pads in an hour")
    explanation = json.loads(done.stdout)["explanation"]
    assert "bleed_heavy: emergency for 'soaked pads hour'" in explanation
    assert "fever: denied (negated by 'no') for 'fever'" in explanation
