"""Three workers on PostgreSQL, one of them killed with a message in hand: the others carry on in time."""

import datetime as dt
import time
from contextlib import closing
from pathlib import Path

import pytest

from demo.room_client import start_room
from tests.fixtures import postgresql
from tests.killtest.checker import Rows
from tests.killtest.run import ADVICE, ALARM, FIRST_DAY, Plan, Scene

LEASE_S = 10.0
MORE_S = 1.0
IN_HAND = "SELECT count(*) FROM outbox WHERE kind = 'advice' AND state = 'sending'"


@pytest.mark.slow
def test_advice_of_a_killed_worker_leaves_within_a_lease_and_a_second(
    tmp_path: Path, postgresql_server: postgresql.Server
) -> None:
    url = postgresql_server.url(postgresql_server.create())
    with start_room(
        at=dt.datetime.combine(FIRST_DAY, dt.time(8), dt.UTC), record=tmp_path / "record.jsonl"
    ) as room:
        scene = Scene(Plan(0, url, 3, tmp_path, clients=3), room)
        with closing(scene), closing(Rows(url)) as rows, scene.workers() as (first, *others):
            for worker in others:
                worker.stop()
            room.fault("sendMessage", "timeout", chat=scene.people[0])  # neither taken nor answered
            room.say(scene.people[0], ALARM, settle=False)
            until_s = time.monotonic() + 20
            while not rows.number(IN_HAND):
                assert time.monotonic() < until_s
                time.sleep(0.05)
            for worker in others:
                worker.start()
            for worker in others:
                worker.wait_ready()
            assert rows.number(IN_HAND) == 1  # prolonged as long as its worker lives
            first.kill()
            killed_s = time.monotonic()
            room.wait_for(scene.people[0], lambda shown: shown.text.startswith(ADVICE), 30)
            took_s = time.monotonic() - killed_s
    assert took_s <= LEASE_S + MORE_S, f"{took_s:.1f} s"
