"""Maintenance and discharge: opted into, with an end and an owner; closed with a reason, for good."""

import datetime as dt

import pytest

from bot.domain.people import Stage
from bot.reports import summary
from bot.reports.words import words
from bot.service import reporting
from bot.store import endings
from tests.fixtures.household import ORLA, THERAPIST, Household, document
from tests.service.conftest import PLAN

DAY = dt.timedelta(days=1)


def told(home: Household, act: str) -> list[str]:
    return home.say(act, THERAPIST)


def maintained(home: Household, until: str = "12 April") -> None:
    told(home, f"/maintain C1 {until}")
    home.press("Yes, once a week")


def test_maintenance_begins_only_with_her_yes(home: Household) -> None:
    assert told(home, "/maintain C1 12 April")[0].startswith(
        "Zq.W. C1: offered one message a week until Sunday 12 April"
    )
    assert home.last.text.startswith("Your therapist suggests that we go on more lightly")
    assert [shown.text for shown in home.to("2026-03-02T08:35:00+00:00")] == [
        "Good time for your first one today? (3 in all)"
    ]
    assert home.press("No, thank you")[0].startswith("All right, all stays as it is.")
    home.to("2026-03-02T13:30:00+00:00")
    assert any("would rather not have maintenance" in shown.text for shown in home.shown[THERAPIST])
    assert home.press("Yes, once a week", data="maint:yes")[0].startswith(
        "That button is from an earlier message."
    )


def test_once_a_week_until_its_last_day_and_then_its_owner_is_told(home: Household) -> None:
    maintained(home)
    sent = home.to("2026-04-20T09:00:00+00:00")
    sundays = [shown.at.date() for shown in sent if shown.text.startswith("Hello. On how many days")]
    # She has not answered for three weeks: nothing more until she returns, but the end is told.
    assert sundays == [dt.date(2026, 3, day) for day in (8, 15, 22)]
    assert [shown.text.split(",")[0] for shown in sent[-1:]] == ["Our weekly messages end here"]
    assert sent[-1].at.date() == dt.date(2026, 4, 13)
    assert any("maintenance ended on Sunday 12 April" in shown.text for shown in home.shown[THERAPIST])
    assert home.to("2026-06-01T09:00:00+00:00") == []
    assert home.say("2") == ["Noted: 2 of 3 today."]


def test_an_answer_to_the_week_is_kept_and_past_the_review_date_nothing_stops_it(home: Household) -> None:
    maintained(home, "30 June")
    for week in range(16):
        sunday = dt.datetime(2026, 3, 8, 21, tzinfo=dt.UTC) + 7 * week * DAY
        (shown,) = home.to(sunday)
        assert shown.text.startswith("Hello. On how many days"), sunday
        answer = home.press("5") if week % 2 else home.say("5")
        assert answer == ["Noted: 5. Your therapist sees it on Monday."]
    assert home.say("/today")[0].startswith("Today: 0 of 3.")


def test_a_new_plan_ends_maintenance(home: Household) -> None:
    maintained(home)
    with home.store.begin() as tx:
        assert endings.maintained_until(tx, home.client_id) == dt.date(2026, 4, 12)
    home.prescribe(2, document(PLAN, starts_on=dt.date(2026, 3, 10), review_on=dt.date(2026, 5, 1)))
    sent = [(shown.at.day, shown.text[:9]) for shown in home.to("2026-03-10T09:00:00+00:00")]
    assert sent == [(8, "Hello. On"), (10, "Good time")]


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("/maintain", "Please write the code and the last day"),
        ("/maintain C1", "Please write the code and the last day"),
        ("/maintain C1 yesterday", "Zq.W. C1: until which day"),
        ("/maintain C1 5 March 2029", "Zq.W. C1: until which day"),
        ("/maintain C9 5 May", "There is no client C9 of yours."),
        ("/finish", "Please write the code and the reason"),
        ("/finish C1", "Please write the code and the reason"),
        ("/finish C1 .", "Please write the code and the reason"),
        ("/finish C9 goals reached", "There is no client C9 of yours."),
    ],
)
def test_a_command_that_lacks_something_says_so(home: Household, typed: str, answer: str) -> None:
    assert told(home, typed)[0].startswith(answer)
    assert home.stage is Stage.ACTIVE


def test_discharge_closes_the_channel(home: Household) -> None:
    home.to("2026-03-02T08:35:00+00:00")
    assert "Reason: goals reached" in told(home, "/finish C1 goals reached")[0]
    assert home.press("Close for Zq.W. C1", THERAPIST) == [
        "Zq.W. C1: closed. She has been told whom to ring."
    ]
    assert home.last.text.startswith("Your therapist has closed your programme")
    assert home.menus[ORLA].keys() == {"help", "privacy"}
    assert home.to("2026-04-20T09:00:00+00:00") == []
    for text in ("2", "hello?", "/today", "done"):
        assert home.say(text)[0].startswith(
            "Nobody reads this now: your programme is closed. Please ring 020 910"
        ), text
    assert home.press("Done", data="done:20260420:1")[0].startswith("Nobody reads this now")
    # A warning sign still gets its advice, and a person hears of it.
    assert "112" in home.say("I soaked a pad in an hour")[0]
    assert any("EMERGENCY" in shown.text for shown in home.shown[THERAPIST])
    with home.store.begin() as tx:
        step = endings.latest(tx, home.client_id)
        assert step is not None
        assert (step.reason, step.by is not None) == ("goals reached", True)


def test_a_discharge_that_is_not_confirmed_changes_nothing(home: Household) -> None:
    told(home, "/finish C1 goals reached")
    assert home.press("Keep it open", THERAPIST) == ["Zq.W. C1: stays open."]
    told(home, "/finish C1 goals reached")
    home.clock.move(minutes=11)
    assert home.press("Close for Zq.W. C1", THERAPIST)[0].startswith("That button is from an earlier message")
    assert home.stage is Stage.ACTIVE


def test_a_discharge_waits_while_an_alert_is_open(home: Household) -> None:
    home.say("I soaked a pad in an hour")
    assert told(home, "/finish C1 goals reached") == ["Zq.W. C1 has an open alert. Please close it first."]


def test_the_discharge_summary_shows_later_what_she_took_and_why_it_was_closed(home: Household) -> None:
    maintained(home)
    told(home, "/finish C1 goals reached")
    home.press("Close for Zq.W. C1", THERAPIST)
    home.clock.move(days=30)
    found = reporting.discharged(reporting.about(home.store.begin, home.clock, None, "C1"), None, None, None)
    assert found.maintenance is not None
    assert (found.maintenance.until_on, found.maintenance.owner) == (dt.date(2026, 4, 12), "T1")
    assert found.maintenance.plan == found.record.versions[-1].prescription
    page = summary.text(summary.page(found, words("en")))
    assert "Until Sun 12 Apr 2026; then a decision by T1." in page
    assert "discharged on Mon 2 Mar 2026: goals reached" in page
    before = reporting.about(home.store.begin, home.clock, None, "C1", dt.date(2026, 3, 1))
    assert (before.maintenance, before.discharged) == (None, None)
