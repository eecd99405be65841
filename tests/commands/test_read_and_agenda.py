"""`read` and `agenda`: JSON only, no setting, no database, whatever the locale."""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def run(*arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
    bare = {"PATH": os.environ["PATH"], "LC_ALL": "C"}
    return subprocess.run(
        [sys.executable, "-m", "bot", *arguments],
        cwd=ROOT,
        env=bare,
        input=given,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


def test_read_gives_one_object_a_line() -> None:
    done = run(
        "read", "--json", "--on", "2026-03-02", given="2 sets\nmonday 3\nsoaked a pad in an hour\n٢\nhm?\n"
    )
    assert done.returncode == 0, done.stderr
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert [row["text"] for row in rows] == ["2 sets", "monday 3", "soaked a pad in an hour", "٢", "hm?"]
    assert rows[0]["sets"] == {"meaning": "total", "value": 2, "day": "today"}
    assert rows[1]["sets"]["day"] in {"today", "2026-02-23"}
    assert (rows[2]["warning"]["level"], rows[2]["understood"]) == ("emergency", True)
    assert rows[3]["sets"]["value"] == 2
    assert (rows[4]["sets"], rows[4]["warning"], rows[4]["understood"]) == (None, None, False)


def test_agenda_says_what_would_be_sent_when() -> None:
    done = run("agenda", "demo/prescriptions/K1.toml", "--from", "2026-03-28", "--days", "2", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)["messages"]
    # The clocks go forward in Dublin on 29 March 2026: the same wall time is an hour earlier in UTC.
    firsts = {message["on"]: message["utc"] for message in told if message["ordinal"] == 1}
    assert firsts["2026-03-28"] == "2026-03-28T08:30:00+00:00"
    assert firsts["2026-03-29"] == "2026-03-29T07:30:00+00:00"


def test_a_file_that_is_not_there() -> None:
    done = run("agenda", "nowhere.toml", "--from", "2026-03-02")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "nowhere.toml: cannot be read (No such file or directory)\n"
