"""A clinic's facts and people, shown and changed on the command line, each change on record."""

import datetime as dt
import os
from dataclasses import replace
from pathlib import Path

import pytest

from bot.clock import SystemClock
from bot.domain.people import Role
from bot.service import housekeeping
from bot.store import chats, facts, people
from bot.store.base import Store
from tests.commands.test_duty_verb import Run, run
from tests.fixtures import offices
from tests.store import prepared

BY = "--recorded-by=Maeve Lanternhill"
TODAY = SystemClock().now().date()
__all__ = ["run"]


@pytest.fixture
def store(run: Run, tmp_path: Path) -> Store:
    """The database of the verbs, opened beside them with the keys they have."""
    assert run("people")[0] == 0
    url = f"sqlite:///{tmp_path / 'programme.sqlite3'}"
    return prepared.open_store(url, SystemClock().now(), os.environ["DATA_KEYS"])


def link(store: Store, code: str, user: int) -> None:
    """Somebody of the clinic opens her invite."""
    now = SystemClock().now()
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        staff = people.staff_by_code(tx, clinic.id, code)
        assert staff is not None
        chats.link(tx, chats.chat_of(tx, prepared.BOT, user, now), staff.role, staff.id, now)


def client_of(store: Store, code: str, therapist: str) -> None:
    """A client of hers."""
    now = SystemClock().now()
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        staff = people.staff_by_code(tx, clinic.id, therapist)
        assert staff is not None
        people.add_client(tx, prepared.client(now, staff, code), now)


def test_facts_are_shown_changed_and_on_record(run: Run) -> None:
    code, shown = run("clinic")
    assert code == 0
    facts = dict(line.split(": ", 1) for line in shown)
    assert run("clinic")[1] == shown
    wanted = ("--hours", "mon-thu 08:30-16:00; sat 09:00-12:00", "--closed-on", "2027-12-24,2027-12-25")
    code, after = run("clinic", *wanted, "--phone", "020 910 0144", BY)
    assert code == 0
    changed = dict(line.split(": ", 1) for line in after)
    assert changed == facts | {
        "hours": "mon-thu 08:30-16:00; sat 09:00-12:00",
        "closed-on": "2027-12-24,2027-12-25",
        "phone": "020 910 0144",
    }
    log = run("clinic", "--changes")[1]
    assert len(log) == 3
    assert f" hours: {facts['hours']} -> mon-thu 08:30-16:00; sat 09:00-12:00, Maeve Lanternhill" in log[0]
    assert any(f" phone: {facts['phone']} -> 020 910 0144, Maeve Lanternhill" in line for line in log)
    # The same again changes nothing and is not recorded.
    assert run("clinic", "--phone", "020 910 0144", BY)[0] == 0
    assert len(run("clinic", "--changes")[1]) == 3


A_REFUSAL_NAMES_THE_FIELD = [
    (("--phone", "020 910 0144"), "--recorded-by: expected the full name of who makes the change"),
    (("--phone", "call us", BY), "--phone: 'call us' is not a phone number"),
    (("--hours", "always", BY), "--hours: 'always'; expected such as"),
    (("--closed-on", "Christmas", BY), "--closed-on: 'Christmas'; expected dates"),
    (("--digest-at", "25:00", BY), "--digest-at: '25:00'; expected a time"),
    (("--emergency-number", "911", BY), "--emergency-number: 911; in"),
]


def test_a_refusal_names_the_field(run: Run) -> None:
    before = run("clinic")[1]
    for arguments, line in A_REFUSAL_NAMES_THE_FIELD:
        code, said = run("clinic", *arguments)
        assert code == 2
        assert [one for one in said if one.startswith(line)], said
        assert run("clinic")[1] == before
        assert run("clinic", "--changes")[1] == [""]


def test_a_new_digest_day_moves_the_next_digest(run: Run, store: Store) -> None:
    def due() -> dt.datetime | None:
        with store.begin() as tx:
            return people.next_digest_at(tx)

    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    for name in ("mon", "sun"):
        assert run("clinic", "--digest-day", name, "--digest-at", "10:30", BY)[0] == 0
        at = due()
        assert at is not None
        assert days[at.weekday()] == name


def test_people_are_listed_and_changed(run: Run, store: Store) -> None:
    link(store, "C1", 7_700_900_001)
    assert run("people")[1] == [
        "T1, Nuala, therapist, has not opened the invite, 0 clients",
        "C1, Orla, colleague, linked",
    ]
    changed = run("people", "T1", "--name", "Nuala Brackenfield", "--hours", "mon-wed 09:00-15:00", BY)
    assert changed == (
        0,
        [
            "T1, Nuala Brackenfield, therapist, has not opened the invite, 0 clients, mon-wed 09:00-15:00",
        ],
    )
    assert run("people", "T1", "--hours", "clinic", BY)[1][0].endswith("0 clients")
    assert run("people", "T1", "--registration", "D2", BY)[0] == 0
    assert [line.split(" ", 2)[2] for line in run("clinic", "--changes")[1]] == [
        "T1 name: Nuala -> Nuala Brackenfield, Maeve Lanternhill",
        "T1 hours: - -> mon-wed 09:00-15:00, Maeve Lanternhill",
        "T1 hours: mon-wed 09:00-15:00 -> clinic, Maeve Lanternhill",
        "T1 registration: - -> D2, Maeve Lanternhill",
    ]


