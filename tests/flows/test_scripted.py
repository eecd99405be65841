"""The scripted run: its figures, its files, and a checker that notices what is amiss."""

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from demo import checker, lives
from demo.room_client import CHECKOUT

ALL_COUNTED = {
    "nudges_sent",
    "set_reports",
    "symptom_reports",
    "alerts",
    "alerts_seen",
    "digests",
    "messages_unread",
}
SHORT = (
    "import sys; from pathlib import Path; from demo import scripted; "
    "sys.exit(scripted.run(int(sys.argv[1]), Path(sys.argv[2]), as_json=True, weeks=1))"
)


@dataclass(frozen=True)
class Made:
    """A run that has ended: its folder, exit code, and what it wrote."""

    folder: Path
    code: int
    out: str
    err: str

    @property
    def figures(self) -> dict[str, int]:
        """The JSON object on the last line."""
        found: dict[str, int] = json.loads(self.out.splitlines()[-1])
        return found


def start(folder: Path, command: list[str]) -> Callable[[], Made]:
    """Begin a run; what comes back waits for its end."""
    process = subprocess.Popen(
        [sys.executable, *command], cwd=CHECKOUT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )

    def wait() -> Made:
        out, err = process.communicate()
        return Made(folder, process.returncode, out, err)

    return wait


