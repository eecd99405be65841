"""Alerts, and every step of what became of them."""

import dataclasses
import datetime as dt
import uuid

from bot.domain.alerts import Alert, Outcome
from bot.domain.levels import Level
from bot.store import alerts, people
from bot.store.base import Store, Tx
from bot.store.ids import new_id
from tests.fixtures.clock import MovableClock
from tests.store import plans, prepared

MINUTE = dt.timedelta(minutes=1)


def raised(tx: Tx, client_id: uuid.UUID, at: dt.datetime, level: Level = Level.SAME_DAY) -> Alert:
    alert = Alert(
        id=new_id(at),
        client_id=client_id,
        level=level,
        handling="sensitive",
        signs=("wound-opens", "fever"),
        words="ich fürchte, die Naht 🤕",
        raised_at=at,
        step=0,
    )
    alerts.add(tx, alert)
    return alert


def test_an_alert_comes_back_as_it_was_raised(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        alert = raised(tx, anna.id, clock.now())
    with store.begin() as tx:
        assert alerts.by_id(tx, alert.id) == alert
        assert alerts.by_id(tx, anna.id) is None
        seen_at, closed_at = clock.move(minutes=3), clock.move(hours=1)
        alerts.change(
            tx, alert.id, step=2, seen_at=seen_at, closed_at=closed_at, outcome=Outcome.PASSED_ON.value
        )
        assert alerts.by_id(tx, alert.id) == dataclasses.replace(
            alert, step=2, seen_at=seen_at, closed_at=closed_at, outcome=Outcome.PASSED_ON
        )


def test_further_signs_join_an_alert(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        alert = raised(tx, anna.id, clock.now())
        alerts.add_signs(tx, alert, ("wound-opens", "fever", "chills"))
        assert alerts.by_id(tx, alert.id) == dataclasses.replace(
            alert, signs=("wound-opens", "fever", "chills")
        )


def test_open_alerts_are_those_nobody_closed_oldest_first(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        second, first = (raised(tx, anna.id, clock.now() + n * MINUTE) for n in (2, 1))
        other = raised(tx, beth.id, clock.now())
        closed = raised(tx, anna.id, clock.now())
        alerts.change(tx, closed.id, closed_at=clock.now(), outcome=Outcome.SPOKE.value)
        assert alerts.open_of(tx, [anna.id]) == [first, second]
        assert alerts.open_of(tx, [anna.id, beth.id]) == [other, first, second]
        assert alerts.open_of(tx, []) == []


def test_alerts_to_be_told_again_come_earliest_first(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        late, early, coming, resting, closed = (raised(tx, anna.id, now) for _ in range(5))
        for alert, at in ((late, now), (early, now - MINUTE), (coming, now + MINUTE), (resting, None)):
            alerts.change(tx, alert.id, next_step_at=at)
        alerts.change(tx, closed.id, next_step_at=now - 2 * MINUTE, closed_at=now)
        assert [alert.id for alert in alerts.due(tx, now, 10)] == [early.id, late.id]
        assert [alert.id for alert in alerts.due(tx, now, 1)] == [early.id]
        assert alerts.next_step_at(tx) == now - MINUTE


def test_an_alert_is_told_by_one_worker_at_a_time(postgresql_store: Store, clock: MovableClock) -> None:
    with postgresql_store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        alert = raised(tx, anna.id, clock.now())
        alerts.change(tx, alert.id, next_step_at=clock.now())
    with postgresql_store.begin() as one, postgresql_store.begin() as other:
        assert len(alerts.due(one, clock.now(), 10)) == 1
        assert alerts.due(other, clock.now(), 10) == []


def test_the_history_keeps_every_step_in_order(store: Store, clock: MovableClock) -> None:
    """Several steps may fall into one instant; notes are sealed with the client's key."""
    at = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, at)
        therapist = people.staff_by_id(tx, anna.therapist_id)
        alert, other = raised(tx, anna.id, at), raised(tx, anna.id, at)
        alerts.add_event(tx, alert, "raised", at)
        alerts.add_event(tx, alert, "told", at, note="T1")
        alerts.add_event(tx, other, "raised", at)
        alerts.add_event(tx, alert, "closed", at + MINUTE, therapist.id, "false_alarm, sie meinte den Hund")
    with store.begin() as tx:
        assert alerts.history(tx, alert.id) == [
            alerts.Event("raised", at, None),
            alerts.Event("told", at, "T1"),
            alerts.Event("closed", at + MINUTE, "false_alarm, sie meinte den Hund", therapist.id),
        ]


def test_the_latest_stopping_is_an_open_one_before_any_closed_one(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        assert alerts.latest_stopping(tx, anna.id) is None
        first = raised(tx, anna.id, clock.now(), Level.EMERGENCY)
        latest = raised(tx, anna.id, clock.move(hours=1), Level.EMERGENCY)
        raised(tx, anna.id, clock.move(hours=1), Level.THERAPIST)
        raised(tx, beth.id, clock.now(), Level.EMERGENCY)
        alerts.change(tx, latest.id, closed_at=clock.now())
        still_open = alerts.latest_stopping(tx, anna.id)
        alerts.change(tx, first.id, closed_at=clock.now())
        closed = alerts.latest_stopping(tx, anna.id)
    assert still_open is not None
    assert still_open.id == first.id
    assert closed is not None
    assert closed.id == latest.id


def test_an_open_alert_that_reached_nobody_is_counted_until_it_does(
    store: Store, clock: MovableClock
) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        lost, closed, _ = (raised(tx, anna.id, clock.now()) for _ in range(3))
        assert alerts.undelivered(tx) == 0
        for alert in (lost, closed):
            assert alerts.mark_undelivered(tx, alert.id, clock.now())
            assert not alerts.mark_undelivered(tx, alert.id, clock.now())
        alerts.change(tx, closed.id, closed_at=clock.now())
        assert alerts.undelivered(tx) == 1
        assert alerts.mark_delivered(tx, lost.id)
        assert not alerts.mark_delivered(tx, lost.id)
        assert alerts.undelivered(tx) == 0


def test_what_is_asked_often_is_looked_up(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        alert = raised(tx, anna.id, clock.now())
    with plans.watched(store) as seen, store.begin() as tx:
        alerts.due(tx, clock.now(), 10)
        alerts.open_of(tx, [anna.id])
        alerts.latest_stopping(tx, anna.id)
        alerts.history(tx, alert.id)
    assert plans.read_whole(store, seen, "alert", "alert_event") == []
