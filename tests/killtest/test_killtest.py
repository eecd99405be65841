"""A few kills with the whole run's assertions, and a checker that finds what it is there to find."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.fixtures import postgresql
from tests.killtest import checker
from tests.killtest.run import Plan, run

FEW = {"kills": 3, "clients": 16, "rounds": 2}
ZEROS = ("reports_lost", "reports_doubled", "alerts_lost", "advice_lost", "nudges_doubled", "faults")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("killtest")
    run(Plan(database=f"sqlite:///{folder / 'programme.sqlite3'}", workers=1, folder=folder, **FEW))
    return folder


@pytest.fixture
def copy(kept: Path, tmp_path: Path) -> Path:
    """The kept run, to be spoilt."""
    folder = tmp_path / "spoilt"
    shutil.copytree(kept, folder)
    account = json.loads((folder / "run.json").read_text())
    account["database"] = f"sqlite:///{folder / 'programme.sqlite3'}"
    (folder / "run.json").write_text(json.dumps(account))
    return folder


def spoil(folder: Path, statement: str) -> dict[str, int | str]:
    with closing(sqlite3.connect(folder / "programme.sqlite3")) as connection, connection:
        assert connection.execute(statement).rowcount == 1
    return checker.check(folder).figures


def test_three_kills_lose_nothing_and_double_nothing(kept: Path) -> None:
    found = checker.check(kept)
    assert found.faults == ()
    assert {name: found.figures[name] for name in ZEROS} == dict.fromkeys(ZEROS, 0)
    assert found.figures["kills"] == FEW["kills"]
    assert found.figures["integrity"] == "sound"
    assert int(found.figures["nudges_unknown"]) <= 10 * FEW["kills"]
    for name, least in (("reports_sent", 8), ("nudges_sent", 15), ("alerts_raised", 4)):
        assert int(found.figures[name]) >= least, name


def test_the_checker_misses_a_report(copy: Path) -> None:
    figures = spoil(copy, "DELETE FROM set_report WHERE id = (SELECT min(id) FROM set_report)")
    assert (figures["reports_lost"], figures["faults"]) == (1, 1)


def test_the_checker_sees_a_report_too_many(copy: Path) -> None:
    figures = spoil(
        copy,
        "INSERT INTO set_report (id, client_id, key, on_date, meaning, value, said_at, entered_at)"
        " SELECT 'f' || substr(id, 2), client_id, key || '1', on_date, meaning, value, said_at, entered_at"
        " FROM set_report WHERE id = (SELECT min(id) FROM set_report)",
    )
    assert (figures["reports_doubled"], figures["faults"]) == (1, 1)


def test_the_checker_misses_an_alert(copy: Path) -> None:
    with closing(sqlite3.connect(copy / "programme.sqlite3")) as connection, connection:
        connection.execute("DELETE FROM alert_event WHERE alert_id = (SELECT min(id) FROM alert)")
    figures = spoil(copy, "DELETE FROM alert WHERE id = (SELECT min(id) FROM alert)")
    assert (figures["alerts_lost"], figures["integrity"]) == (1, "sound")


def test_the_checker_sees_a_nudge_sent_twice(copy: Path) -> None:
    record = copy / "record.jsonl"
    lines = record.read_text().splitlines()
    nudge = next(line for line in lines if '"sendMessage"' in line and '"callback_data":"done:' in line)
    record.write_text("\n".join([*lines, nudge]) + "\n")
    figures = checker.check(copy).figures
    assert (figures["nudges_doubled"], figures["faults"]) == (1, 1)


def let_go(folder: Path) -> None:
    """Let the first press that was a report have been dropped by the platform after it was handed out."""
    record = folder / "record.jsonl"
    lines = record.read_text().splitlines()
    press = next(json.loads(line) for line in lines if '"update"' in line and '"data":"done:' in line)
    end = next(
        n for n, line in enumerate(lines) if f'"what":"update-end","update_id":{press["update_id"]},' in line
    )
    lines[end] = lines[end].replace('"fate":"confirmed"', '"fate":"expired"')
    record.write_text("\n".join(lines) + "\n")


def test_a_press_dropped_after_it_was_handed_out_may_be_booked_but_once(copy: Path) -> None:
    let_go(copy)
    figures = checker.check(copy).figures
    assert (figures["presses_expired"], figures["reports_doubled"], figures["faults"]) == (1, 0, 0)


@pytest.mark.slow
@pytest.mark.parametrize(("database", "workers"), [("sqlite", 1), ("postgresql", 3)])
def test_three_hundred_kills(
    tmp_path: Path, database: str, workers: int, postgresql_server: postgresql.Server
) -> None:
    url = f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    if database == "postgresql":
        url = postgresql_server.url(postgresql_server.create())
    run(Plan(300, url, workers, tmp_path))
    found = checker.check(tmp_path)
    print(json.dumps(found.figures))
    assert found.faults == ()
    assert {name: found.figures[name] for name in ZEROS} == dict.fromkeys(ZEROS, 0)