def one_week(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("week") / "kept"
    return start(folder, ["-c", SHORT, "3", str(folder)])()


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """One week of the six."""
    return one_week(tmp_path_factory)


def test_a_week_goes_well_and_counts_everything(week: Made) -> None:
    assert (week.code, week.figures["errors"]) == (0, 0), week.err
    assert {name for name in ALL_COUNTED if week.figures[name] > 0} == ALL_COUNTED


def test_the_checker_finds_the_same_figures_in_what_was_kept(week: Made) -> None:
    found = checker.check(week.folder)
    assert found.faults == ()
    assert found.figures == week.figures


@pytest.mark.slow
def test_the_same_seed_gives_the_same_figures(week: Made, tmp_path_factory: pytest.TempPathFactory) -> None:
    again = one_week(tmp_path_factory)
    assert again.figures == week.figures
    accounts = [json.loads((made.folder / checker.ACCOUNT).read_text()) for made in (week, again)]
    assert accounts[0] == accounts[1]


def test_the_last_digest_lies_where_the_run_says(week: Made) -> None:
    assert str(week.folder) in week.out.splitlines()[-2]
    assert "6 clients" in (week.folder / "digest.txt").read_text(encoding="utf-8")
    with Image.open(week.folder / "digest.png") as picture:
        picture.load()
        assert picture.width >= 600


def told_first(made: Made) -> list[str]:
    """The clients of the last digest, from its text alone, in the order of its lines."""
    lines = (made.folder / "digest.txt").read_text(encoding="utf-8").splitlines()
    return [line.partition(":")[0] for line in lines if re.match(r"K\d: ", line)]


def test_the_digest_begins_with_those_who_need_her(week: Made) -> None:
    """The one with the bad night, and the one whose own words wait; nobody else had such a week."""
    assert sorted(told_first(week)[:2]) == ["K5", "K6"]


def test_a_line_for_each_day_goes_to_standard_error(week: Made) -> None:
    assert sum(line.startswith("day ") for line in week.err.splitlines()) == lives.WEEK


def test_a_folder_with_a_run_in_it_is_left_alone(week: Made) -> None:
    before = (week.folder / "record.jsonl").read_bytes()
    again = start(week.folder, ["-m", "demo", "--scripted", "--keep", str(week.folder)])()
    assert again.code == 2
    assert "kept there already" in again.err
    assert (week.folder / "record.jsonl").read_bytes() == before


def test_the_checker_as_a_command(week: Made, tmp_path: Path) -> None:
    good = start(week.folder, ["-m", "demo.checker", str(week.folder), "--json"])()
    assert (good.code, good.figures) == (0, week.figures)
    missing = start(tmp_path, ["-m", "demo.checker", str(tmp_path)])()
    assert missing.code == 2
    assert "cannot be checked" in missing.err


@pytest.fixture
def copy(week: Made, tmp_path: Path) -> Iterator[Path]:
    """What a run left, to be tampered with."""
    folder = tmp_path / "copy"
    shutil.copytree(week.folder, folder)
    yield folder
    shutil.rmtree(folder)


TAMPERED = [
    ("delete from set_report where key = (select key from set_report where key like 'done:%')", "*Done*"),
    ("update set_report set value = value + 1 where key like '%.p%' and value > 0", "was tapped"),
    ("update set_report set value = value + 1 where meaning = 'added'", "meant and booked"),
    ("delete from symptom_report where key like '%:%'", "weekly questions"),
    ("update inbox set state = 'set_aside' where id = (select min(id) from inbox)", "set_aside"),
    (
        "update outbox set state = 'unknown' where id = (select max(id) from outbox where kind = 'nudge')",
        "unknown",
    ),
    ("delete from outbox where key like 're:%'", "got no answer"),
    ("update alert set seen_at = null", "marked and seen do not agree"),
    ("delete from alert_event where kind = 'told'", "tellings"),
    ("delete from unread_note", "unread, meant and kept"),
    ("delete from outbox where key like 'digest:%:picture'", "digest pictures"),
]


@pytest.mark.parametrize(("statement", "complaint"), TAMPERED, ids=[said for _, said in TAMPERED])
def test_the_checker_notices_a_changed_row(copy: Path, statement: str, complaint: str) -> None:
    with sqlite3.connect(copy / "programme.sqlite3") as database:
        database.execute(statement)
    database.close()
    found = checker.check(copy)
    assert any(complaint in fault for fault in found.faults), found.faults
    assert found.figures["errors"] == len(found.faults)


def test_the_checker_notices_a_nudge_that_went_out_twice(copy: Path) -> None:
    def is_nudge(line: dict[str, Any]) -> bool:
        return line["what"] == "call" and '"done:' in json.dumps(line["buttons"])

    lines = (copy / "record.jsonl").read_text(encoding="utf-8").splitlines()
    nudge = next(line for line in lines if is_nudge(json.loads(line)))
    (copy / "record.jsonl").write_text("\n".join([nudge, *lines]), encoding="utf-8")
    assert any("nudged 2 times" in fault for fault in checker.check(copy).faults)


def test_the_checker_notices_a_refused_call(copy: Path) -> None:
    lines = [json.loads(line) for line in (copy / "record.jsonl").read_text(encoding="utf-8").splitlines()]
    call = next(line for line in lines if line.get("method") == "sendMessage")
    call |= {"answer": 403, "description": "Forbidden", "taken": False}
    (copy / "record.jsonl").write_text("\n".join(map(json.dumps, lines)), encoding="utf-8")
    faults = checker.check(copy).faults
    assert any("sendMessage was answered 403" in fault for fault in faults)
    assert any(fault.startswith("calls taken and outbox rows sent") for fault in faults)


def test_a_plan_is_the_same_for_a_seed_and_another_for_another() -> None:
    for life in lives.LIVES:
        first = lives.plan(life, 1, 28)
        assert first == lives.plan(life, 1, 28)
        assert first != lives.plan(life, 2, 28)


@pytest.mark.slow
def test_four_weeks(tmp_path: Path) -> None:
    """The whole run by its own options: four digests, within the time it promises on two cores."""
    kept = tmp_path / "kept"
    made = start(kept, ["-m", "demo", "--scripted", "--json", "--keep", str(kept)])()
    assert (made.code, made.figures["errors"]) == (0, 0), made.err
    assert made.figures["digests"] == 4
    first = told_first(made)  # who gets worse with an alert open, then among others whose words wait
    assert first[0] == "K4"
    assert "K6" in first[:3]
    assert "K1" not in first  # nothing is asked of the therapist about the one who goes on steadily
    assert {name for name in ALL_COUNTED if made.figures[name] > 0} == ALL_COUNTED
    assert checker.check(kept).figures == made.figures
    # From the text alone: an open alert and rising leaks, a question nobody has answered, and the one who was
    # silent for eleven days stand first; the steady one is ready for her next step.
    text = (kept / "digest.txt").read_text(encoding="utf-8")
    codes = re.findall(r"(?m)^(K\d): ", text)
    assert codes[:3] == ["K4", "K6", "K3"]
    assert "K1: consider progressing" in text
