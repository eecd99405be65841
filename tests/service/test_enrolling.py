"""Clients are enrolled from files and tables, whole or not at all; what a file says of one is taken over."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.errors import RefusedError
from bot.rules import rulebook
from bot.service import prescribing, setup
from bot.store import diary
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms
from tests.rules.checkout import ROOT
from tests.store import prepared

EXAMPLES = ROOT / "docs/examples"
TABLE = (EXAMPLES / "tables/clients.csv").read_text(encoding="utf-8")
PLAN = (EXAMPLES / "caesarean.toml").read_text(encoding="utf-8").replace("2026-03-03", "2026-03-02")


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic on a Monday morning."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield Rooms(store, clock)
    store.close()


def enrol(rooms: Rooms, path: Path) -> list[tuple[str, setup.NewInvite]]:
    return setup.add_clients(rooms.store.begin, rooms.clock, rooms.office.approval, None, None, path)


def test_a_table_enrols_everybody_in_it(rooms: Rooms) -> None:
    made = enrol(rooms, EXAMPLES / "tables/clients.csv")
    assert [code for code, _ in made] == ["T1", "T2"]
    assert all(len(invite.code) > 20 and invite.digits and len(invite.digits) == 4 for _, invite in made)
    assert rooms.rows("select code, version from client join prescription on client_id = client.id") == [
        ("T1", 1),
        ("T2", 1),
    ]


def test_every_fault_of_every_row_and_nothing_of_any(rooms: Rooms, tmp_path: Path) -> None:
    """Slips of the table, a code that is taken, a finding that is to come: all told in one go."""
    enrol(rooms, EXAMPLES / "tables/clients.csv")
    head, first, second = TABLE.splitlines()
    path = tmp_path / "more.csv"
    rows = [
        head,
        first.replace("T1,", "T5,", 1),
        first,
        second.replace("T2,Europe/London", "T6,Mars/London"),
        first.replace("T1,", "T7,", 1).replace("2026-03-02", "2026-03-04"),
        first.replace("T1,", "T8,", 1).replace(",6,5,8,lying", ",6,90,8,lying"),
    ]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    with pytest.raises(RefusedError) as refused:
        enrol(rooms, path)
    told = [line.removeprefix(f"{path}: ") for line in refused.value.faults]
    assert told[0] == "row 3: client: T1 is a client already"
    assert told[1].startswith("row 4: zone: ")
    assert told[2] == "row 5: found_on: 2026-03-04 lies in the future; expected a day up to 2026-03-02"
    assert told[3].startswith("row 6: hold_s_1: ")
    assert len(told) == 4
    assert rooms.rows("select count(*) from client") == [(2,)]


def test_a_late_refusal_takes_every_row_back(rooms: Rooms) -> None:
    """Two rows in their order are fine by themselves; who may not sign refuses all of them."""
    with rooms.store.begin() as tx:
        tx.connection.exec_driver_sql("update staff set registration = null")
    with pytest.raises(RefusedError) as refused:
        enrol(rooms, EXAMPLES / "tables/clients.csv")
    assert [line.partition("clients.csv: ")[2][:6] for line in refused.value.faults] == ["row 2:", "row 3:"]
    assert rooms.rows("select count(*) from client") == [(0,)]


def test_a_finding_to_come_is_refused_for_a_single_client_too(rooms: Rooms, tmp_path: Path) -> None:
    file = tmp_path / "C1.toml"
    file.write_text(
        PLAN.replace("on = 2026-03-02\ncontraction", "on = 2026-03-03\ncontraction"), encoding="utf-8"
    )
    with pytest.raises(RefusedError, match=r"findings\.0\.on: 2026-03-03 lies in the future"):
        setup.add_client(rooms.store.begin, rooms.clock, rooms.office.approval, None, None, file)
    assert rooms.rows("select count(*) from client") == [(0,)]


def test_what_a_file_says_of_her_is_taken_over_where_it_is_new(rooms: Rooms, tmp_path: Path) -> None:
    """Zone, baby and cap of a new version hold; what it says as ever leaves her own choice alone."""
    rooms.enrol("C1", PLAN)
    client = rooms.client("C1")
    with rooms.store.begin() as tx:
        diary.change_track(tx, client.id, cap=1)
    file = tmp_path / "C1.toml"

    def prescribe(text: str, starts_on: str) -> None:
        file.write_text(text.replace("starts_on = 2026-03-02", f"starts_on = {starts_on}"), encoding="utf-8")
        prescribing.prescribe(rooms.store.begin, rooms.clock, None, None, file)

    prescribe(PLAN, "2026-03-04")
    assert rooms.rows("select cap from track") == [(1,)]
    new = PLAN.replace("Europe/London", "Europe/Madrid").replace("baby_at_home = true\n", "")
    prescribe(new.replace("most_messages_a_day = 2", "most_messages_a_day = 3"), "2026-03-05")
    assert rooms.rows("select cap from track") == [(3,)]
    assert rooms.client("C1").zone == "Europe/Madrid"
    assert not rooms.client("C1").baby_at_home


def test_a_clinics_own_exercise_is_taken_where_its_file_is(rooms: Rooms, tmp_path: Path) -> None:
    file = tmp_path / "C1.toml"
    bridge = 'exercise = "bridge-ball-squeeze"'
    file.write_text(
        PLAN.replace(bridge, 'exercise = "wall-sit"').replace(
            'position = "lying"\nrepetitions = 10', 'position = "standing"\nrepetitions = 10'
        ),
        encoding="utf-8",
    )
    begin, approval = rooms.store.begin, rooms.office.approval
    with pytest.raises(RefusedError, match="wall-sit"):
        setup.add_client(begin, rooms.clock, approval, None, None, file)
    own = rulebook.with_own(EXAMPLES / "own/clinic.toml")
    code, _ = setup.add_client(begin, rooms.clock, approval, None, None, file, own)
    assert code == "C1"
    assert rooms.client("C1").clinic_id == rooms.clinic.id
    assert dt.date(2026, 3, 2) == rooms.clock.now().date()
