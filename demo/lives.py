"""Six invented clients and their therapist, as plans: who does what, on which day, at which wall time.

A plan is drawn from a seed and knows nothing of the chat: `demo/playing.py` carries it out. Days count from
0, the Monday on which everybody joins. Each deed also says what its person means by it, so that a checker can
hold what was booked against what was meant.
"""

import datetime as dt
import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

FIRST_DAY = dt.date(2026, 3, 2)
WEEK = 7
MON, TUE, WED, THU, FRI, SAT, SUN = range(WEEK)
THREE_A_DAY = ("08:30", "13:00", "18:30")
TWO_A_DAY = ("08:30", "18:30")
ABROAD = ("08:00", "18:00")
OFTEN = 0.8  # of the nudges a client answers who is not the steady one
FORM_ON = 18  # the steady one tells how her sets go, some days after she was asked
SILENT = range(10, 21)
ILL = range(2, 5)
HOLIDAY = range(8, 15)


@dataclass(frozen=True)
class OneDone:
    """One more set is done: she taps *Done* where a message offers it, else types the day's total."""


@dataclass(frozen=True)
class Writes:
    """A text or a command.

    totals: what she means to have done, by days back (0 is today); more: so many on top. unread: a person has
    to read it. warns: it has to be kept as an alert. symptoms: how many figures about symptoms it holds.
    """

    text: str
    totals: Mapping[int, int] = field(default_factory=dict)
    more: int = 0
    unread: bool = False
    warns: bool = False
    symptoms: int = 0


@dataclass(frozen=True)
class TapsTotal:
    """A number under an evening question, or under the question about yesterday (`days_back` 1)."""

    number: int
    days_back: int = 0


@dataclass(frozen=True)
class Taps:
    """Any other button by its label, of the newest message that shows it; symptoms: answers it gives."""

    label: str
    symptoms: int = 0


@dataclass(frozen=True)
class TapsTwice:
    """*Done*, pressed twice on one message: she meant one set."""


@dataclass(frozen=True)
class TakesBack:
    """*Undo* under the newest report: it was a slip."""


@dataclass(frozen=True)
class TapsGone:
    """The first *Done* of a day gone by, on a screen that still shows the button. counts: it is one set."""

    days_back: int
    counts: bool


@dataclass(frozen=True)
class Answers:
    """The weekly questions in order, by the labels of the answers; warns: alerts that come of them."""

    labels: tuple[str, ...]
    warns: int = 0


@dataclass(frozen=True)
class Sends:
    """A photo, voice note and the like, with or without words; somebody has to be told of it."""

    kind: str
    caption: str = ""


Deed = OneDone | Writes | TapsTotal | Taps | TapsTwice | TakesBack | TapsGone | Answers | Sends


@dataclass(frozen=True)
class Act:
    """A deed at a wall time of its person's own zone."""

    day: int
    at: dt.time
    deed: Deed


Plan = Iterator[Act]


@dataclass(frozen=True)
class Life:
    """A client. The file of her programme is named after her code; `joins_at` is in the clinic's zone."""

    code: str
    name: str
    joins_at: dt.time
    plan: Callable[[random.Random, int], Plan]


def _clock(text: str, later_min: int = 0) -> dt.time:
    at = dt.datetime.combine(FIRST_DAY, dt.time.fromisoformat(text))
    return (at + dt.timedelta(minutes=later_min)).time()


def _soon(rng: random.Random, text: str) -> dt.time:
    """Some minutes after a nudge."""
    return _clock(text, rng.randint(2, 40))


def _answers(days: int, weekday: int, at: str, *weeks: Answers | None) -> Plan:
    """One set of answers a week, or none."""
    for week, deed in enumerate(weeks):
        if deed is not None and week * WEEK + weekday < days:
            yield Act(week * WEEK + weekday, _clock(at), deed)


def steady(rng: random.Random, days: int) -> Plan:
    """Taps *Done* after nearly every nudge, now and then an hour later."""
    for day in range(days):
        for at in THREE_A_DAY:
            match rng.randrange(16):
                case 0:
                    continue
                case 1 if at != THREE_A_DAY[-1]:
                    yield Act(day, _clock(at, 3), Taps("Later"))
                    yield Act(day, _clock(at, 3), Taps("In an hour"))
                    yield Act(day, _clock(at, 70), OneDone())
                case _:
                    yield Act(day, _soon(rng, at), OneDone())
    yield Act(3, _clock("21:05"), Writes("/today"))
    yield Act(9, _clock("13:59"), Writes("thank you!"))
    yield Act(FORM_ON, _clock("21:20"), Taps("Yes, all three", symptoms=1))
    some, none = Answers(("1 to 2", "0", "0")), Answers(("0", "0", "0"))
    yield from _answers(days, SUN, "20:41", some, some, none, none)


def _typed_day(rng: random.Random, day: int) -> Plan:
    """One of her ways to tell how a day went. On Wednesdays the weekly questions stand for the round-up."""
    way = rng.choice(("bit by bit", "evening", "round-up", "mistaken", "next day", "none"))
    if way == "round-up" and day % WEEK == WED:
        way = "evening"
    match way:
        case "bit by bit":
            yield Act(day, _soon(rng, "10:00"), Writes(rng.choice(("one", "1 done", "just the one")), {0: 1}))
            yield Act(
                day, _soon(rng, "17:00"), Writes(rng.choice(("one more", "and another one", "+1")), more=1)
            )
        case "evening":
            text = rng.choice(("two today", "both done", "two, both after lunch", "did 2 today"))
            yield Act(day, _clock("19:20"), Writes(text, {0: 2}))
        case "round-up":
            yield Act(day, _clock("20:06"), TapsTotal(rng.choice((1, 2, 2))))
        case "mistaken":
            yield Act(day, _clock("17:30"), Writes("two", {0: 2}))
            yield Act(day, _clock("17:32"), Writes("sorry, I meant one", {0: 1}))
            yield Act(day, _clock("19:10"), Writes("two now", {0: 2}))
        case "next day":
            tells = (
                Writes("yesterday 2", {1: 2}),
                Writes("2 yesterday, forgot to say", {1: 2}),
                TapsTotal(2, 1),
            )
            yield Act(day + 1, _clock("10:01"), rng.choice(tells))
        case _:
            yield Act(day, _clock("20:31"), Writes("none today, she was up all night", {0: 0}))


