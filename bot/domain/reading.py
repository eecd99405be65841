"""What an answer meant: how many sets, on which day, which plain figures about symptoms, what she wishes.

A bare number is the day's total; "+1", "one more", "another" add; "none" is a report of zero and silence is not
(there is nothing to read in silence). A guess is never booked: whatever could mean two things is UNCLEAR and asked
back. Numbers that are times, ages, scores, weights, repetitions or telephone numbers are no counts.

Nothing typed is dropped: `Reading.remainder` is the part that was not read. `understood` is False, and the whole
text becomes an unread note, when nothing was read or when the remainder is substantial: it asks something, holds a
word about the body, or has at least three words this reader does not know. A shorter rest is kept with the report.

Warning signs are read elsewhere, from the raw text and always first.
"""

import datetime as dt
import re
from dataclasses import dataclass, replace
from enum import StrEnum

from bot.domain import reading_counts, reading_tokens
from bot.domain import reading_words as words
from bot.domain.reading_counts import Asked, Clause, Found, Meaning
from bot.domain.reading_tokens import Token
from bot.domain.reading_words import Wish

__all__ = ["Meaning", "Measure", "Reading", "Sets", "Symptom", "Wish", "read"]


@dataclass(frozen=True, slots=True)
class Sets:
    """A count: `value` is 0 for none and None for unclear, `on` the local day it is about."""

    meaning: Meaning
    value: int | None
    on: dt.date


class Measure(StrEnum):
    """What a symptom's figure counts: leaks of the day, or a score of 0 to 10."""

    LEAKS = "leaks"
    PAIN = "pain"
    HEAVINESS = "heaviness"


@dataclass(frozen=True, slots=True)
class Symptom:
    """A figure about a symptom, said in so many words: leaks from 0 up, pain and heaviness 0..10."""

    measure: Measure
    value: int


@dataclass(frozen=True, slots=True)
class Reading:
    """All that was read from one message.

    sets: the count for today, or the first one. more: counts for other days in the same message. corrects: she
    puts an earlier answer right, so a smaller total is meant. remainder: the words not read, in her order.
    understood: False exactly when the text would become an unread note.
    """

    sets: Sets | None
    symptoms: tuple[Symptom, ...]
    wants: Wish | None
    understood: bool
    more: tuple[Sets, ...] = ()
    corrects: bool = False
    remainder: str = ""


# ---- symptoms -------------------------------------------------------------------------------------------------

HIGHEST_SCORE = 10
MOST_LEAKS = 50
MEASURES = {words.LEAK: Measure.LEAKS, words.PAIN: Measure.PAIN, words.HEAVY: Measure.HEAVINESS}
# Group "word" is the symptom, group "figure" its number; without a figure it is denied and counts as 0.
SYMPTOMS = tuple(
    re.compile(shape)
    for shape in (
        r"(?:N|[XA]g*A?|z)g*(?P<word>[LPV])(?![gb:Oi|=yp]*[nfk])",  # no pain
        r"(?P<word>[LPV])[:gyp]*z",  # leaks: none
        r"(?P<figure>n)g*S(?:g|O)*(?P<word>[PV])",  # 3 out of ten pain
        r"(?P<figure>f)[gO|]*(?P<word>[PV])",  # 3/10 pain
        r"(?P<word>[PV])[gbOi:|@=typH]{0,5}(?P<figure>[nf])(?:g*S)?(?!g*[sdmwu])",  # pain 1/10
        r"(?P<word>L)[:gypi]*(?P<figure>k)",  # leaked once
        r"(?P<word>L)[:gypi]*(?P<figure>n)(?:t|(?!g*[sdmwutP]))",  # leaks 2
        r"(?P<figure>n)[gb]*(?P<word>L)",  # 2 leaks
    )
)


