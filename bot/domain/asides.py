"""Short things a client types that are no count: take that back, show me my plan, too many messages.

Words are data, one table a language; a message is matched in small letters and without its marks.
"""

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Aside(StrEnum):
    """What she asks for."""

    UNDO = "undo"  # take the newest report back
    PLAN = "plan"  # show what is prescribed
    FEWER = "fewer"  # she hears too much
    WHO = "who"  # whom she is talking to
    HOW = "how"  # how something of her plan is done: her plan may say, her therapist will
    SKIP = "skip"  # she passes what was asked


class Choice(StrEnum):
    """Her typed answer to "one more, or 1 in all?"."""

    MORE = "more"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one language.

    whole: what a message may consist of, by what it asks for. anywhere: what asks for it wherever it stands.
    greetings: words that may stand before what is meant whole.
    today: words that give a report of none to the whole of today. choices: answers to "more, or in all?".
    """

    whole: Mapping[Aside, frozenset[str]]
    anywhere: Mapping[Aside, frozenset[str]]
    greetings: frozenset[str]
    today: frozenset[str]
    choices: Mapping[Choice, frozenset[str]]


def _set(entries: str) -> frozenset[str]:
    return frozenset(" ".join(entry.split()) for entry in entries.split(",") if entry.strip())


WORDS: Mapping[str, Words] = {
    "en": Words(
        whole={
            Aside.UNDO: _set("""
                undo, undo that, undo it, undo please, please undo, undo last, undo the last one,
                take that back, take it back, take back, revert, delete that, delete last, delete
                the last one, cancel that, remove that, wrong button, oops wrong button, pressed the
                wrong button, i pressed the wrong button, that was wrong, that was a mistake, by
                mistake, pressed by mistake, oops mistake
            """),
            Aside.PLAN: _set("""
                exercises, my exercises, exercise, plan, my plan, the plan, show my plan, show me my
                plan, show exercises, show my exercises, show me the exercises, show me my
                exercises, what are my exercises, which exercises, what exercises, what do i have to
                do, what should i do, what do i do today, instructions, how do i do them, how do i
                do it, what are the exercises, list my exercises
            """),
            Aside.WHO: _set("""
                how do i get in touch, how do i get in touch with you, how can i reach you, how do i
                reach you, how do i contact you, how do i contact my physio, what is your number,
                whats your number, whats your phone number, what number do i ring, who do i ring,
                who do i call, who is this, whos this, who are you, what is this, whats this, are
                you a robot, are you a bot, are you real, are you human, is this a bot, is this a
                robot, is anyone there, is anybody there, is someone there, am i talking to a
                person, are you a person, who am i talking to
            """),
            Aside.SKIP: _set("skip, skip it, skip this, skip that, skip please, pass, next, next question"),
        },
        anywhere={
            Aside.HOW: _set("""
                how long should i hold, how long do i hold, how long to hold, how do i do them, how
                do i do it, how do i do the, how many should i do, how many do i do, how many times
                should i, which position, what position, lying or sitting, sitting or standing, what
                order, how often should i, how often do i, am i doing it right, doing them right,
                doing it right, how fast, how slow, how hard should i
            """),
            Aside.FEWER: _set("""
                one message a day, 1 message a day, one a day please, 1 a day please, once a day
                please, two messages a day, 2 messages a day, only in the evening please, only
                evenings please, too many messages, too many texts, too many reminders, too many
                notifications, so many messages, so many texts, so many reminders, too much
                messages, fewer messages, less messages, fewer reminders, less reminders, fewer
                texts, less texts, less often, stop nagging, nagging me, you nag, this nagging, such
                a nag, stop bothering me, stop pestering, stop annoying me, pestering me, bothering
                me, stop spamming, spamming me, this is spam, you are annoying, youre annoying, very
                annoying, so annoying, messaging me so much, message me so much, text me so much,
                messages are too much, reminders are too much, getting on my nerves, dont write so
                much, write less, message less, text less, too often, stop bugging me, bugging me
            """),
        },
        greetings=_set("hi, hello, hey, hiya, sorry, please"),
        today=_set("today, tonight, for the day, all day, this day"),
        choices={
            Choice.MORE: _set("more, another, extra, on top, added, add it, a further one"),
            Choice.ALL: _set("""
                all, in all, total, in total, all together, altogether, that is all, thats all,
                overall, so far, so far today, today in all, for today, the total
            """),
        },
    )
}
_MARKS = re.compile(r"[^\w\s]|_")


def _plain(text: str) -> str:
    return " ".join(_MARKS.sub("", text.casefold().replace("-", " ")).split())


def _stands_in(phrase: str, plain: str) -> bool:
    return f" {phrase} " in f" {plain} "


def asked(text: str, language: str) -> Aside | None:
    """What a text asks for, None for none of these; raises KeyError for a language without words."""
    words, plain = WORDS[language], _plain(text)
    first, _, rest = plain.partition(" ")
    meant = rest if first in words.greetings else plain
    for aside, phrases in words.whole.items():
        if meant in phrases:
            return aside
    return next((aside for aside, pattern in _anywhere(language) if pattern.search(plain)), None)


@functools.cache
def _anywhere(language: str) -> tuple[tuple[Aside, re.Pattern[str]], ...]:
    """One pattern for the phrases of each aside, so that a message is gone through once."""
    return tuple(
        (aside, re.compile(rf"(?<!\S)(?:{'|'.join(map(re.escape, sorted(phrases)))})(?!\S)"))
        for aside, phrases in WORDS[language].anywhere.items()
    )


def names_today(text: str, language: str) -> bool:
    """Whether a text speaks of the whole of today; raises KeyError for a language without words."""
    plain = _plain(text)
    return any(_stands_in(word, plain) for word in WORDS[language].today)


def choice(text: str, value: int, language: str) -> Choice | None:
    """Her answer to "{value} more, or {value} in all?", with or without the figure; None otherwise."""
    plain = _plain(text).removeprefix(str(value)).strip()
    return next((one for one, phrases in WORDS[language].choices.items() if plain in phrases), None)
