"""A change of a plan: one thing, shown in words, signed, told to her once; what she does with it."""

import datetime as dt
from collections.abc import Iterator

import pytest

from bot.conversation.incoming import Press
from bot.domain import attention
from bot.domain.alerts import Alert, Outcome
from bot.domain.attention import Reason
from bot.domain.contacts import zone_of
from bot.domain.levels import Level
from bot.rules.discretion import indiscreet
from bot.service import prescribing, window
from bot.store import alerts, diary, people, unasked_log
from bot.store.ids import new_id
from bot.store.unasked_log import UnaskedRow
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms, Side
from tests.rules.checkout import ROOT
from tests.store import prepared

PLAN = (ROOT / "docs/examples/caesarean.toml").read_text(encoding="utf-8").replace("2026-03-03", "2026-03-02")


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic on a Monday morning."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield Rooms(store, clock)
    store.close()


@pytest.fixture
def her(rooms: Rooms) -> Side:
    """C1, who takes part; it is her second day, at noon."""
    side = rooms.enrol("C1", PLAN)
    rooms.clock.set(dt.datetime(2026, 3, 3, 12, tzinfo=dt.UTC))
    return side


def longer_hold(rooms: Rooms) -> str:
    rooms.therapist.say("/change c1")
    return rooms.therapist.press("Hold", "1", "8", "It goes well")


def test_one_thing_is_changed_and_shown_before_it_is_put_in_force(rooms: Rooms, her: Side) -> None:
    shown = longer_hold(rooms)
    assert "Pelvic-floor long hold: hold 6 s -> 8 s" in shown
    assert "from 4 Mar 2026; until then the version before it holds" in shown
    assert "she reads: It goes well for you." in shown
    assert rooms.rows("select count(*) from prescription") == [(1,)]
    done = rooms.therapist.press("Put in force for C1")
    assert done.startswith("C1: version 2 is in force from 4 Mar 2026. Signed T1, Tue 3 Mar 12:00.")
    told = her.seen[-1]
    assert told.text.startswith(
        "Your plan changes from tomorrow. It goes well for you.\n\nHold each one for 8 seconds. It was 6."
    )
    assert told.labels == ("Show me", "Not sure", "Call me")
    assert indiscreet(told.text) == ()
    assert rooms.rows("select version, starts_on from prescription order by version") == [
        (1, "2026-03-02"),
        (2, "2026-03-04"),
    ]
    assert rooms.rows("select what, on_date from unasked") == [("change", "2026-03-03")]


@pytest.mark.parametrize(
    ("taps", "difference"),
    [
        (("Sets", "3"), "sets a day 2 -> 3; nudges at 08:30, 13:00, 18:30 instead of 10:00, 17:00"),
        (("Repetitions", "2", "10"), "Deep-abdominal draw-in: repetitions 8 -> 10"),
        (("Position", "1", "sitting"), "Pelvic-floor long hold: sitting instead of lying"),
        (("Times", "Later"), "nudges at 11:00, 18:00 instead of 10:00, 17:00"),
        (("Review", "8"), "review on 2026-04-28 instead of 2026-04-14"),
    ],
)
def test_the_common_steps(rooms: Rooms, her: Side, taps: tuple[str, ...], difference: str) -> None:
    rooms.therapist.say("/change C1")
    shown = rooms.therapist.press(*taps, "As agreed at her visit")
    assert difference in shown
    assert rooms.therapist.press("Put in force for C1").startswith("C1: version 2")
    assert len(her.seen) == 1


def test_typed_values_and_a_reason_of_her_own(rooms: Rooms, her: Side) -> None:
    rooms.therapist.say("/change C1")
    rooms.therapist.press("Times")
    assert rooms.therapist.say("8:15").startswith("C1: I could not read that as an answer.")
    rooms.therapist.say("8:15, 17:30")
    assert rooms.therapist.say("pain is better now").startswith("C1: that line would show something private")
    shown = rooms.therapist.say("Your mornings are free again")
    assert "nudges at 08:15, 17:30 instead of 10:00, 17:00" in shown
    rooms.therapist.press("Put in force for C1")
    assert "Your therapist writes: Your mornings are free again" in her.seen[-1].text