def _symptoms(tokens: list[Token]) -> tuple[list[Token], tuple[Symptom, ...]]:
    """The tokens without the figures used, and the symptoms said in figures."""
    tags = "".join(token.tag for token in tokens)
    found: dict[Measure, int] = {}
    for shape in SYMPTOMS:
        for match in shape.finditer(tags):
            measure = MEASURES[match["word"]]
            value: int | None = 0
            if "figure" in shape.groupindex:
                at = match.start("figure")
                value = _score(tokens[at], measure)
                tokens[at] = replace(tokens[at], tag=words.OTHER)
            else:
                for place in range(match.start(), match.end()):
                    if tokens[place].tag not in MEASURES:
                        tokens[place] = replace(tokens[place], tag=words.FILL)
            tags = "".join(token.tag for token in tokens)
            if value is not None:
                found.setdefault(measure, value)
    return tokens, tuple(Symptom(measure, value) for measure, value in found.items())


def _score(token: Token, measure: Measure) -> int | None:
    value = token.value
    if value is None or (token.tag == words.FRAC and token.top != HIGHEST_SCORE):
        return None
    return value if value <= (MOST_LEAKS if measure is Measure.LEAKS else HIGHEST_SCORE) else None


# ---- counts ---------------------------------------------------------------------------------------------------


def _dated(message: list[Clause], asked: Asked) -> list[Found]:
    """The counts of all clauses, each with its day.

    A clause that only names a day ("yesterday:") gives it to the count beside it. After a clause that says
    something else about another day ("yesterday was hard, 2") nobody can know which day is meant.
    """
    found: list[Found] = []
    waiting: int | None = None
    doubtful = firm = False
    for clause in message:
        count = reading_counts.count_in(clause, asked)
        days = [token.value for token in clause.tokens if token.tag == words.DAY]
        soft = clause.ends in ("", ",", words.BREAK)
        if count is None:
            firm = firm or clause.has(words.FIX)
            if days and not clause.core:
                if found and found[-1].days_back is None and not found[-1].part:
                    found[-1] = replace(found[-1], days_back=days[0])
                else:
                    waiting = days[0]
            elif days and days[0] != 0 and soft and not clause.has(words.FUTURE):
                doubtful = True
            continue
        if count.days_back is None and waiting is not None:
            count = replace(count, days_back=waiting)
        elif count.days_back is None and doubtful:
            count = Found(Meaning.UNCLEAR)
        waiting, doubtful = None, False
        found.append(replace(count, firm=count.firm or firm))
        firm = count.weak and count.meaning in (Meaning.NONE, Meaning.UNCLEAR) and count.days_back is None
    return found


def _one_of(found: list[Found], asked: Asked) -> Found:
    """What the counts for one day come to together."""
    strong = [count for count in found if not count.weak] or found
    for at in range(len(strong) - 1, 0, -1):
        if strong[at].firm and strong[at].value is not None and strong[at].meaning is not Meaning.ADDED:
            return strong[at]
    if len({(count.meaning, count.value) for count in strong}) == 1:
        same = strong[0]
        parts = {count.part for count in strong}
        if len(strong) == 1 or len(parts) == 1 or same.meaning in (Meaning.UNCLEAR, Meaning.NONE):
            return same
    if any(count.meaning is Meaning.UNCLEAR for count in strong):
        return Found(Meaning.UNCLEAR)
    parts = {count.part for count in strong}
    values = [count.value or 0 for count in strong]
    if all(count.meaning in (Meaning.TOTAL, Meaning.NONE) for count in strong):
        if "" not in parts and len(parts) == len(strong):
            return replace(strong[0], meaning=Meaning.TOTAL, value=sum(values), part="")
        return Found(Meaning.UNCLEAR)
    totals = [count for count in strong if count.meaning is Meaning.TOTAL]
    added = sum(count.value or 0 for count in strong if count.meaning is Meaning.ADDED)
    if len(totals) == 1 and totals[0].value == asked.done + added:
        return totals[0]
    return Found(Meaning.UNCLEAR)


def _accepted(count: Found, asked: Asked, days_back: int) -> Found | None:
    """The count if it can be booked, UNCLEAR if it must be asked back, None for a bare no on top of a booked day."""
    if count.value is None:
        return Found(Meaning.UNCLEAR)
    booked = asked.done if days_back == 0 else 0
    if count.meaning is Meaning.ADDED:
        doubt = booked + count.value > 2 * asked.sets or (days_back != 0 and count.weak) or count.value == 0
    elif count.meaning is Meaning.NONE and count.weak and booked:
        return None
    else:
        doubt = count.value > 2 * asked.sets or (
            not count.firm and (count.value < booked or bool(count.part and booked))
        )
    return Found(Meaning.UNCLEAR) if doubt else count


