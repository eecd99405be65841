"""Invites: one person, one time, a while; a forwarded link, a guess, a changed phone, a lost one.

OWASP Cheat Sheets on forgotten passwords and on authentication (from memory): such a token comes from a
cryptographic source and is too long to be guessed, works once, expires, is stored hashed; tries are slowed
down.
"""

import base64
import datetime as dt
from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from bot.conversation.speech import Say
from bot.domain.delivery import Kind
from bot.domain.people import Role, Stage
from bot.domain.warning_signs import SignRules
from bot.errors import RefusedError
from bot.service import invites, post, setup
from bot.store import chats, people, tables
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.household import ORLA, THERAPIST, Household, document
from tests.fixtures.two_clinics import PLAN
from tests.store import prepared

NEW_PHONE, SOMEBODY, FALLBACK, ADMINISTRATOR = 5_000_000_011, 5_000_000_012, 5_000_000_013, 5_000_000_014
GUESS = "A" * 32


@pytest.fixture
def home(fresh_sqlite: Fresh, clock: MovableClock, rules: SignRules) -> Iterator[Household]:
    """A client and her therapist, a fallback contact and an administrator, all linked."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    made = Household(store, clock, rules)
    made.enrol(document(PLAN))
    with store.begin() as tx:
        clinic = people.clinics(tx)[0]
        for user, code, role in ((FALLBACK, "F1", Role.FALLBACK), (ADMINISTRATOR, "A1", Role.ADMINISTRATOR)):
            staff = prepared.staff(clock.now(), clinic.id, code, role)
            people.add_staff(tx, staff, None, None, clock.now())
            chats.link(tx, chats.chat_of(tx, prepared.BOT, user, clock.now()), role, staff.id, clock.now())
    yield made
    store.close()


def invite(home: Household, code: str = "C1", **more: bool) -> tuple[str, str]:
    """A fresh invite: its code, and the digits."""
    made = setup.invite(home.store.begin, home.clock, None, code, **more)
    return made.code, made.digits


def owner(home: Household, user: int) -> Role:
    with home.store.begin() as tx:
        return chats.chat_of(tx, prepared.BOT, user, home.clock.now()).role


def test_codes_are_random_long_and_kept_as_hashes_only(home: Household) -> None:
    codes = {invite(home)[0] for _ in range(50)}
    assert len(codes) == 50
    assert {len(base64.urlsafe_b64decode(code)) * 8 for code in codes} == {192}  # OWASP asks for at least 64
    with home.store.begin() as tx:
        rows = str(tx.connection.execute(sa.select(tables.invite)).all())
    assert [code for code in codes if code in rows] == []


def test_an_invite_works_once(home: Household) -> None:
    code, digits = invite(home)
    home.say(f"/start {code}", NEW_PHONE)
    assert "please read this" in home.say(digits, NEW_PHONE)[0]
    (again,) = home.say(f"/start {code}", SOMEBODY)
    assert again.startswith("This invite does not work.")


def test_an_invite_expires(home: Household) -> None:
    code, _ = invite(home)
    home.clock.set(home.clock.now() + invites.VALID_FOR)
    assert home.say(f"/start {code}", NEW_PHONE)[0].startswith("This invite does not work.")


def test_a_later_invite_ends_the_earlier_one(home: Household) -> None:
    first, _ = invite(home)
    second, _ = invite(home)
    assert home.say(f"/start {first}", NEW_PHONE)[0].startswith("This invite does not work.")
    assert home.say(f"/start {second}", NEW_PHONE)[0].startswith("Hello. Which four digits")


def test_guessing_is_slowed_down_for_each_sender(home: Household) -> None:
    for _ in range(invites.WRONG_CODES):
        assert home.say(f"/start {GUESS}", SOMEBODY)[0].startswith("This invite does not work.")
    code, _ = invite(home)
    for tried in (GUESS, code):  # the right one is not looked at either, so nothing is learned
        assert home.say(f"/start {tried}", SOMEBODY)[0].startswith("Too many tries")
    assert home.say(f"/start {code}", NEW_PHONE)[0].startswith("Hello. Which four digits")
    home.clock.set(home.clock.now() + invites.WRONG_WITHIN + dt.timedelta(seconds=1))
    assert home.say(f"/start {code}", SOMEBODY)[0].startswith("Hello. Which four digits")


def test_a_forwarded_invite_needs_the_digits_told_aloud(home: Household) -> None:
    code, digits = invite(home)
    wrong = f"{(int(digits) + 1) % 10_000:04}"
    home.say(f"/start {code}", SOMEBODY)
    assert "2 more times" in home.say(wrong, SOMEBODY)[0]
    assert "once more" in home.say(wrong, SOMEBODY)[0]
    assert "closed now" in home.say(wrong, SOMEBODY)[0]
    assert owner(home, SOMEBODY) is Role.STRANGER
    # Closed for her too: the clinic makes another one.
    assert home.say(f"/start {code}", NEW_PHONE)[0].startswith("This invite does not work.")


def test_a_forwarded_invite_of_a_therapist_opens_nothing_either(home: Household) -> None:
    """Who holds only the link sees none of her clients; she stays linked as she was."""
    code, digits = invite(home, "T1")
    assert home.say(f"/start {code}", SOMEBODY) == [
        "Hello. Which four digits were you told with this invite?"
    ]
    wrong = f"{(int(digits) + 1) % 10_000:04}"
    for _ in range(invites.TRIES):
        home.say(wrong, SOMEBODY)
    assert (owner(home, SOMEBODY), owner(home, THERAPIST)) == (Role.STRANGER, Role.THERAPIST)
    assert home.say(digits, SOMEBODY)[0].startswith("Hello. I only talk with people")
    assert home.say("/clients", SOMEBODY)[0].startswith("Hello. I only talk with people")


def test_the_digits_alone_open_nothing(home: Household) -> None:
    _, digits = invite(home)
    assert home.say(digits, SOMEBODY)[0].startswith("Hello. I only talk with people")


def test_a_linked_chat_opens_no_other_invite(home: Household) -> None:
    code, _ = invite(home)
    assert home.say(f"/start {code}", THERAPIST) == [
        "This chat already belongs to someone. An invite opens in a chat of its own."
    ]


def test_a_changed_phone_cuts_the_old_one_off_and_tells_both_sides(home: Household) -> None:
    code, digits = invite(home)
    assert home.say("2")  # until it is opened, the old chat goes on
    home.say(f"/start {code}", NEW_PHONE)
    home.say(digits, NEW_PHONE)
    assert (owner(home, NEW_PHONE), owner(home, ORLA)) == (Role.CLIENT, Role.STRANGER)
    assert home.shown[ORLA][-1].text.startswith("This chat is cut off now")
    assert "now writes from another phone or account" in home.shown[THERAPIST][-1].text
    assert home.say("/week")[0].startswith("Hello. I only talk with people")
    home.press("I agree", NEW_PHONE)
    home.press("Yes", NEW_PHONE)
    assert home.stage is Stage.ACTIVE
    assert "of 3" in home.say("/today", NEW_PHONE)[0]


def test_what_waited_for_the_old_phone_goes_to_the_new_one(home: Household) -> None:
    now = home.clock.now()
    with home.store.begin() as tx:
        chat = chats.chat_of_owner(tx, home.client_id)
        assert chat is not None
        for kind in (Kind.ADVICE, Kind.REPLY):
            said = Say("thanks" if kind is Kind.REPLY else "noted", kind=kind)
            post.put_say(tx, chat, said, f"k:{kind.value}", now, not_before=now + dt.timedelta(hours=1))
    code, digits = invite(home)
    home.say(f"/start {code}", NEW_PHONE)
    home.say(digits, NEW_PHONE)
    home.clock.move(hours=2)
    home.settle()
    assert [shown.text for shown in home.shown[ORLA] if "Noted" in shown.text] == []
    assert [shown.text for shown in home.shown[NEW_PHONE] if shown.text.startswith("Noted")] != []
    assert "Good to hear" not in " ".join(s.text for s in home.shown[ORLA] + home.shown[NEW_PHONE])


def test_a_lost_phone_is_cut_off_at_once(home: Household) -> None:
    before = len(home.shown.get(ORLA, []))
    invite(home, cut_off=True)
    assert owner(home, ORLA) is Role.STRANGER
    home.settle()
    assert len(home.shown.get(ORLA, [])) == before
    assert home.say("/week")[0].startswith("Hello. I only talk with people")


def test_a_therapist_on_another_phone_is_told_to_the_administrator(home: Household) -> None:
    code, digits = invite(home, "T1")
    home.say(f"/start {code}", NEW_PHONE)
    home.say(digits, NEW_PHONE)
    assert owner(home, THERAPIST) is Role.STRANGER
    assert home.shown[ADMINISTRATOR][-1].text.startswith("T1 now uses another phone or account")
    assert home.say("/clients", THERAPIST)[0].startswith("Hello. I only talk with people")


def test_the_administrator_makes_a_fresh_invite_in_chat(home: Household) -> None:
    (shown,) = home.say("/invite C1", ADMINISTRATOR)
    assert "An earlier link does not work any more." in shown
    code = next(word for word in shown.split() if len(word.rpartition("=")[2]) == 32).rpartition("=")[2]
    digits = shown.partition("in the same message: ")[2][:4]
    home.say(f"/start {code}", NEW_PHONE)
    home.say(digits, NEW_PHONE)
    assert owner(home, NEW_PHONE) is Role.CLIENT


def test_words_after_start_are_read_and_kept(home: Household) -> None:
    """They are no code; a worry typed there is answered like any other."""
    first = home.say("/start I soaked two pads in an hour")[0]
    assert "112" in first[:160]
    assert home.say("/today my zebra sings at night")
    with home.store.begin() as tx:
        kept = tx.connection.scalar(sa.select(sa.func.count()).select_from(tables.unread_note))
    assert kept == 2


@pytest.mark.parametrize("code", ["T" * 33, "", "T 1", "T1\n", "Tür"])
def test_a_code_that_fits_no_column_is_refused_in_words(home: Household, code: str) -> None:
    new = setup.NewStaff(code, "Oona Quillfeather", Role.COLLEAGUE)
    with pytest.raises(RefusedError, match="expected 1 to 32 letters, digits and hyphens"):
        setup.add_staff(home.store.begin, home.clock, None, new)


def test_an_erased_client_is_not_invited(home: Household) -> None:
    with home.store.begin() as tx:
        people.set_stage(tx, home.client_id, Stage.ERASED)
    with pytest.raises(RefusedError, match="she was erased"):
        invite(home)
