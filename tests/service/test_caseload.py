"""The caseload: whose clients may be seen, cards of every kind, visits, reviews, steps, pages."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

import pytest
import sqlalchemy as sa

from bot.conversation.incoming import Press
from bot.conversation.speech import MAX_DATA_BYTES
from bot.domain.alerts import Alert, Outcome
from bot.domain.levels import Level
from bot.domain.people import Client, Stage
from bot.reports.digest import ONE_SCREEN, length
from bot.rules.discretion import indiscreet
from bot.service import digests
from bot.store import alerts, diary, people, tables, visits
from bot.store.base import Store, Tx
from bot.store.diary import PauseEvent
from bot.store.ids import new_id
from tests.fixtures import histories
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms, Side
from tests.store import prepared

JOINED = dt.datetime(2026, 3, 2, 9, tzinfo=dt.UTC)
NOW = dt.datetime(2026, 3, 23, 9, 30, tzinfo=dt.UTC)
FIRST = dt.date(2026, 3, 2)
SEEN = {"contraction": "yes", "full_release": "yes", "how": "palpation", "tone": "normal"}


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic on a Monday morning, three weeks after its clients joined."""
    clock.set(JOINED)
    store: Store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    made = Rooms(store, clock)
    clock.set(NOW)
    yield made
    store.close()


def client(tx: Tx, code: str = "C1", days: int = 21, sets: int = 3) -> Client:
    """A client since three weeks, with full days from the first on."""
    made = histories.joined(tx, code, JOINED)
    histories.prescribe(tx, made, 1, FIRST, 3, JOINED)
    for n in range(days):
        histories.did(tx, made, FIRST + dt.timedelta(days=n), sets)
    diary.start_track(tx, made.id, 3, "all", JOINED)
    diary.change_track(tx, made.id, last_heard_at=NOW)
    return made


def seen(tx: Tx, rooms: Rooms, made: Client, **fields: object) -> None:
    """What was found when she was last seen."""
    detail = {"words": "", "fields": {**SEEN, **fields}}
    visits.add_finding(tx, made.id, rooms.staff.id, FIRST, detail, JOINED)


def answered(tx: Tx, made: Client, value: int) -> None:
    histories.answered(tx, made, dt.date(2026, 3, 20), "technique", value)


def raised(tx: Tx, made: Client, level: Level, at: dt.datetime, words: str = "it hurts") -> Alert:
    alert = Alert(new_id(at), made.id, level, "usual", ("fever",), words, at, 0)
    alerts.add(tx, alert)
    return alert


def card(rooms: Rooms, code: str = "C1") -> str:
    """Her card, seen to be fit for a lock screen."""
    text = rooms.therapist.say(f"/client {code}")
    assert indiscreet(text) == (), text[:160]
    return text