def _sets(found: list[Found], asked: Asked, today: dt.date) -> list[Sets]:
    by_day: dict[int, list[Found]] = {}
    for count in found:
        by_day.setdefault(count.days_back or 0, []).append(count)
    read_sets: list[Sets] = []
    for days_back in sorted(by_day, key=lambda back: back != 0):
        count = _accepted(_one_of(by_day[days_back], asked), asked, days_back)
        if count is not None:
            read_sets.append(Sets(count.meaning, count.value, today - dt.timedelta(days=days_back)))
    return read_sets


# ---- wishes, rest ---------------------------------------------------------------------------------------------

EMPTY = frozenset((words.FILL, words.NICE, words.EMOJI, words.END, words.QUESTION, words.BREAK, ",", ":"))
SUBSTANTIAL_WORDS = 3


def _wants(tokens: list[Token]) -> Wish | None:
    wishes = {token.wish for token in tokens if token.wish and not token.whole}
    whole = [token for token in tokens if token.whole]
    if whole and all(token.whole or token.tag in EMPTY for token in tokens):
        wishes |= {token.wish for token in whole if token.wish}
    for wish in Wish:
        if wish in wishes:
            return wish
    signs = [token.text for token in tokens if token.tag == words.EMOJI]
    if all(token.tag in EMPTY for token in tokens) and not words.DISTRESS.intersection(signs):
        if any(token.tag == words.NICE for token in tokens) or (
            signs and not words.MAY_COUNT.intersection(signs)
        ):
            return Wish.THANKS
    return None


READ_TAGS = frozenset("novfxrkdstubmwlaBhzANXMeHcyp@iTO|+=SWCg&.QE,:F")


def _remainder(message: list[Clause], asked: Asked) -> tuple[list[Token], bool]:
    """The tokens of what was not read, and whether a question is among them."""
    rest: list[Token] = []
    asks = False
    for clause in message:
        unread = [token for token in clause.tokens if token.tag not in READ_TAGS and not token.whole]
        if clause.core and reading_counts.count_in(clause, asked) is None and clause.tokens:
            asks = asks or clause.ends == words.QUESTION or clause.core[0] == words.ASK
        rest.extend(unread)
    return rest, asks


def read(text: str, *, sets: int, done: int, today: dt.date, language: str = "en") -> Reading:
    """What `text` meant.

    sets: prescribed a day. done: booked today so far. today: her local day. Any text is read, none raises; a
    total above twice the prescription is unclear. Raises KeyError for a language without words.
    """
    asked = Asked(sets, done)
    tokens, symptoms = _symptoms(reading_tokens.tag(text, today, language))
    message = reading_counts.clauses(reading_counts.masked(tokens))
    found = _dated(message, asked)
    wants = _wants(tokens)
    if not found and wants is None and tokens and all(token.tag in EMPTY for token in tokens):
        signs = {token.text for token in tokens if token.tag == words.EMOJI}
        if words.MAY_COUNT & signs and not words.DISTRESS & signs:
            found = [Found(Meaning.UNCLEAR)]
    counts = _sets(found, asked, today)
    rest, asks = _remainder(message, asked)
    known = reading_tokens.tables(language).symptom
    silent = {words.LEAK, words.PAIN, words.HEAVY} if symptoms else set()
    unread = [token for token in rest if token.tag not in silent]
    substantial = (
        asks
        or len(unread) >= SUBSTANTIAL_WORDS
        or any(token.text in known for token in unread)
        or len(text) > reading_tokens.LONGEST_READ
    )
    was_read = bool(counts or symptoms or wants)
    return Reading(
        sets=counts[0] if counts else None,
        symptoms=symptoms,
        wants=wants,
        understood=was_read and not substantial,
        more=tuple(counts[1:]),
        corrects=any(count.firm for count in found),
        remainder=" ".join(token.text for token in unread),
    )
