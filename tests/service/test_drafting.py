"""The guided form: where it leads, what it refuses, what it keeps, what a lock screen may show of it."""

from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from bot.conversation import form, form_asks, speech
from bot.conversation.incoming import Press
from bot.conversation.speech import MAX_DATA_BYTES
from bot.domain.drafts import Draft, DraftKind
from bot.rules import templates
from bot.rules.discretion import indiscreet
from bot.service import prescribing
from bot.store import chats, people, tables
from bot.store.base import Store
from bot.store.ids import new_id
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms
from tests.store import prepared

PERFECT = ("3", "5", "4", "7")
MOST_TAPS = 8


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic on a Monday morning."""
    store: Store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield Rooms(store, clock)
    store.close()


def test_every_template_leads_there_in_at_most_eight_taps(rooms: Rooms) -> None:
    """From the starting point, or where there was no birth from the first finding, to what is in force."""
    extra = {"distance": "↑ 2", "stage": "1", "leakage": "Stress"}
    therapist = rooms.therapist
    for place, template in enumerate(templates.load().templates, 1):
        code = f"N{place}"
        therapist.say(f"/new {code}")
        therapist.press(str(place))
        if template.birth.value == "yes":
            therapist.say("2026-02-09")
        elif template.birth.value == "maybe":
            therapist.press("There was none")
        perfect = PERFECT if template.strength else ()
        asked = (extra[key] for key in template.asks)
        taps = ("All true, seen from outside", *perfect, *asked, f"Put in force for {code}")
        shown = therapist.press(*taps)
        assert shown.startswith(f"{code}, what is done in the room"), template.id
        assert 1 + len(taps) <= MOST_TAPS, template.id
    assert rooms.rows("select count(*) from client") == [(8,)]


@pytest.mark.parametrize(
    ("taps", "reasons"),
    [
        (("Not assessed",), "correct contraction not confirmed; no PERFECT values on record"),
        (
            ("Not all of them", "Yes, by finger", "No", "Raised", "Yes"),
            "she cannot let go fully; no PERFECT values on record; raised resting tone; pain on contraction",
        ),
        (("Not all of them", "No", "Not assessed", "Not taken", "No"), "correct contraction not confirmed; "),
        (("All true, by finger", "1", "2", "1", "0"), "strength 0 or 1"),
        (("All true, by ultrasound", "Not taken"), "no PERFECT values on record"),
    ],
)
def test_no_dose_without_what_it_needs_and_the_summary_says_why(
    rooms: Rooms, taps: tuple[str, ...], reasons: str
) -> None:
    rooms.therapist.say("/new K7")
    shown = rooms.therapist.press("7", *taps)
    assert f"no dose proposed: {reasons}" in shown
    assert "Breathing low into the belly" in shown
    assert "long hold" not in shown
    rooms.therapist.press("Put in force for K7")
    assert rooms.rows("select count(*) from prescription") == [(1,)]


def test_a_draft_is_kept_and_belongs_to_one_client(rooms: Rooms) -> None:
    """Other messages, other drafts and hours in between change nothing; a thrown-away one is gone."""
    therapist = rooms.therapist
    therapist.say("/new K7")
    therapist.press("1")
    therapist.say("/clients")
    therapist.say("/new K8")
    assert "When was the birth?" in therapist.say("/new K7")
    assert therapist.say("in spring") == (
        "K7: I could not read that as an answer. Please tap one, or type it as the question shows."
    )
    assert "Birth 9 Feb 2026, 3 whole weeks ago" in therapist.say("9.2.26")
    rooms.a_day_on(0.2)
    assert "seconds does she hold it" in therapist.press("All true, by finger", "3")
    assert "modified Oxford" in therapist.press("Back")
    old = dict(therapist.seen[-1].buttons)["4"]
    assert therapist.press("Throw away") == "K7: the draft is thrown away. Nothing was put in force."
    assert rooms.rows("select code from draft") == [("K8",)]
    for made_up in (old, "dr:x:power:3", "dr::", f"{old[:36]}power:99", "room:nudge:x"):
        therapist.do(Press("1", made_up, None))
        assert therapist.seen[-1].text.startswith("That button is from an earlier message"), made_up


def test_a_draft_at_rest_shows_no_answer(rooms: Rooms) -> None:
    rooms.therapist.say("/new K7")
    rooms.therapist.press("7", "All true, by finger", "Not taken", "More findings", "15")
    rooms.therapist.say("tired and anxious, sister is a great help")
    ((content,),) = rooms.rows("select content from draft")
    assert isinstance(content, bytes)
    assert b"sister" not in content
    assert b"answers" not in content


def test_another_therapist_does_not_reach_it(rooms: Rooms) -> None:
    rooms.therapist.say("/new K7")
    button = rooms.therapist.seen[-1].buttons[0][1]
    other = prepared.staff(rooms.clock.now(), rooms.clinic.id, "T2")
    with rooms.store.begin() as tx:
        people.add_staff(tx, other, "REG 0002", None, rooms.clock.now())
    side = rooms.link(other)
    assert side.do(Press("1", button, None)).startswith("That button is from an earlier message")


def test_sets_times_review_and_more_findings(rooms: Rooms) -> None:
    therapist = rooms.therapist
    therapist.say("/new K7")
    therapist.press("7", "All true, by finger", *PERFECT)
    assert "2 sets a day at 09:00, 18:00" in therapist.press("Sets", "2")
    assert "2 sets a day at 08:00, 17:00" in therapist.press("Times", "Earlier")
    therapist.press("Times")
    assert "3 sets a day at 09:15, 13:00, 18:00" in therapist.say("9:15 13:00 and 18:00")
    assert "review on 2026-03-30" in therapist.press("Review", "4")
    shown = therapist.press("More findings")
    assert "1  PERFECT values: 3/5/4//7" in shown
    assert "2  inter-recti distance: not recorded" in shown
    assert "13  clearance: not recorded" in shown
    assert "By whom and on which day?" in therapist.press("13", "2")
    shown = therapist.say("GP, 10 Feb 2026")
    assert "clearance: for pressure and rectus load" in shown
    therapist.press("16")
    assert "16  initials: A.B." in therapist.say("A.B.")
    shown = therapist.press("Back to the summary")
    assert "no clearance for impact" in shown
    therapist.press("Put in force for K7")
    client = rooms.client("K7")
    with rooms.store.begin() as tx:
        file = prescribing.newest(tx, client)
    assert file is not None
    assert client.initials == "A.B."
    assert [str(one.on) for one in file.clearances] == ["2026-02-10"]
    assert [f"{at:%H:%M}" for at in file.programme.nudge_times] == ["09:15", "13:00", "18:00"]


def test_nothing_a_lock_screen_shows_is_a_health_word(rooms: Rooms) -> None:
    """Every message of its own, its first lines and its buttons; what is changed in place rings no bell."""
    therapist = rooms.therapist
    keys = {"template", "birth", *form_asks.ASKS}
    seen: set[str] = set()
    for place in range(1, 9):
        for key in sorted(keys):
            draft = Draft(
                new_id(rooms.clock.now()),
                rooms.staff.id,
                "K123456789-12345",
                DraftKind.NEW,
                key,
                {"template": templates.load().templates[place - 1].id, "birth": "2026-02-09"},
            )
            desk = form.Desk(templates.load(), draft.code, rooms.clock.now().date(), fresh=True)
            finished = speech.finish(speech.to_json(form.screen(draft, desk)), "en")
            assert indiscreet(finished.text) == (), key
            labels = " ".join(label for row in finished.rows for label, _ in row)
            assert indiscreet(labels) == (), key
            assert all(len(data.encode()) <= MAX_DATA_BYTES for row in finished.rows for _, data in row)
            seen.add(finished.text)
    therapist.say("/new K7")
    therapist.press("4")
    therapist.say("9 Feb 2026")
    therapist.press("All true, by finger")
    therapist.say("3/5/4//7")
    therapist.press("2", "Put in force for K7")
    for shown in therapist.seen:
        assert indiscreet(" ".join(shown.labels)) == ()
        if not shown.edited:
            assert indiscreet(shown.text) == (), shown.text


def test_what_stands_against_it_is_said_and_nothing_is_stored(rooms: Rooms) -> None:
    """A code that is taken, a code no file could hold, a birth in the future, a gate of enrolment."""
    therapist = rooms.therapist
    therapist.say("/new K1")
    therapist.press("7", "All true, by finger", *PERFECT, "Put in force for K1")
    assert therapist.say("/new K1").startswith("K1 is a client already.")
    assert therapist.say("K 9!").startswith("A code has 1 to 16 letters")
    therapist.say("K9")
    therapist.press("1")
    assert therapist.say("9 Feb 2027").startswith("K9: I could not read that")
    assert therapist.say("/new").startswith("A new client: which code? Type it, such as K2.")
    therapist.press("K2", "7", "All true, by finger", *PERFECT)
    with rooms.store.begin() as tx:
        chats.unlink(tx, rooms.fallback.chat.owner_id or rooms.staff.id)
    shown = therapist.press("Put in force for K2")
    assert "client K2: no fallback contact has opened the invite" in shown
    assert rooms.rows("select count(*) from client") == [(1,)]


def test_nobody_but_a_registered_therapist_signs(rooms: Rooms) -> None:
    assert rooms.fallback.say("/new K7") == "I do not know that command. /help lists what I can do."
    rooms.therapist.say("/new K7")
    rooms.therapist.press("7", "All true, by finger", *PERFECT)
    with rooms.store.begin() as tx:
        tx.connection.execute(sa.update(tables.staff).values(registration=None))
    shown = rooms.therapist.press("Put in force for K7")
    assert "T1 may not sign; expected a registered therapist of the client's clinic" in shown
    assert rooms.rows("select count(*) from client") == [(0,)]
