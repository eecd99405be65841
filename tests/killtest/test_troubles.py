"""Disk full, database gone, clock jumped: once it is over nothing is lost and nothing doubled."""

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fixtures import postgresql
from tests.killtest import checker, troubles
from tests.killtest.run import Begin, Plan, run
from tests.killtest.test_killtest import ZEROS

FEW = {"kills": 0, "clients": 12, "rounds": 2}
MANY = {"kills": 0, "clients": 50, "rounds": 8}
SPOOL_AFTER_S = 60  # docs/: a minute


@pytest.fixture
def server() -> Iterator[postgresql.Server]:
    """A server of our own, to be stopped."""
    with postgresql.running() as own:
        yield own


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 24 MiB; skipped where we may not mount one."""
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=24m", "tmpfs", str(folder)]
    if subprocess.run(mount, check=False, capture_output=True).returncode != 0:
        pytest.skip("mounting a small file system is not allowed here")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def lived_through(
    folder: Path, url: str, workers: int, trouble: Begin, size: dict[str, int]
) -> checker.Found:
    run(Plan(database=url, workers=workers, folder=folder, **size), trouble)
    found = checker.check(folder)
    print(json.dumps(found.figures), file=sys.stderr)
    assert found.faults == ()
    assert {name: found.figures[name] for name in ZEROS} == dict.fromkeys(ZEROS, 0)
    assert found.figures["integrity"] == "sound"
    assert found.figures["presses_left"] == 0  # but for those whose warning stopped all questions
    for name in ("reports_sent", "nudges_sent", "alerts_raised"):
        assert int(found.figures[name]) > 0, name
    return found


def refused_then_spooled(told: troubles.Told, seconds: float) -> None:
    refused = [one for one in told.answers if one[1] != 200]
    assert refused
    assert {(status, again) for _, status, again in refused} == {(503, "3")}
    if seconds < SPOOL_AFTER_S:
        assert told.spooled == 0
    else:
        assert told.answers[-1][1] == 200
        assert told.spooled > 0


def test_no_file_can_be_written_for_some_seconds_and_the_clock_jumps_both_ways(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    both = troubles.in_turn(troubles.no_file_grows(4), troubles.clock_jumps(2))
    lived_through(tmp_path, url, 1, both, FEW)


def test_the_database_is_gone_for_some_seconds(tmp_path: Path, server: postgresql.Server) -> None:
    told = troubles.Told()
    url = server.url(server.create())
    # Time goes on for everybody else, and the platform lets go of what was pressed meanwhile.
    size = {**FEW, "rounds": 4, "quiet_within_s": 3}
    lived_through(tmp_path, url, 2, troubles.database_gone(6, server, told), size)
    refused_then_spooled(told, 6)


@pytest.mark.slow
def test_the_disk_is_full_for_half_a_minute(tmp_path: Path, small_disk: Path) -> None:
    url = f"sqlite:///{small_disk / 'programme.sqlite3'}"
    lived_through(tmp_path, url, 1, troubles.full_disk(30, small_disk), MANY)


@pytest.mark.slow
def test_the_database_is_gone_for_more_than_a_minute(tmp_path: Path, server: postgresql.Server) -> None:
    told = troubles.Told()
    url = server.url(server.create())
    found = lived_through(tmp_path, url, 3, troubles.database_gone(90, server, told), MANY)
    refused_then_spooled(told, 90)
    assert int(found.figures["presses_asked_again"]) > 0


@pytest.mark.slow
@pytest.mark.parametrize(("database", "workers"), [("sqlite", 1), ("postgresql", 3)])
def test_the_clock_jumps_while_many_people_act(
    tmp_path: Path, database: str, workers: int, postgresql_server: postgresql.Server
) -> None:
    url = f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    if database == "postgresql":
        url = postgresql_server.url(postgresql_server.create())
    lived_through(tmp_path, url, workers, troubles.clock_jumps(8), MANY)
