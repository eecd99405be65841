"""The database is gone: refused at first, then kept in a sealed file and replayed, each update once."""

import datetime as dt
import errno
import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from bot.errors import BotError
from bot.service.accept import SPOOL_AFTER_S, Received, Reception
from bot.service.office import Office
from bot.store import tables, vault
from bot.store.base import Store, Tx
from bot.store.spool import Spool
from tests.fixtures import offices
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

SAID = b'{"update_id": 7, "text": "a bit sore today"}'


class GoneError(BotError):
    """The database does not answer."""


@dataclass
class Door:
    """A reception whose database can go away, and whose outage is timed by hand."""

    store: Store
    clock: MovableClock
    folder: Path
    masters: tuple[vault.MasterKey, ...]
    gone: bool = False
    seconds: float = 0.0

    def __post_init__(self) -> None:
        self.office: Office = offices.make(self.store, self.clock, begin=self.begin)
        self.spool = self.new_spool()
        self.reception = Reception(self.spool, lambda: self.seconds)

    def new_spool(self) -> Spool:
        return Spool(self.folder, self.office.bot, uuid.uuid4(), self.masters)

    @contextmanager
    def begin(self, *, flushed: bool = True) -> Iterator[Tx]:
        if self.gone:
            raise GoneError
        with self.store.begin(flushed=flushed) as tx:
            yield tx

    def come(self, number: int = 7) -> None:
        self.reception.accept(self.office, [Received(number, 5_000, SAID)])

    def outage(self) -> None:
        """Gone for long enough that the next update is spooled."""
        self.gone = True
        with pytest.raises(GoneError):
            self.come()
        self.seconds += SPOOL_AFTER_S

    def rows(self) -> list[tuple[int, dt.datetime]]:
        inbox = tables.inbox.c
        with self.store.begin() as tx:
            return [
                (row.update_id, row.received_at)
                for row in tx.connection.execute(tables.inbox.select().order_by(inbox.update_id))
            ]

    def files(self) -> list[Path]:
        return list(self.folder.glob("spool-*"))


@pytest.fixture
def door(fresh_sqlite: Fresh, clock: MovableClock, tmp_path: Path) -> Iterator[Door]:
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield Door(store, clock, tmp_path / "state", vault.parse_master_keys(vault.new_master_key()))
    store.close()


def test_a_short_outage_is_refused_so_that_the_platform_brings_it_again(door: Door) -> None:
    door.gone = True
    for _ in range(3):
        with pytest.raises(GoneError):
            door.come()
        door.seconds += SPOOL_AFTER_S / 3 - 0.1
    assert door.files() == []


def test_two_short_outages_are_not_one_long_one(door: Door) -> None:
    door.outage()
    door.gone = False
    door.come()
    door.gone = True
    with pytest.raises(GoneError):
        door.come(8)


def test_after_a_minute_it_is_kept_sealed_and_replayed_as_it_came(door: Door) -> None:
    door.outage()
    came_at = door.clock.now()
    door.come(7)
    door.come(8)
    (file,) = door.files()
    assert b"sore" not in file.read_bytes()
    assert file.stat().st_mode & 0o077 == 0
    door.clock.move(minutes=5)
    door.gone = False
    assert door.reception.replay(door.office) == 2
    assert door.rows() == [(7, came_at), (8, came_at)]
    assert door.files() == []
    assert door.reception.replay(door.office) == 0
    door.come(9)
    assert len(door.rows()) == 3


def test_a_replay_that_fails_or_comes_twice_loses_and_doubles_nothing(door: Door) -> None:
    door.outage()
    door.come(7)
    with pytest.raises(GoneError):
        door.reception.replay(door.office)
    (file,) = door.files()
    kept = file.read_bytes()
    door.gone = False
    assert door.reception.replay(door.office) == 1
    file.write_bytes(kept)  # killed between the commit and letting go of the file
    assert Reception(door.new_spool()).replay(door.office) == 1
    assert len(door.rows()) == 1


def test_a_living_worker_keeps_its_file_and_a_dead_ones_is_taken_over(door: Door) -> None:
    door.outage()
    door.come(7)
    door.gone = False
    other = Reception(door.new_spool())
    assert other.replay(door.office) == 0
    door.spool._file.close()  # type: ignore[union-attr] # as the system does when a process ends
    assert other.replay(door.office) == 1
    assert [number for number, _ in door.rows()] == [7]


def test_a_line_cut_off_by_a_power_cut_spoils_no_other(door: Door) -> None:
    door.outage()
    door.come(7)
    (file,) = door.files()
    with file.open("ab") as end:
        end.write(file.read_bytes()[:50])
    door.gone = False
    assert door.reception.replay(door.office) == 1


def test_a_full_disk_is_not_acknowledged(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    door.outage()
    door.come(7)

    def full(descriptor: Any) -> None:
        del descriptor
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        door.come(8)
    monkeypatch.undo()
    door.come(9)
    door.gone = False
    door.reception.replay(door.office)
    assert [number for number, _ in door.rows()] == [7, 9]


def test_the_wrong_keys_let_go_of_nothing(door: Door) -> None:
    door.outage()
    door.come(7)
    door.gone = False
    right, door.spool._masters = door.spool._masters, vault.parse_master_keys(vault.new_master_key())
    assert door.reception.replay(door.office) == 0
    door.spool._masters = right
    assert door.reception.replay(door.office) == 1
