"""A clinic's administrator in chat: people, cover, facts, clients by code; nothing a client said."""

import datetime as dt
from collections.abc import Iterator

import pytest

from bot.domain.duties import Duty, Named
from bot.domain.people import Role
from bot.errors import RefusedError
from bot.service import duties, setup
from bot.store import chats, erase
from bot.store.base import Tx
from tests.fixtures.clock import MovableClock
from tests.fixtures.two_clinics import TwoClinics, typed
from tests.store import prepared

NOW = dt.datetime(2026, 3, 2, 10, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TwoClinics]:
    clock = MovableClock(NOW)
    url = f"sqlite:///{tmp_path_factory.mktemp('administrator') / 'two.sqlite'}"
    prepared.at_head(url)
    store = prepared.open_store(url, clock.now())
    yield TwoClinics(store, clock)
    store.close()


def asks(house: TwoClinics, text: str, clinic: str = "here") -> str:
    """What an administrator is answered."""
    user = (house.here if clinic == "here" else house.there).staff["administrator"].user
    outcome = house.send(typed(user, text))
    assert outcome.handled
    (answer,) = [letter for letter in outcome.letters if letter.chat == outcome.sender]
    return answer.text.partition("}")[2] or answer.text


def test_people_with_their_roles_and_whether_they_are_linked(house: TwoClinics) -> None:
    def cut_off(tx: Tx) -> None:
        chats.unlink(tx, house.here.staff["second"].owner.id)

    user = house.here.staff["administrator"].user
    outcome = house.send(typed(user, "/people"), cut_off)
    text = outcome.letters[-1].text
    assert "T1 Alder Yard therapist, therapist, linked" in text
    assert "T2 Alder Yard second, therapist, has not opened the invite" in text
    assert "F1 Alder Yard fallback, fallback contact, linked" in text
    assert "C1 Alder Yard on call, colleague with a duty, linked" in text
    assert "A1 Alder Yard administrator, administrator, linked" in text


def test_clients_by_code_without_a_word_about_them(house: TwoClinics) -> None:
    text = asks(house, "/clients")
    assert text.endswith("Clients, with their therapist:\nK1, T1, takes part\nK2, T2, takes part")
    for her in house.targets.values():
        assert [word for word in her.words if word in text] == []
    assert asks(house, "/clients", "there").endswith("K1, T1, takes part\nK9, T1, takes part")


def test_cover_and_clinic_facts_of_her_own_clinic(house: TwoClinics) -> None:
    assert "on_call, C1" in asks(house, "/cover")
    assert "on_call" not in asks(house, "/cover", "there")
    facts = asks(house, "/clinic")
    for part in ("020 910 0131", "112", "Monday 09:00 to 12:30, 13:15 to 17:00", "17 Mar 2026", "Alder Yard"):
        assert part in facts
    assert "not recorded yet" in facts
    assert "020 910 0131" not in asks(house, "/clinic", "there")

    def keep(tx: Tx) -> None:
        erase.set_retention(tx, house.here.clinic.id, 8, NOW)

    outcome = house.send(typed(house.here.staff["administrator"].user, "/clinic"), keep)
    assert "Records are kept for 8 years." in outcome.letters[-1].text


def test_a_fresh_invite_with_digits_that_are_told_aloud(house: TwoClinics) -> None:
    for code in ("K1", "T2"):
        made = asks(house, f"/invite {code}")
        assert f"A link for {code}" in made
        assert "Tell her these digits aloud, never in the same message: " in made
    assert asks(house, "/invite").endswith("/people and /clients show the codes.")
    assert asks(house, "/invite K9").endswith("Nobody in your clinic has the code K9.")


def test_what_she_types_goes_nowhere(house: TwoClinics) -> None:
    assert asks(house, "K1 is unwell").endswith(
        "I could not use that. It was not sent to anybody.\n/help tells what I can do."
    )


def test_she_is_added_like_anybody_and_told_what_she_sees(house: TwoClinics) -> None:
    with pytest.raises(RefusedError, match="somebody with this code already"):
        setup.add_staff(
            house.store.begin, house.clock, "alpha", setup.NewStaff("A1", "Ida Vell", Role.ADMINISTRATOR)
        )
    made: list[str] = []

    def add(tx: Tx) -> None:
        del tx

    new = setup.NewStaff("A2", "Ida Vell", Role.ADMINISTRATOR)
    house.do(lambda office: made.append(setup.add_staff(office.begin, house.clock, "alpha", new).code), add)
    assert len(made[0]) == 32


def test_she_is_given_no_duty_that_shows_alerts(house: TwoClinics) -> None:
    with pytest.raises(RefusedError, match="A1: an administrator is shown no alert"):
        duties.name(house.store.begin, house.clock, "alpha", Named(Duty.SAFEGUARDING), "A1", None)