def test_show_me_not_sure_call_me(rooms: Rooms, her: Side) -> None:
    longer_hold(rooms)
    rooms.therapist.press("Put in force for C1")
    told = len(her.seen)
    shown = her.press("Show me")
    assert len(her.seen) == told, "in place, so no bell rings"
    assert shown.startswith("From tomorrow: 2 times a day, at 10:00, 17:00.")
    assert "1. Pelvic-floor long hold\n6 times. Hold 8 s, rest 8 s, lying on yo" in shown
    assert her.seen[-1].labels == ("Not sure", "Call me"), "she may still say so after she has looked"
    assert rooms.rows("select count(*) from change_notice where seen_at is not null") == [(1,)]
    for label, word in (("Not sure", "not sure about version 2"), ("Call me", "would like you to ring her")):
        side = rooms.enrol(f"D{label[0]}", PLAN.replace('"C1"', f'"D{label[0]}"'))
        rooms.therapist.say(f"/change D{label[0]}")
        rooms.therapist.press("Review", "8", "It goes well", f"Put in force for D{label[0]}")
        side.press(label)
        assert word in rooms.therapist.seen[-1].text
    assert rooms.rows("select count(*) from change_notice where seen_at is null") == [(0,)]


def unseen(rooms: Rooms) -> bool:
    with rooms.store.begin() as tx:
        zone = zone_of(rooms.clinic.card)
        found = window.weeks(tx, [rooms.staff.id], zone, "codes", rooms.clock.now())
    lines = attention.order([one.week for one in found], rooms.clock.now())
    return any(why.reason is Reason.CHANGE_UNSEEN for line in lines for why in line.reasons)


def test_not_seen_after_two_days_is_listed(rooms: Rooms, her: Side) -> None:
    longer_hold(rooms)
    rooms.therapist.press("Put in force for C1")
    rooms.a_day_on(1)
    assert not unseen(rooms)
    rooms.a_day_on(1)
    assert unseen(rooms)
    her.press("Show me")
    assert not unseen(rooms)


@pytest.mark.parametrize("hour", [22, 3])
def test_no_message_in_her_quiet_hours(rooms: Rooms, her: Side, hour: int) -> None:
    rooms.clock.set(dt.datetime(2026, 3, 4, hour, tzinfo=dt.UTC))
    longer_hold(rooms)
    rooms.therapist.press("Put in force for C1")
    assert her.seen == []
    rooms.clock.set(dt.datetime(2026, 3, 4 + (hour > 12), 8, tzinfo=dt.UTC))
    rooms.deliver()
    assert her.seen[-1].text.startswith("Your plan changes from ")


def test_the_days_messages_have_their_cap(rooms: Rooms, her: Side) -> None:
    client = rooms.client("C1")
    with rooms.store.begin() as tx:
        for ordinal in (1, 2, 3):
            row = UnaskedRow("nudge", dt.date(2026, 3, 3), ordinal, rooms.clock.now())
            unasked_log.add(tx, client.id, row)
    longer_hold(rooms)
    rooms.therapist.press("Put in force for C1")
    assert her.seen == []
    rooms.clock.set(dt.datetime(2026, 3, 4, 8, 0, tzinfo=dt.UTC))
    rooms.deliver()
    assert her.seen[-1].text.startswith("Your plan changes from today.")


def test_while_her_programme_is_stopped_it_waits(rooms: Rooms, her: Side) -> None:
    client = rooms.client("C1")
    with rooms.store.begin() as tx:
        diary.change_track(tx, client.id, pause_reason="warning", paused_until=None)
    longer_hold(rooms)
    rooms.therapist.press("Put in force for C1")
    assert her.seen == []
    rooms.therapist.say("/resume C1")
    assert [one.text[:17] for one in her.seen].count("Your plan changes") == 1


@pytest.mark.usefixtures("her")
def test_a_change_from_an_old_version_is_refused(rooms: Rooms) -> None:
    """Somebody else's version must not be overwritten by what was begun before it."""
    longer_hold(rooms)
    stale = rooms.therapist.seen[-1]
    button = dict(stale.buttons)["Put in force for C1"]
    client = rooms.client("C1")
    with rooms.store.begin() as tx:
        file = prescribing.newest(tx, client)
        assert file is not None
        programme = file.programme.model_copy(update={"starts_on": dt.date(2026, 3, 5)})
        newer = file.model_copy(update={"programme": programme})
        prescribing.put_in_force(tx, client, newer, rooms.staff, rooms.clock.now(), rooms.office.book, "")
    rooms.therapist.do(Press("1", button, None))
    assert "another version has been put in force since you began" in rooms.therapist.seen[-1].text
    assert rooms.rows("select count(*) from prescription") == [(2,)]
    assert "One thing at a time" in rooms.therapist.say("/change C1")


