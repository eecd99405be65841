"""Whatever a client sends, nothing breaks, and she is answered or it is filed for her therapist."""

import datetime as dt
import random
import uuid
from collections.abc import Iterator
from dataclasses import replace

import pytest

from bot.conversation import client
from bot.conversation.effects import FileNote, RaiseAlert
from bot.conversation.incoming import Body, Command, Media, Text, typed
from bot.conversation.view import ClientView
from bot.domain.contacts import ClinicCard
from bot.domain.day_book import DayBook
from bot.domain.delivery import Kind
from bot.domain.levels import Level
from bot.domain.people import Client, Stage
from bot.domain.prescription import Contractions, InForce, Position, Prescription
from bot.domain.track import Pause
from bot.domain.warning_signs import hear
from bot.rules import signs
from tests.corpora import signs_table

NOW = dt.datetime(2026, 3, 4, 2, 10, tzinfo=dt.UTC)
OPEN = {day: ((dt.time(9), dt.time(17)),) for day in range(5)}
PRESCRIPTION = Prescription(
    contractions=(Contractions("squeeze-long", 8, 6, 6, Position.LYING),),
    sets_a_day=3,
    days=frozenset(range(7)),
    nudge_times=(dt.time(9), dt.time(13), dt.time(18)),
    quiet_from=dt.time(21),
    quiet_to=dt.time(8),
    round_up_at=dt.time(20),
    check_in_day=6,
    check_in_questions=("leaks", "pain"),
    starts_on=dt.date(2026, 2, 23),
    review_on=dt.date(2026, 4, 20),
)
VIEW = ClientView(
    client=Client(
        uuid.UUID(int=1),
        uuid.UUID(int=2),
        uuid.UUID(int=3),
        "K1",
        None,
        "Europe/Dublin",
        "en",
        Stage.ACTIVE,
        True,
    ),
    card=ClinicCard(
        "Invented Clinic", "Europe/Dublin", "020 911 2345", "020 911 2346", "112", OPEN, frozenset()
    ),
    now=NOW,
    said_at=NOW,
    versions=(InForce(1, PRESCRIPTION),),
    book=DayBook({NOW.date(): 1}, frozenset()),
    waiting=None,
    pause=None,
    open_alerts=(),
    baseline={},
    laters=0,
    digest_day=0,
    rules=signs.load(),
)
VIEWS = (
    VIEW,
    replace(VIEW, versions=()),
    replace(VIEW, pause=Pause(None, "warning")),
    replace(VIEW, pause=Pause(dt.date(2026, 3, 9), "own")),
    replace(VIEW, waiting={"for": "sure"}),
    replace(VIEW, waiting={"for": "numb", "at": 0, "times": 1}),
    replace(VIEW, waiting={"for": "zone"}),
    replace(VIEW, waiting={"for": "pause"}),
    replace(VIEW, waiting={"for": "time", "place": 0}),
    replace(VIEW, baseline={"leaks": 3, "pain": 4}),
)
ODD = (
    "\u200b\u200d\u2060\ufeff\u00ad\u202e\u202d\u200f\u0301\u0489\ufe0f\U0001f9b5\U0001fa78\U0001f62d\U0001f469\u200d\U0001f37c"
    "\u0430\u0435\u043e\u03bf\u0131\uff41\U0001d41aאבגدخل中文字ไทยहिन\t\n\r\x00\x1b\x7f'\"\\{}%$<>&;:/0123456789.,!?-_*()[]"
)
WORDS = tuple(
    sorted(
        {
            word
            for name in signs_table.FILES[:3]
            for said in signs_table.labelled(name)
            for word in said.text.split()
        }
    )
)
SAID = tuple(said.text for name in signs_table.FILES for said in signs_table.labelled(name))


def mutated(text: str, dice: random.Random) -> str:
    """A message typed badly: letters lost, doubled or swapped, odd ones, no spaces, capitals."""
    letters = list(text)
    for _ in range(dice.randint(0, 6)):
        place = dice.randrange(len(letters) + 1)
        match dice.randrange(6):
            case 0:
                letters[place : place + 1] = []
            case 1:
                letters[place:place] = letters[place : place + 1] * dice.randint(1, 4)
            case 2:
                letters[place : place + 2] = reversed(letters[place : place + 2])
            case 3:
                letters[place:place] = dice.choice(ODD)
            case 4:
                letters[place : place + 1] = [" "]
            case _:
                letters[place : place + 1] = dice.choice("abcdefghijklmnopqrstuvwxyz")
    text = "".join(letters)
    match dice.randrange(12):
        case 0:
            return text.upper()
        case 1:
            return text.replace(" ", "")
        case 2:
            return f"{text} {dice.choice(SAID)}"
        case 3:
            return " ".join([text] * dice.randint(2, 10))[:4096]
        case 4:
            return text[::-1]
        case _:
            return text


def texts(dice: random.Random) -> Iterator[str]:
    """Messages without end: mutated ones, words or characters in any order, now and then very long."""
    while True:
        match dice.randrange(20):
            case 0:
                yield "".join(dice.choices(ODD, k=dice.randint(0, 60)))
            case 1:
                yield "".join(chr(dice.randrange(1, 0x10FFFF)) for _ in range(dice.randint(0, 40)))
            case 2 | 3 | 4:
                yield " ".join(dice.choices(WORDS, k=dice.randint(1, 25)))
            case 5 if dice.randrange(50) == 0:
                yield " ".join(dice.choices(WORDS, k=900))[:4096]
            case _:
                yield mutated(dice.choice(SAID), dice)


def body(text: str, dice: random.Random) -> Body:
    """The text in one of the ways in which it can come."""
    match dice.randrange(12):
        case 0:
            return Media("photo", text)
        case 1:
            return Text(text, edited=True, message_id=7)
        case 2:
            return Command("frobnicate", text)
        case _:
            return Text(text, message_id=7)


def check(times: int, seed: int) -> None:
    """So many messages, each to a client in some state."""
    dice = random.Random(seed)
    for _, text in zip(range(times), texts(dice), strict=False):
        view, said = dice.choice(VIEWS), body(text, dice)
        turn = client.step(view, said)
        filed = [effect for effect in turn.effects if isinstance(effect, FileNote)]
        assert turn.says or filed, (said, view.waiting)
        heard = hear(typed(said) or "", VIEW.rules)
        if heard.level in (Level.EMERGENCY, Level.SAME_DAY):
            assert turn.says[0].kind is Kind.ADVICE, said
            assert isinstance(turn.effects[0], RaiseAlert), said


def test_a_few_thousand_odd_messages() -> None:
    check(2000, seed=1)


@pytest.mark.slow
def test_two_hundred_thousand_odd_messages() -> None:
    check(200_000, seed=2)