A_REFUSAL_ABOUT_A_PERSON_NAMES_THE_FIELD = [
    (("T9", "--name", "X", BY), "T9: nobody in clinic lantern-yard has this code"),
    (("T1", "--name", " ", BY), "--name: expected a name"),
    (("T1", "--hours", "late", BY), "--hours: 'late'; expected such as"),
    (("C1", "--hours", "mon 09:00-10:00", BY), "--hours: only a therapist has working hours"),
    (("C1", "--registration", "D9", BY), "--registration: expected the registration number"),
    (("T1", "--leaves-on", "2020-01-01", BY), "--leaves-on: 2020-01-01 is past"),
    (("T1", "--name", "Nuala B."), "--recorded-by: expected the full name"),
    (("--name", "X", BY), "code: expected the code of whom it is about"),
    (("T1", "--stays", "--leaves-on", "2030-01-01", BY), "--stays: given with --leaves-on"),
]


def test_a_refusal_about_a_person_names_the_field(run: Run) -> None:
    before = run("people")[1]
    for arguments, line in A_REFUSAL_ABOUT_A_PERSON_NAMES_THE_FIELD:
        code, said = run("people", *arguments)
        assert code == 2
        assert said[0].startswith(line)
        assert run("people")[1] == before


def test_who_leaves_hands_her_clients_over_first(run: Run, store: Store) -> None:
    """Clients, one on loan, a duty and the last fallback contact each stand in the way; then she goes."""
    assert run("add-therapist", "T2", "--name=Grania", "--registration=D2")[0] == 0
    assert run("add-fallback", "F1", "--name=Una")[0] == 0
    for user, code in enumerate(("T1", "T2", "F1", "C1"), 7_700_900_001):
        link(store, code, user)
    for code in ("K1", "K2"):
        client_of(store, code, "T1")
    assert run("duty", "on-call", "T1", "--hours", "mon-sun 17:00-09:00")[0] == 0
    last = str(TODAY + dt.timedelta(days=30))
    said = run("people", "T1", "--leaves-on", last, BY)
    assert said[0] == 2
    assert said[1][0].startswith("--leaves-on: T1 has 2 clients; hand them over first")
    assert said[1][1].startswith("--leaves-on: T1 is named for on-call; end that first")
    until = str(TODAY + dt.timedelta(days=10))
    assert run("hand-over", "T1", "T2", "K1", "--until", until, BY) == (0, ["handed over to T2: K1"])
    assert any(
        "with a colleague until a day" in line for line in run("people", "T1", "--leaves-on", last, BY)[1]
    )
    assert run("hand-over", "T1", "--back", BY) == (0, ["back: 1"])
    assert run("hand-over", "T1", "T2", BY) == (0, ["handed over to T2: K1, K2"])
    assert run("duty", "on-call", "T1", "--end")[0] == 0
    assert run("people", "T1", "--leaves-on", last, BY)[1][0].endswith(f"0 clients, last day {last}")
    assert run("hand-over", "T2", "T1", "K1", BY)[1] == ["T1 leaves the clinic before that."]
    assert run("people", "F1", "--leaves-on", last, BY)[1][0].startswith(
        "--leaves-on: F1 is the only fallback"
    )
    said = run("duty", "on-call", "T1", "--hours", "mon-sun 17:00-09:00")
    assert said == (2, [f"T1: leaves the clinic on {last}; expected somebody who stays"])
    assert run("people", "T1", "--stays", BY)[1][0].endswith("0 clients")
    assert run("people", "T1", "--leaves-on", str(TODAY), BY)[0] == 0


def test_after_her_last_day_her_chat_is_cut(run: Run, store: Store) -> None:
    assert run("add-therapist", "T2", "--name=Grania", "--registration=D2")[0] == 0
    link(store, "T2", 7_700_900_002)
    assert run("people", "T2", "--leaves-on", str(TODAY), BY)[0] == 0

    class Later:
        def now(self) -> dt.datetime:
            return SystemClock().now() + dt.timedelta(days=self.days)

        days = 0

    clock = Later()
    office = offices.make(store, clock)

    def linked() -> bool:
        housekeeping.run(office)
        return run("people")[1][1].split(", ")[3] == "linked"

    assert linked()
    clock.days = 2
    assert not linked()
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        second = people.staff_of(tx, clinic.id, Role.THERAPIST)[1]
        assert not chats.has_open_invite(tx, second.id)
        facts.set_person(tx, replace(second, leaves_on=TODAY - dt.timedelta(days=2)), None)
    assert run("invite", "T2")[1] == ["T2: has left the clinic"]


A_HAND_OVER_THAT_CANNOT_BE = [
    (("T1",), "taker: expected the code"),
    (("T1", "T1", BY), "T1 has them now. Please name a colleague."),
    (("T1", "T2"), "--recorded-by: expected the full name"),
    (("T1", "T9", BY), "T9: nobody in clinic lantern-yard"),
    (("T1", "C1", BY), "C1 is not a therapist of your clinic."),
    (("T1", "C1", "K9", BY), "K9: not a client that T1 can hand over"),
]


def test_a_hand_over_that_cannot_be(run: Run) -> None:
    for arguments, line in A_HAND_OVER_THAT_CANNOT_BE:
        code, said = run("hand-over", *arguments)
        assert code == 2
        assert said[0].startswith(line)
