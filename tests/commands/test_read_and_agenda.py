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


def test_read_copes_with_any_line() -> None:
    lines = b"2\xff\n\n" + b"x" * 1_000_000 + b"\n2\n"
    done = subprocess.run(
        [sys.executable, "-m", "bot", "read", "--json"],
        cwd=ROOT,
        input=lines,
        capture_output=True,
        check=True,
    )
    rows = [json.loads(line) for line in done.stdout.decode().splitlines()]
    assert [(len(row["text"]), row["understood"]) for row in rows] == [
        (2, True),
        (0, False),
        (1_000_000, False),
        (1, True),
    ]
    assert [row["sets"] and row["sets"]["value"] for row in rows] == [None, None, None, 2]


def test_a_message_in_the_arguments_is_utf_8_whatever_the_locale() -> None:
    bare = {"PATH": os.environ["PATH"], "LC_ALL": "POSIX", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    done = subprocess.run(
        [sys.executable, "-m", "bot", "read", "--json", "\u0662".encode(), b"3 \xff"],
        cwd=ROOT,
        env=bare,
        capture_output=True,
        check=True,
    )
    rows = [json.loads(line) for line in done.stdout.decode().splitlines()]
    assert [row["text"] for row in rows] == ["\u0662", "3 \ufffd"]


def test_understood_is_what_the_conversation_does_with_it() -> None:
    given = [
        "undo",
        "heute keine, gestern 2",
        "please call me, the piano recital overran awfully",
        "yes",
        "what a day",
    ]
    rows = [json.loads(line) for line in run("read", "--json", *given).stdout.splitlines()]
    assert [row["understood"] for row in rows] == [True, False, False, True, False]
    assert rows[1]["sets"] is None  # in another language no figure is guessed at


def test_what_no_client_can_have_is_refused() -> None:
    done = run("read", "--sets", "-1", "--done", "101", "--language", "xx", "2")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines() == [
        "--sets: -1 is not between 0 and 100",
        "--done: 101 is not between 0 and 100",
        "--language: no words for 'xx', only for en",
    ]
    assert (
        run("read", "--on", "2026-13-01", "2").stderr
        == "--on: '2026-13-01' is not a date such as 2026-03-04\n"
    )


def test_agenda_says_what_would_be_sent_when() -> None:
    done = run("agenda", "demo/prescriptions/K1.toml", "--from", "2026-03-28", "--days", "2", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)["messages"]
    # The clocks go forward in Dublin on 29 March 2026: the same wall time is an hour earlier in UTC.
    firsts = {message["on"]: message["utc"] for message in told if message["ordinal"] == 1}
    assert firsts["2026-03-28"] == "2026-03-28T08:30:00+00:00"
    assert firsts["2026-03-29"] == "2026-03-29T07:30:00+00:00"


def test_agenda_of_somebody_who_never_answers_comes_down_the_ladder() -> None:
    """Two full days within her cap, one a day, one kind word, one a week, and from day 21 nothing."""
    done = run("agenda", "demo/prescriptions/K1.toml", "--from", "2026-03-02", "--days", "60", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)["messages"]
    by_day: dict[str, list[str]] = {}
    for message in told:
        by_day.setdefault(message["on"], []).append(message["what"])
        assert message["local"][:10] == message["on"]
        assert "07:30" <= message["local"][11:16] < "21:30"
    assert by_day == {
        "2026-03-02": ["nudge", "nudge", "nudge"],
        "2026-03-03": ["nudge", "nudge", "nudge"],
        "2026-03-04": ["nudge"],
        "2026-03-05": ["nudge"],
        "2026-03-06": ["kind_word"],
        "2026-03-13": ["weekly_word"],
        "2026-03-20": ["weekly_word"],
    }


def test_a_file_that_is_not_there() -> None:
    done = run("agenda", "nowhere.toml", "--from", "2026-03-02")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "nowhere.toml: cannot be read (No such file or directory)\n"
