"""Days on which something is wrong: the server, its clock, the time zone data, or a finger on a button."""

import datetime as dt

import pytest

from bot.store import people
from tests.fixtures.household import ORLA, Household, document
from tests.service.conftest import PLAN

LOST = "Atlantis/Deep_Harbour"


def unasked(home: Household) -> list[tuple[str, str, int]]:
    with home.store.begin() as tx:
        rows = tx.connection.exec_driver_sql("SELECT what, on_date, ordinal FROM unasked ORDER BY rowid")
        return [(row[0], row[1], row[2]) for row in rows]


def test_three_days_of_downtime_bring_one_message(home: Household) -> None:
    home.to("2026-03-02T08:31:00+00:00")
    before = len(home.shown[ORLA])
    home.clock.set(dt.datetime(2026, 3, 5, 13, 5, tzinfo=dt.UTC))
    home.restart()
    home.settle()
    assert [shown.text.partition("\n")[0] for shown in home.shown[ORLA][before:]] == [
        "Good time for your first one today? (3 in all)"
    ]


def test_what_she_typed_while_the_server_was_down_counts_for_the_day_she_said_it(home: Household) -> None:
    said_at = home.clock.now()
    home._message(ORLA, "2", None)
    home.clock.move(days=3)
    home.settle()
    assert home.shown[ORLA][0].text == "Noted for Monday: 2 of 3."
    with home.store.begin() as tx:
        row = tx.connection.exec_driver_sql("SELECT on_date FROM set_report").one()
    assert row[0] == said_at.date().isoformat()


def test_a_clock_that_steps_back_an_hour_repeats_nothing(home: Household) -> None:
    home.to("2026-03-02T13:05:00+00:00")
    sent = unasked(home)
    home.clock.move(hours=-1)
    home.settle()
    home.to("2026-03-02T13:05:00+00:00")
    assert unasked(home) == sent
    assert len(set(sent)) == len(sent) == 2


@pytest.mark.parametrize("stored", [False, True])
def test_a_zone_gone_from_the_data(home: Household, stored: bool) -> None:
    """Her times go by the clinic's clock meanwhile; she can still answer, ask, and name a city."""
    with home.store.begin() as tx:
        people.set_zone(tx, home.client_id, LOST)
    if stored:
        made = document(PLAN, starts_on=dt.date(2026, 3, 3), review_on=dt.date(2026, 5, 1))
        made["zone"] = LOST
        home.prescribe(2, made)
    sent = home.to("2026-03-03T08:35:00+00:00")
    assert sent[-1].text.startswith("Good time for your first one today? (3 in all)")
    assert sent[-1].at == dt.datetime(2026, 3, 3, 8, 30, tzinfo=dt.UTC)
    assert home.say("2") == ["Noted: 2 of 3 today."]
    assert home.say("/week")
    home.say("/times")
    home.press("Other time zone")
    assert home.say("dublin")[0].startswith("Noted: Europe/Dublin")


def test_a_button_pressed_twice_counts_once(home: Household) -> None:
    home.to("2026-03-02T08:35:00+00:00")
    done = home.last.buttons["Done"]
    assert home.press("Done", data=done) == ["Noted: 1 of 3 today."]
    undo = home.last.buttons["Undo"]
    assert home.press("Done", data=done) == ["I have that already: 1 of 3 for today."]
    assert home.press("Undo", data=undo) == ["Taken back. I have 0 of 3 for today."]
    assert home.press("Undo", data=undo)[0].startswith("That button is from an earlier message.")


def test_after_a_loss_no_message_speaks_of_a_baby(home: Household) -> None:
    home.say("I lost the baby")
    assert home.to("2026-03-09T21:00:00+00:00") == []
    with home.store.begin() as tx:
        assert not people.client_by_id(tx, home.client_id).baby_at_home


def test_the_older_of_two_nudges_loses_its_buttons(home: Household) -> None:
    home.to("2026-03-02T13:05:00+00:00")
    assert [bool(shown.buttons) for shown in home.shown[ORLA]] == [False, True]


def test_a_change_of_a_message_is_a_correction(home: Household) -> None:
    home.say("3")
    assert home.edit(home.last_own, "2") == ["Noted: 2 of 3 today."]
