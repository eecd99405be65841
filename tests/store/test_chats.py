"""Chats, invites, and what a conversation waits for."""

import datetime as dt
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
import sqlalchemy as sa

from bot.domain.people import Chat, Invite, Role
from bot.store import chats, people, tables
from bot.store.base import INSTALLATION, Store, Tx
from bot.store.ids import new_id
from tests.fixtures.clock import MovableClock
from tests.store import prepared
from tests.store.prepared import BOT

ANNA, BETH = 7_700_900_101, 7_700_900_102  # numbers as the platform gives them, beyond 32 bits
CODE = "a-code-of-an-invite"


def count(tx: Tx, table: sa.Table) -> int:
    return tx.connection.scalar(sa.select(sa.func.count()).select_from(table)) or 0


def sealed_by(tx: Tx, chat: Chat) -> uuid.UUID:
    query = sa.select(tables.chat.c.user_id).where(tables.chat.c.id == chat.id)
    return uuid.UUID(bytes=bytes(tx.connection.scalars(query).one()[1:17]))


def test_a_stranger_gets_one_chat(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        first = chats.chat_of(tx, BOT, ANNA, clock.now())
    with store.begin() as tx:
        assert chats.chat_of(tx, BOT, ANNA, clock.move(days=1)) == first
        assert chats.chat_of(tx, BOT, BETH, clock.now()).id != first.id
        assert (first.role, first.owner_id, first.user_id) == (Role.STRANGER, None, ANNA)
        assert count(tx, tables.chat) == 2


def test_with_another_bot_it_is_another_chat(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        assert chats.chat_of(tx, BOT, ANNA, clock.now()) != chats.chat_of(tx, "4343", ANNA, clock.now())


def test_a_chat_made_by_two_at_once_is_one(postgresql_store: Store, clock: MovableClock) -> None:
    def second() -> Chat:
        with postgresql_store.begin() as tx:
            return chats.chat_of(tx, BOT, ANNA, clock.now())

    with ThreadPoolExecutor(1) as thread:
        with postgresql_store.begin() as tx:
            first = chats.chat_of(tx, BOT, ANNA, clock.now())
            other = thread.submit(second)
            prepared.wait_until_blocked(postgresql_store)
        assert other.result(20) == first


def test_linking_seals_her_number_with_her_own_key(store: Store, clock: MovableClock) -> None:
    """Destroying her key then erases it. Cutting the link makes her a stranger again."""
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        stranger = chats.chat_of(tx, BOT, ANNA, clock.now())
        assert sealed_by(tx, stranger) == INSTALLATION
        linked = chats.link(tx, stranger, Role.CLIENT, anna.id, clock.now())
        assert linked == Chat(stranger.id, Role.CLIENT, anna.id, ANNA)
        assert sealed_by(tx, stranger) == anna.id
    with store.begin() as tx:
        assert chats.chat_of(tx, BOT, ANNA, clock.now()) == linked
        assert chats.chat_of_owner(tx, anna.id) == linked
        chats.unlink(tx, anna.id)
        assert chats.chat_of_owner(tx, anna.id) is None
        assert chats.chat_of(tx, BOT, ANNA, clock.now()) == stranger
        assert sealed_by(tx, stranger) == INSTALLATION


def test_a_person_has_one_chat(store: Store, clock: MovableClock) -> None:
    """Otherwise an alert could go to the phone she no longer has."""
    now = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        chats.link(tx, chats.chat_of(tx, BOT, ANNA, now), Role.CLIENT, anna.id, now)
    with store.begin() as tx, pytest.raises(sa.exc.IntegrityError):
        chats.link(tx, chats.chat_of(tx, BOT, BETH, now), Role.CLIENT, anna.id, now)
    with store.begin() as tx:
        chats.unlink(tx, anna.id)
        moved = chats.link(tx, chats.chat_of(tx, BOT, BETH, now), Role.CLIENT, anna.id, now)
        assert chats.chat_of_owner(tx, anna.id) == moved


def test_that_a_chat_is_gone_is_news_once(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        chat = chats.chat_of(tx, BOT, ANNA, clock.now())
        chats.link(tx, chat, Role.CLIENT, anna.id, clock.now())
        gone_at = clock.move(hours=1)
        assert not chats.set_gone(tx, chat.id, None)
        assert chats.set_gone(tx, chat.id, gone_at)
        assert not chats.set_gone(tx, chat.id, clock.move(hours=1))
        assert chats.gone_since(tx, [anna.id, beth.id]) == {anna.id: gone_at}
        assert chats.set_gone(tx, chat.id, None)
        assert chats.gone_since(tx, [anna.id, beth.id]) == {}
        assert chats.gone_since(tx, []) == {}


def test_linking_anew_brings_a_chat_back(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        chat = chats.chat_of(tx, BOT, ANNA, clock.now())
        chats.set_gone(tx, chat.id, clock.now())
        chats.link(tx, chat, Role.CLIENT, anna.id, clock.now())
        assert chats.gone_since(tx, [anna.id]) == {}


# Invites


def invited(tx: Tx, now: dt.datetime, code: str = CODE, subject: uuid.UUID | None = None) -> Invite:
    """An invite for a client, with the second fact 0417."""
    if subject is None:
        subject = prepared.enrol(tx, now)[0].id
    ends_at = now + dt.timedelta(days=14)
    invite = Invite(new_id(now), Role.CLIENT, subject, ends_at, 0, closed=False)
    chats.add_invite(tx, invite, code, "0417", now)
    return invite


def test_an_invite_is_found_by_its_code_alone(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        invite = invited(tx, clock.now())
    with store.begin() as tx:
        assert chats.invite_by_code(tx, CODE) == invite
        assert chats.invite_by_code(tx, CODE.upper()) is None
        assert chats.invite_by_code(tx, "") is None


def test_neither_the_code_nor_the_fact_is_stored(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        invited(tx, clock.now())
        row = tx.connection.execute(sa.select(tables.invite)).one()
    assert len(row.code_hash) == len(row.fact_hash) == 32
    assert CODE not in str(row)
    assert "0417" not in str(row)


def test_a_new_invite_withdraws_the_earlier_one(store: Store, clock: MovableClock) -> None:
    """One link works at a time, and somebody else's is left alone."""
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        for code, subject in (("first", anna.id), ("other", beth.id), ("second", anna.id)):
            invited(tx, clock.now(), code, subject)
        found = {code: chats.invite_by_code(tx, code) for code in ("first", "other", "second")}
    assert {code: invite.closed for code, invite in found.items() if invite is not None} == {
        "first": True,
        "other": False,
        "second": False,
    }


def test_the_second_fact_opens_and_a_wrong_one_counts(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        invite = invited(tx, clock.now())
        assert not chats.fact_fits(tx, invite.id, "0418")
        assert not chats.fact_fits(tx, invite.id, "")
        assert chats.fact_fits(tx, invite.id, "0417")
        found = chats.invite_by_code(tx, CODE)
    assert found is not None
    assert found.tries == 2


def test_who_opened_an_invite_is_remembered_until_it_is_closed(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        invite = invited(tx, clock.now())
        assert chats.invite_opened_by(tx, ANNA) is None
        chats.open_invite(tx, invite.id, ANNA)
        assert chats.invite_opened_by(tx, ANNA) == invite
        assert chats.invite_opened_by(tx, BETH) is None
        assert chats.close_invite(tx, invite.id, "used", clock.now())
        assert chats.invite_opened_by(tx, ANNA) is None


def test_of_two_invites_she_opened_the_later_one_asks(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        first = invited(tx, clock.now(), "first", anna.id)
        second = invited(tx, clock.move(minutes=1), "second", beth.id)
        for invite in (second, first):
            chats.open_invite(tx, invite.id, ANNA)
        assert chats.invite_opened_by(tx, ANNA) == second


def test_an_invite_is_closed_once(store: Store, clock: MovableClock) -> None:
    """Two people who open one link at the same moment: one of them is told that it works no more."""
    with store.begin() as tx:
        invite = invited(tx, clock.now())
        assert chats.close_invite(tx, invite.id, "used", clock.now())
        assert not chats.close_invite(tx, invite.id, "refused", clock.now())
        row = tx.connection.execute(sa.select(tables.invite)).one()
        found = chats.invite_by_code(tx, CODE)
    assert row.closed_as == "used"
    assert found is not None
    assert found.closed


def test_wrong_codes_are_counted_for_each_chat_and_for_a_while(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = (chats.chat_of(tx, BOT, person, clock.now()) for person in (ANNA, BETH))
        for _ in range(3):
            chats.add_wrong_code(tx, anna.id, clock.move(minutes=10))
        hour = dt.timedelta(hours=1)
        assert chats.wrong_codes(tx, anna.id, clock.now() - hour) == 3
        assert chats.wrong_codes(tx, beth.id, clock.now() - hour) == 0
        assert chats.wrong_codes(tx, anna.id, clock.move(minutes=55) - hour) == 1


# What a conversation waits for


def test_what_a_conversation_waits_for_is_replaced_and_forgotten(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        assert chats.waiting(tx, anna.id) is None
        chats.wait(tx, anna.id, {"for": "count", "on": "2026-03-02", "said": "zwölf?"}, clock.now())
        chats.wait(tx, beth.id, {"for": "zone"}, clock.now())
        chats.wait(tx, anna.id, {"for": "note"}, clock.now())
    with store.begin() as tx:
        assert chats.waiting(tx, anna.id) == {"for": "note"}
        chats.wait(tx, anna.id, None, clock.now())
        assert chats.waiting(tx, anna.id) is None
        assert chats.waiting(tx, beth.id) == {"for": "zone"}
        # Only what began to wait after an instant, where that is asked for.
        assert chats.waiting(tx, beth.id, clock.now()) is None
        assert chats.waiting(tx, beth.id, clock.now() - dt.timedelta(seconds=1)) == {"for": "zone"}
        assert people.client_by_id(tx, beth.id) == beth