def in_words(rng: random.Random, days: int) -> Plan:
    """Types her numbers, in words as often as not, puts one right, remembers yesterday's."""
    for day in range(days):
        yield from _typed_day(rng, day)
    yield from _answers(days, WED, "20:40", *(Answers(("1 to 3", "0")),) * 4)


def falling_silent(rng: random.Random, days: int) -> Plan:
    """Ten days of answers, then eleven without a word, then she is back."""
    back_on = SILENT.stop
    for day in range(days):
        for at in THREE_A_DAY:
            if day not in SILENT and (day, at) != (back_on, THREE_A_DAY[0]) and rng.random() < OFTEN:
                yield Act(day, _soon(rng, at), OneDone())
    yield Act(back_on, _clock("12:10"), Writes("I'm back, sorry"))
    yield from _answers(days, SAT, "20:37", Answers(("Yes", "0")), None, None, Answers(("Yes", "0")))


def getting_worse(rng: random.Random, days: int) -> Plan:
    """Answers by digits and taps; her leaks go up from one week to the next."""
    for day in range(days):
        done = 0
        for at in THREE_A_DAY:
            if rng.random() < OFTEN:
                done += 1
                yield Act(day, _soon(rng, at), rng.choice((OneDone(), Writes(str(done), {0: done}))))
    yield from _answers(
        days,
        FRI,
        "20:52",
        Answers(("1 to 2", "0")),
        Answers(("1 to 2", "0")),
        Answers(("3 to 6", "0"), warns=1),
        Answers(("7 or more", "1 to 3"), warns=1),
    )
    yield Act(3, _clock("21:40"), OneDone())
    yield Act(3, _clock("21:41"), TakesBack())
    yield Act(1, _clock("21:30"), Writes("leaked twice today", warns=True, symptoms=1))
    yield Act(19, _clock("21:10"), Writes("4 leaks today", symptoms=1))  # joins what she said on day 1


def one_bad_night(rng: random.Random, days: int) -> Plan:
    """Two quiet days, an emergency late in the evening, a pause until she has been looked at, then on."""
    for day in range(days):
        for at in TWO_A_DAY:
            if day not in ILL and rng.random() < OFTEN:
                yield Act(day, _soon(rng, at), OneDone())
    yield Act(2, _clock("08:51"), OneDone())
    yield Act(2, _clock("22:43"), Writes("My chest hurts and I can't get my breath", warns=True))
    yield Act(3, _clock("18:12"), Writes("Home again now. When do the reminders start?", unread=True))
    yield from _answers(days, SUN, "20:44", *(Answers(("1 to 3", "0", "0")),) * 4)


def away(rng: random.Random, days: int) -> Plan:
    """Lives abroad: a photo, worries in her own words, a holiday with a pause, buttons long out of date."""
    twice, left_out = (2, ABROAD[0]), HOLIDAY.stop + 1
    for day in range(days):
        if day % WEEK == SUN or day in HOLIDAY:
            continue
        for at in ABROAD:
            if (day, at) != twice and day != left_out and rng.random() < OFTEN:
                yield Act(day, _soon(rng, at), OneDone())
    yield Act(1, _clock("12:20"), Sends("photo", "is this the right position?"))
    yield Act(twice[0], _clock(twice[1], 41), TapsTwice())
    worry = "My brother is getting married in May and I would like to dance without thinking about it"
    yield Act(4, _clock("21:15"), Writes(worry, unread=True))
    yield Act(HOLIDAY.start, _clock("07:30"), Writes("/pause"))
    yield Act(HOLIDAY.start, _clock("07:31"), Taps("7 days"))
    yield Act(11, _clock("16:05"), Writes("2 today, on the beach", {0: 2}))
    yield Act(left_out, _clock("12:05"), TapsGone(days_back=11, counts=False))
    yield Act(left_out + 1, _clock("07:40"), TapsGone(days_back=1, counts=True))
    yield Act(18, _clock("13:11"), Writes("Can I go to the gym with this or not?", unread=True))
    yield Act(22, _clock("13:20"), Sends("voice"))
    some, fewer = Answers(("3 to 6",)), Answers(("1 to 2",))
    yield from _answers(days, SAT, "20:48", some, None, Answers(("Skip",)), fewer)


LIVES = (
    Life("K1", "Bridie Carrowmoss", dt.time(9, 40), steady),
    Life("K2", "Tamsin Oakhollow", dt.time(10, 30), in_words),
    Life("K3", "Ines Merriwick", dt.time(11, 20), falling_silent),
    Life("K4", "Joanna Fairlough", dt.time(12, 10), getting_worse),
    Life("K5", "Catrin Aldersley", dt.time(14, 0), one_bad_night),
    Life("K6", "Ruth Greystile", dt.time(15, 30), away),
)


def plan(life: Life, seed: int, days: int) -> list[Act]:
    """A life's acts in order of time; the same seed gives the same."""
    rng = random.Random(f"{seed}:{life.code}")  # noqa: S311 - invented lives, not secrecy
    acts = [act for act in life.plan(rng, days) if act.day < days]
    return sorted(acts, key=lambda act: (act.day, act.at))