def test_the_card_of_a_steady_client(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        for week, leaks in enumerate((7, 7, 3)):
            histories.answered(tx, made, FIRST + dt.timedelta(days=6 + 7 * week), "leaks", leaks)
        histories.wrote(tx, made, "may I swim?", NOW - dt.timedelta(days=1))
        alert = raised(tx, made, Level.THERAPIST, NOW - dt.timedelta(days=9))
        alerts.change(tx, alert.id, closed_at=NOW - dt.timedelta(days=8), outcome=Outcome.SPOKE.value)
    text = card(rooms)
    assert (
        text.splitlines()[:5]
        == [
            "C1, Mon 16 Mar to Sun 22 Mar: 21 of 21, answered 7 of 7 days",
            "All 21 days: 63 of 63, answered 21 of 21 days",
            "Covered: 7 of 7 days with all sets, 7 of 7 days with one at least",
            "Next review: Mon 13 Apr",
            "What follows is hers alone: please keep your phone to yourself while it is open.",
        ]
        or "Next review" in text.splitlines()[3]
    )
    assert "Programme, version 1 since Mon 2 Mar, signed T1" in text
    assert "Contractions: 378 of 378" in text  # 18 in a set, three sets, seven days
    assert "Leaks a week: 7 or more, 7 or more, 3 to 6" in text
    assert "trend: too few to tell" in text
    assert "Last words, Sun 22 Mar 09:30: may I swim?" in text
    assert "Unread notes: 1" in text
    assert "Open alerts: 0; closed: 1" in text
    assert "low adherence" not in text


def test_a_sign_kept_for_the_visit_is_no_open_alert(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        raised(tx, client(tx), Level.NEXT_REVIEW, NOW - dt.timedelta(days=2))
    assert "Open alerts: 0; closed: 0\nSigns kept for the next visit: 1" in card(rooms)


def test_slopes_and_intervals_stand_on_the_card_once_there_are_five_weeks(rooms: Rooms) -> None:
    rooms.clock.set(NOW + dt.timedelta(weeks=3))
    with rooms.store.begin() as tx:
        made = client(tx)
        for week, value in enumerate((10, 9, 8, 6, 5, 3)):  # figures from messages: no ranges
            on = FIRST + dt.timedelta(days=6 + 7 * week)
            histories.answered(tx, made, on, "pain", value)
    # Median of the 15 slopes between two weeks: by hand -1.4 (sorted, the eighth).
    assert "slope -1.4 a week (95 %: -2 to -1); trend: falling" in card(rooms)


def test_her_words_are_read_once_opened(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        histories.wrote(tx, client(tx), "may I swim?", NOW - dt.timedelta(days=1))
    card(rooms)
    assert "Sun 22 Mar 09:30: may I swim?" in rooms.therapist.press("Her words")
    assert rooms.rows("select count(*) from unread_note where read_at is null") == [(0,)]
    assert "Unread notes" not in rooms.therapist.press("Card")


VERBS = (
    "card", "main", "diary:0", "words", "alerts", "called", "pause", "resume", "step", "put:1.hol0.7",
    "sign:1.hol0.7", "leave", "visit", "came:attended", "rev:hold", "rev:refer", "next:hold.4", "nonsense",
)  # fmt: skip


def counted(rooms: Rooms) -> list[int | None]:
    """How many rows a decision could have added to."""
    kept = ("visit", "finding", "review", "prescription", "pause_event", "alert_event")
    with rooms.store.begin() as tx:
        return [
            tx.connection.scalar(sa.select(sa.func.count()).select_from(tables.metadata.tables[name]))
            for name in kept
        ]


def test_a_forged_press_shows_and_changes_nothing(rooms: Rooms) -> None:
    """Another therapist of the same clinic, with the id of a client who is not hers, on every button."""
    with rooms.store.begin() as tx:
        made = client(tx)
        other = prepared.staff(JOINED, made.clinic_id, "T2")
        people.add_staff(tx, other, "REG 0002", None, JOINED)
    side = rooms.link(other)
    before = counted(rooms)
    for verb in VERBS:
        said = side.do(Press("1", f"cl:{verb}:{made.id.hex}", None))
        no_button = "That button is from an earlier message and does nothing any more."
        assert said == (
            no_button if verb == "nonsense" else "That is no client of yours. /clients lists yours."
        )
    assert side.say("/client C1") == "That is no client of yours. /clients lists yours."
    assert len(side.seen) == len(VERBS) + 1
    assert counted(rooms) == before


@pytest.mark.parametrize(
    "data",
    ["cl", "cl:", "cl:card", "cl:card:", "cl:card:zz", "cl:page:-1", "cl:page:x", "cl:page:99", "cl:all:x"],
)
def test_mangled_buttons_are_answered(rooms: Rooms, data: str) -> None:
    with rooms.store.begin() as tx:
        client(tx)
    assert rooms.therapist.do(Press("1", data, None))


@pytest.mark.parametrize(
    "verb", ["came:maybe", "rev:cure", "next:hold.53", "next:cure.4", "put:9.hol0.7", "put:1.x"]
)
def test_made_up_decisions_are_refused(rooms: Rooms, verb: str) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
    said = rooms.therapist.do(Press("1", f"cl:{verb}:{made.id.hex}", None))
    assert "earlier message" in said or "changed since" in said
    assert rooms.rows("select count(*) from review") == [(0,)]


def test_a_fallback_contact_has_no_cards(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
    assert rooms.fallback.do(Press("1", f"cl:card:{made.id.hex}", None)).startswith("That button is from")


def test_a_step_against_which_an_alert_or_a_finding_stands_is_not_proposed(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        answered(tx, made, 2)
    assert "Correct contraction not confirmed" in card(rooms)
    assert rooms.therapist.press("Next step").endswith("No step is proposed.")
    with rooms.store.begin() as tx:
        seen(tx, rooms, made)
    assert "Consider: progressing" in card(rooms)
    with rooms.store.begin() as tx:
        raised(tx, made, Level.THERAPIST, NOW)
    assert "Consider: talk first. An alert is open" in card(rooms)
    assert rooms.therapist.press("Next step").endswith("No step is proposed.")


def test_a_signed_step_is_the_next_version_and_nothing_else_of_it_changes(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        seen(tx, rooms, made)
        answered(tx, made, 2)
    card(rooms)
    shown = rooms.therapist.press("Next step", "Put in force")
    assert shown.startswith("C1: from Tue 24 Mar on, signed T1.")
    assert indiscreet(shown) == ()
    assert rooms.therapist.press("Yes, sign").startswith(
        "C1: version 2 is signed and holds from Tue 24 Mar on."
    )
    with rooms.store.begin() as tx:
        (_, old), (_, new) = people.prescription_documents(tx, [made.id])[made.id]
    assert new["programme"]["contractions"][0] == {**old["programme"]["contractions"][0], "hold_s": 7}
    same = ("sets_a_day", "days", "nudge_times", "quiet_from", "round_up_at", "adjuncts")
    assert {key: new["programme"][key] for key in same} == {key: old["programme"][key] for key in same}
    assert new["findings"][0]["contraction"] == "yes"
    assert "Programme, version 1" in card(rooms)
    assert "From Tue 24 Mar: version 2, signed T1" in rooms.therapist.seen[-1].text


def test_no_is_no(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        seen(tx, rooms, made)
        answered(tx, made, 2)
    card(rooms)
    assert rooms.therapist.press("Next step", "Put in force", "No") == "C1: left as it is."
    assert rooms.rows("select count(*) from prescription") == [(1,)]


def test_a_visit_its_findings_and_the_review(rooms: Rooms) -> None:
    """Attended, one line of findings, held for four weeks: the review date moves on, also for the digest."""
    with rooms.store.begin() as tx:
        client(tx)
    therapist = rooms.therapist
    card(rooms)
    assert therapist.press("Visit") == "C1: a visit today, Mon 23 Mar. Did she come?"
    assert therapist.press("Attended").startswith("C1: noted (attended, Mon 23 Mar).")
    read = therapist.say("contraction yes, release yes, 3/6/8//10, score ICIQ 9, keen to run again")
    assert "PERFECT 3/6/8//10\ncorrect contraction: yes\nfull release: yes\nscore ICIQ: 9" in read
    assert indiscreet(read) == ()
    assert therapist.press("Hold") == "C1: review noted (hold). When is the next one?"
    assert therapist.press("In 6 weeks") == "C1: review kept (hold). Next review: Mon 4 May."
    text = card(rooms)
    assert "Next review: Mon 4 May" in text
    assert "Correct contraction not confirmed" not in text
    assert "Review Mon 23 Mar: hold" in text
    with rooms.store.begin() as tx:
        data = digests.gather(tx, rooms.staff, rooms.clinic, NOW)
    assert [line.client.review_on for line in data.lines] == [dt.date(2026, 5, 4)]
    assert rooms.rows("select attendance from visit") == [("attended",)]


def test_the_same_press_twice_is_one_visit(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
    for _ in range(2):
        rooms.therapist.do(Press("1", f"cl:came:cancelled:{made.id.hex}", None))
    assert rooms.rows("select attendance from visit") == [("cancelled",)]


def test_findings_that_cannot_be_read_are_kept_in_her_words(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        client(tx)
    card(rooms)
    rooms.therapist.press("Visit", "Attended")
    assert (
        rooms.therapist.say("9/9/9//9 and a good mood")
        == "C1: kept in your words. What does the review end in?"
    )
    assert rooms.rows("select count(*) from finding") == [(1,)]


def test_a_referral_and_the_end_need_a_reason(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        client(tx)
    card(rooms)
    therapist = rooms.therapist
    assert therapist.press("Visit", "Attended", "Refer") == "C1: to whom, and why? One line, please."
    assert therapist.say("no") == "C1: please say it in a few words."
    assert (
        therapist.say("to her GP, the letter went today")
        == "C1: review kept (refer). Next review: Mon 20 Apr."
    )
    assert rooms.rows("select outcome from review") == [("refer",)]


def test_the_end_of_a_programme_is_confirmed_and_told_by_its_own_rules(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        client(tx)
    card(rooms)
    therapist = rooms.therapist
    assert therapist.press("Visit", "Attended", "End programme").endswith(
        "why does it end? One line, please."
    )
    therapist.say("all goals met, dry for a month")
    texts = [shown.text for shown in therapist.seen[-2:]]
    assert "C1: review kept (programme ended)." in texts
    assert any("C1" in text and "review kept" not in text for text in texts)
    assert rooms.rows("select outcome from review") == [("discharge",)]


def test_a_line_that_comes_late_is_not_taken_for_findings(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        client(tx)
    card(rooms)
    rooms.therapist.press("Visit", "Attended")
    rooms.clock.set(NOW + dt.timedelta(minutes=11))
    assert rooms.therapist.say("3/3/3//3").startswith("I could not use that.")
    assert rooms.rows("select count(*) from finding") == [(0,)]


def test_progress_chosen_at_a_review_against_her_findings_is_not_proposed(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        seen(tx, rooms, made, tone="raised")
    card(rooms)
    said = rooms.therapist.press("Visit", "Attended", "Progress")
    assert said.endswith("No step is proposed.\nRaised tone when last seen.")
    assert "hold 6 s -> 4 s" in rooms.therapist.press("Easier")
    assert "C1" in rooms.therapist.press("Something else")
    assert rooms.rows("select count(*) from draft") == [(1,)]


def test_pause_and_on_again(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
    hers = rooms.link(made)
    card(rooms)
    assert rooms.therapist.press("Pause").startswith("C1: paused, and she is told so.")
    assert hers.seen[-1].text.startswith("Your therapist has paused your reminders.")
    assert "Stopped since Mon 23 Mar by you" in card(rooms)
    assert rooms.therapist.press("Resume") == "C1: the programme is resumed."
    assert hers.seen[-1].text.startswith("Your therapist has started your reminders again.")
    assert "Stopped since" not in card(rooms)


def test_her_own_week_tells_a_break_from_a_day_without_an_answer(rooms: Rooms) -> None:
    """The same days as the therapist sees, in kind words; today is one of them."""
    with rooms.store.begin() as tx:
        made = client(tx, days=17)
        event = PauseEvent("paused", "own", dt.date(2026, 3, 19), dt.date(2026, 3, 22))
        diary.add_pause_event(tx, made.id, event, NOW - dt.timedelta(days=4))
    lines = rooms.link(made).say("/week").splitlines()
    assert lines[1:7] == [
        "Tue 17  ●●●  3 of 3",
        "Wed 18  ●●●  3 of 3",
        "Thu 19  a break",
        "Fri 20  a break",
        "Sat 21  a break",
        "Sun 22  ○○○  no answer",
    ]
    assert "low adherence" not in "\n".join(lines)


def test_an_emergency_is_not_resumed_without_a_review(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        alert = raised(tx, made, Level.EMERGENCY, NOW - dt.timedelta(days=1))
        alerts.change(tx, alert.id, closed_at=NOW, outcome=Outcome.SPOKE.value)
        diary.change_track(tx, made.id, pause_reason="warning")
        diary.add_pause_event(tx, made.id, PauseEvent("paused", "warning", FIRST, None), NOW)
    card(rooms)
    assert rooms.therapist.press("Resume") == "C1: who reviewed her medically, and when? One line, please."
    said = rooms.therapist.say("Dr Invented, this morning at the unit")
    assert said.startswith("C1: the programme is resumed.")


def test_cards_of_every_odd_client(rooms: Rooms) -> None:
    """No answers, no prescription, changed mid-week, twice in a day, since yesterday, paused, far away."""
    with rooms.store.begin() as tx:
        client(tx, "NONE", days=0)
        histories.joined(tx, "BARE", JOINED)
        changed = client(tx, "MID")
        histories.prescribe(tx, changed, 2, dt.date(2026, 3, 19), 2, NOW)
        histories.prescribe(tx, changed, 3, dt.date(2026, 3, 19), 4, NOW)
        histories.prescribe(tx, histories.joined(tx, "NEW", NOW - dt.timedelta(days=1)), 1, FIRST, 3, JOINED)
        paused = client(tx, "REST", days=14)
        event = PauseEvent("paused", "own", dt.date(2026, 3, 16), dt.date(2026, 4, 1))
        diary.add_pause_event(tx, paused.id, event, NOW - dt.timedelta(days=7))
        people.set_zone(tx, client(tx, "AFAR").id, "Pacific/Auckland")
        invited = prepared.enrol(tx, JOINED, ("WAIT",))[0]
        people.set_stage(tx, invited.id, Stage.INVITED)
    assert "0 to 21 of 21, answered 0 of 7 days" in card(rooms, "NONE")
    assert "No programme in force" in card(rooms, "BARE")
    assert "Programme, version 3 since Thu 19 Mar" in card(rooms, "MID")
    assert "answered 0 of 1 day" in card(rooms, "NEW")
    assert "nothing due, 7 days paused" in card(rooms, "REST")
    assert "Paused until Wed 1 Apr" in card(rooms, "REST")
    assert "Mon 16 Mar to Sun 22 Mar" in card(rooms, "AFAR")
    assert "WAIT has not joined yet." in card(rooms, "WAIT")
    for code in ("NONE", "BARE", "MID", "NEW", "REST", "AFAR", "WAIT"):
        for label in ("Diary", "Her words", "Alerts"):
            card(rooms, code)
            assert rooms.therapist.press(label)


def test_a_diary_of_104_weeks_turns_page_by_page(rooms: Rooms) -> None:
    rooms.clock.set(NOW + dt.timedelta(weeks=101))
    with rooms.store.begin() as tx:
        client(tx, days=101 * 7)
    card(rooms)
    shown = rooms.therapist.press("Diary")
    pages = 1
    while "Earlier" in rooms.therapist.seen[-1].labels:
        shown = rooms.therapist.press("Earlier")
        assert indiscreet(shown) == ()
        pages += 1
    assert pages == 104 * 7 // 14
    assert "Mon 2 Mar" in shown
    assert length(card(rooms)) < 4096


@pytest.mark.slow
def test_four_hundred_clients_are_pages_behind_one_screen(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        for n in range(400):
            made = histories.joined(tx, f"C{n:03}", JOINED)
            if n % 4:
                histories.prescribe(tx, made, 1, FIRST, 3, JOINED)
        data = digests.gather(tx, rooms.staff, rooms.clinic, NOW)
    drawn = digests.draw(data)
    assert length(drawn.text) <= ONE_SCREEN
    assert drawn.rows[-1][0].data == "cl:all"
    assert len(drawn.rows) <= 3
    assert {len(button.data.encode()) <= MAX_DATA_BYTES for row in drawn.rows for button in row} == {True}
    rooms.therapist.do(Press("1", "cl:all", None))
    codes: list[str] = []
    while True:
        shown = rooms.therapist.seen[-1]
        assert length(shown.text) <= ONE_SCREEN + 60
        codes += [label for label in shown.labels if label.startswith("C")]
        if "More" not in shown.labels:
            break
        rooms.therapist.press("More")
    assert sorted(codes) == [f"C{n:03}" for n in range(400)]
    assert len(rooms.therapist.seen) == 1  # each page took the place of the one before


def test_from_the_text_alone_the_three_who_need_her_most_come_first(rooms: Rooms) -> None:
    """Nine weeks of every kind, enrolled in an order that tells nothing; the codes are read off the text."""
    with rooms.store.begin() as tx:
        for code in ("A1", "B2", "G7"):
            client(tx, code)
        client(tx, "C3", sets=2)  # below the agreed plan
        worse = client(tx, "D4")
        for week, leaks in enumerate((1, 1, 7)):
            histories.answered(tx, worse, FIRST + dt.timedelta(days=6 + 7 * week), "leaks", leaks)
        ready = client(tx, "E5")
        seen(tx, rooms, ready)
        answered(tx, ready, 2)
        silent = client(tx, "F6", days=14)
        diary.change_track(
            tx, silent.id, last_heard_at=NOW - dt.timedelta(days=8), restarted_at=NOW - dt.timedelta(days=8)
        )
        raised(tx, client(tx, "H8"), Level.EMERGENCY, NOW - dt.timedelta(hours=20))
        stopped = client(tx, "I9", days=19)
        event = PauseEvent("paused", "warning", dt.date(2026, 3, 21), None)
        diary.add_pause_event(tx, stopped.id, event, NOW - dt.timedelta(days=2))
        histories.wrote(tx, client(tx, "J0"), "a question", NOW - dt.timedelta(days=1))
        text = digests.draw(digests.gather(tx, rooms.staff, rooms.clinic, NOW)).text
    codes = [line.partition(":")[0] for line in text.splitlines() if line[:2].isalnum() and line[2:4] == ": "]
    assert codes[:3] == ["H8", "I9", "F6"]
    assert codes[3:] == ["D4", "J0", "C3", "E5"]
    assert "E5: consider progressing." in text
    assert length(text) <= ONE_SCREEN


def test_every_button_fits_the_platform_and_names_a_client(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        made = client(tx)
        seen(tx, rooms, made)
        answered(tx, made, 2)
        diary.ask_call(tx, made.id, NOW)
    side: Side = rooms.therapist
    card(rooms)
    for labels in (("Next step",), ("Put in force",), ("Visit", "Attended", "Hold")):
        side.press(*labels)
    for shown in side.seen:
        for _, data in shown.buttons:
            assert len(data.encode()) <= MAX_DATA_BYTES
            assert data.endswith(made.id.hex)
    assert side.press("Rung her") == "C1: noted that you rang her."
    assert rooms.rows("select count(*) from call_request where answered_at is null") == [(0,)]


def test_initials_only_where_the_clinic_chose_them(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        client(tx)
        tx.connection.execute(sa.update(tables.clinic).values(labels="initials"))
    text = rooms.therapist.say("/client C1")
    assert text.startswith("Zq.W. C1, Mon 16 Mar")
    with rooms.store.begin() as tx:
        data = digests.gather(tx, rooms.staff, replace(rooms.clinic, labels="initials"), NOW)
    assert data.client_ids.keys() == {"Zq.W. C1"}