def test_an_exercise_is_released_with_reason_and_author(rooms: Rooms, her: Side) -> None:
    """Ready ones need a reason; against the gate the conditions set aside are named and kept."""
    rooms.therapist.say("/change C1")
    listed = rooms.therapist.press("Open something")
    assert "Four-point arm raise (ready for you to review)" in listed
    assert "Curl-up (not yet)" in listed
    number = next(line.split()[0] for line in listed.splitlines() if "Curl-up" in line)
    asked = rooms.therapist.press(number)
    assert "Opened against the gate. This sets aside: no clearance for strong rectus load" in asked
    rooms.therapist.say("did ten in the room, no ridge, breathing freely")
    shown = rooms.therapist.press("As agreed at her visit")
    assert "Curl-up: new, 8 times, lying, once a day" in shown
    rooms.therapist.press("Put in force for C1")
    client = rooms.client("C1")
    with rooms.store.begin() as tx:
        document = people.prescription_documents(tx, [client.id])[client.id][-1][1]
    release = document["releases"][-1]
    assert release["by"] == "T1"
    assert release["exercise"] == "curl-up"
    assert release["reason"] == "did ten in the room, no ridge, breathing freely"
    assert set(release["sets_aside"]) >= {"clearance", "weeks"}
    assert "One part is new." in her.seen[-1].text


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.usefixtures("her")
def test_a_sign_ends_a_release(rooms: Rooms, closed: bool) -> None:
    """Open it closes the gate; closed again, what was released before it needs a new release."""
    client, now = rooms.client("C1"), rooms.clock.now()
    alert = Alert(new_id(now), client.id, Level.SAME_DAY, "ordinary", ("doming",), "a ridge", now, 0)
    with rooms.store.begin() as tx:
        alerts.add(tx, alert)
        if closed:
            alerts.change(tx, alert.id, closed_at=now, outcome=Outcome.SPOKE.value)
    if closed:
        rooms.a_day_on(1)
    shown = longer_hold(rooms)
    assert "This cannot be put in force yet:" in shown
    assert "bridge-ball-squeeze" in shown


@pytest.mark.usefixtures("her")
def test_nothing_is_opened_while_a_sign_is_open(rooms: Rooms) -> None:
    """An alert is closed with an outcome; it is never set aside."""
    client, now = rooms.client("C1"), rooms.clock.now()
    alert = Alert(new_id(now), client.id, Level.SAME_DAY, "ordinary", ("doming",), "a ridge", now, 0)
    with rooms.store.begin() as tx:
        alerts.add(tx, alert)
    rooms.therapist.say("/change C1")
    shown = rooms.therapist.press("Open something", "1")
    assert "This cannot be opened while it stands: a warning sign is open since 2026-03-03" in shown
    assert rooms.therapist.seen[-1].labels == ("Back", "Throw away")


@pytest.mark.usefixtures("her")
def test_a_false_alarm_ends_nothing(rooms: Rooms) -> None:
    client, now = rooms.client("C1"), rooms.clock.now()
    alert = Alert(new_id(now), client.id, Level.SAME_DAY, "ordinary", ("doming",), "a ridge", now, 0)
    with rooms.store.begin() as tx:
        alerts.add(tx, alert)
        alerts.change(tx, alert.id, closed_at=now, outcome=Outcome.FALSE_ALARM.value)
    assert "hold 6 s -> 8 s" in longer_hold(rooms)


def test_what_is_not_yet_in_her_plan_and_why(rooms: Rooms, her: Side) -> None:
    """In plain words, no date, no threat, nothing private in what a lock screen shows."""
    told = her.say("/notyet")
    assert told.startswith("Some things are not yet in your plan. We look at them at your review")
    assert "Curl-up, Plank on the knees, Plank\n" in told
    assert "it is still early after the birth" in told
    assert "Four-point arm raise" in told
    assert "your therapist is to look at it with you" in told
    assert "Bridge" not in told
    assert indiscreet(told) == ()
    assert not any(letter.isdigit() for letter in told)
    assert rooms.rows("select count(*) from alert") == [(0,)]
    assert rooms.rows("select count(*) from unread_note") == [(0,)]
