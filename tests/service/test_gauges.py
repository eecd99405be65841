"""The figures of monitoring are those of the database."""

import datetime as dt
from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from bot.domain.alerts import Alert
from bot.domain.delivery import Kind
from bot.domain.levels import Level
from bot.domain.people import Role
from bot.service import gauges
from bot.store import alerts, chats, diary, inbox, outbox, tables
from bot.store.base import Store
from bot.store.ids import new_id
from bot.store.inbox import Received
from bot.store.outbox import Letter
from tests.fixtures import offices
from tests.fixtures.clock import MovableClock
from tests.store import prepared
from tests.store.prepared import BOT


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest, clock: MovableClock) -> Iterator[Store]:
    url = request.getfixturevalue(f"fresh_{request.param}")(prepared.at_head)
    made = prepared.open_store(url, clock.now())
    yield made
    made.close()


def test_an_idle_service_shows_noughts(store: Store, clock: MovableClock) -> None:
    seen = gauges.read(offices.make(store, clock))
    assert (seen.due_lag_s, seen.inbox_age_s, seen.queued, seen.undelivered_alerts) == (0, 0, {}, 0)
    assert set(seen.failed.values()) == set(seen.unseen_alerts.values()) == {0}


def test_what_waits_and_what_failed_is_counted(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        chat = chats.link(tx, chats.chat_of(tx, BOT, 7, now), Role.CLIENT, anna.id, now)
        diary.start_track(tx, anna.id, 3, "all", now)
        inbox.accept(tx, BOT, [Received(1, 7, b"{}")], now)
        for number in range(3):
            outbox.put(tx, Letter(f"n{number}", chat.id, anna.id, Kind.NUDGE, {}), now)
        outbox.put(
            tx, Letter("later", chat.id, anna.id, Kind.NUDGE, {}, not_before=now + dt.timedelta(1)), now
        )
        tx.connection.execute(
            sa.update(tables.outbox).where(tables.outbox.c.key == "n0").values(state="refused", taken_at=now)
        )
        alert = Alert(new_id(now), anna.id, Level.EMERGENCY, "ordinary", ("x",), "words", now, 0)
        alerts.add(tx, alert)
    clock.move(seconds=90)
    seen = gauges.read(offices.make(store, clock))
    assert seen.due_lag_s == 90
    assert seen.inbox_age_s == 90
    assert seen.queued == {"nudge": 2}
    assert seen.failed == {"refused": 1, "unknown": 0, "expired": 0}
    assert seen.unseen_alerts["emergency"] == 1
    with store.begin() as tx:
        alerts.change(tx, alert.id, seen_at=clock.now())
    assert gauges.read(offices.make(store, clock)).unseen_alerts["emergency"] == 0
