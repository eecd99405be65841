"""What an answer meant: how many sets, on which day, which plain figures about symptoms, what she wishes.

A bare number is the day's total; "+1", "one more", "another" add; "none" is a report of zero. A guess is
never booked: whatever could mean two things is UNCLEAR and asked back. Numbers that are times, ages, scores,
weights, repetitions or telephone numbers are no counts.

Nothing typed is dropped. `understood` is False, and the text becomes an unread note, when nothing was read
or when what was left over is substantial: it asks something, holds a word about the body, or at least four
words that are neither known nor of daily life. `remainder` is then the whole text, so that it is read in
context. A smaller rest ("2, baby slept") leaves `understood` True; `remainder` holds it, to be kept with the
report.

Warning signs are read elsewhere, from the raw text and always first.
"""

import datetime as dt
import re
from dataclasses import dataclass, field, replace

from bot.domain import (
    reading_counts,
    reading_masks,
    reading_shapes,
    reading_symptoms,
    reading_tables,
    reading_tokens,
)
from bot.domain import reading_words as words
from bot.domain.reading_counts import Clause, Found
from bot.domain.reading_rules import Asked, Force, Meaning
from bot.domain.reading_shapes import DISTRESS, MAY_COUNT
from bot.domain.reading_symptoms import Measure, Symptom
from bot.domain.reading_tables import Tables
from bot.domain.reading_tokens import Token
from bot.domain.reading_words import Wish

__all__ = ["Meaning", "Measure", "Reading", "Sets", "Symptom", "Wish", "read"]


@dataclass(frozen=True, slots=True)
class Sets:
    """A count of her local day `on`: `value` is 0 for none, None for unclear; for ADDED how many more.

    said: the figure that is asked back because less than that is booked ("one more, or 1 in all?"), else
    None.
    """

    meaning: Meaning
    value: int | None
    on: dt.date
    said: int | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """All that was read from one message.

    sets: the count for today, or else the first one. more: counts for other days. corrects: she puts an
    earlier answer right, so a smaller total is meant. remainder: what was not read, see above.
    understood: False exactly when the text would become an unread note.
    """

    sets: Sets | None
    symptoms: tuple[Symptom, ...]
    wants: Wish | None
    understood: bool
    more: tuple[Sets, ...] = ()
    corrects: bool = False
    remainder: str = ""


# ---- counts -----------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Days:
    """Gives each count its day, clause by clause.

    A clause that only names a day ("yesterday:") gives it to the count beside it. After a clause that says
    something else about another day ("yesterday was hard, 2") nobody can know which day is meant.

    waiting: a day named alone, its count not yet come. doubtful: which day is meant is not known. parted:
    parts of the day were named without a count. firm, mends: what comes next puts right what was said
    before.
    """

    found: list[Found] = field(default_factory=list)
    waiting: int | None = None
    doubtful: bool = False
    parted: bool = False
    fixing: bool = False
    firm: bool = False
    mends: bool = False

    def without_count(self, clause: Clause) -> None:
        """Takes in a clause that holds no count."""
        self.fixing = self.fixing or clause.has(words.FIX) or clause.has(words.WROTE)
        self.mends = self.mends or clause.has(words.SORRY)
        day = clause.day()
        bare = not (clause.core or clause.has(words.MOOD) or any(token.wish for token in clause.tokens))
        self.parted = self.parted or bool(bare and not day and clause.text_of(words.PART))
        if day is None or clause.has(words.FUTURE):
            return
        if bare or clause.has(words.WROTE):
            self._day_alone(day)  # "yesterday", "yesterday i put 2 but"
        elif day.value and clause.ends != words.END and not reading_counts.ELSEWHERE.search(clause.tags):
            self.doubtful = True

    def _day_alone(self, day: Token) -> None:
        last = self.found[-1] if self.found else None
        if last and last.days_back is not None:
            self.found.append(Found(Meaning.UNCLEAR, days_back=day.value))  # "3 yesterday and today"
        elif last and not day.doubt and self.waiting is None:
            self.found[-1] = replace(last, days_back=day.value)
        else:
            self.waiting, self.doubtful = day.value, self.doubtful or day.doubt

    def with_count(self, count: Found, joined: bool) -> None:
        """Takes in a count. joined: an "and" stands before it."""
        if count.core == words.MISS and count.days_back is None and self.found:
            return  # "3 yesterday, sorry forgot"
        if count.force is Force.DENIAL and self.found:
            self.found[-1] = replace(self.found[-1], firm=True)  # "1, not 2"
        several_days = self.waiting is not None and count.days_back is not None  # "yesterday and today 3"
        in_doubt = self.doubtful and count.days_back is None
        if several_days or in_doubt or (self.parted and count.weak):  # "morning and evening done"
            self.found.append(Found(Meaning.UNCLEAR))
        else:
            back = self.waiting if count.days_back is None else count.days_back
            firm = count.firm or self.firm or self.fixing
            mends = count.mends or self.mends or firm
            self.found.append(replace(count, days_back=back, firm=firm, mends=mends, joined=joined))
        self.waiting, self.doubtful, self.parted, self.mends, self.fixing = None, False, False, False, False
        self.firm = count.force in (Force.REFUSAL, Force.DENIAL)


def _counts(message: list[Clause], asked: Asked) -> list[Found | None]:
    """The count of each clause, None where there is none."""
    found: list[Found | None] = []
    asking = False
    before = Clause((), "", "", (), "")
    for clause in message:
        count = reading_counts.count_in(clause, asked, asking)
        if count and before.ends:
            count = reading_counts.beside(count, clause, before)
        found.append(count)
        before = clause
        asking = clause.ends in (words.BREAK, words.LINK, words.AND) and (
            asking or reading_counts.asks(clause)
        )
    return found


def _dated(message: list[Clause], counts: list[Found | None]) -> list[Found]:
    """The counts of all clauses, each with its day."""
    days = _Days()
    before = ""
    for clause, count in zip(message, counts, strict=True):
        if count is None:
            days.without_count(clause)
        else:
            days.with_count(count, joined=before == words.AND)
        before = clause.ends
    if days.fixing and days.found:
        days.found[-1] = replace(days.found[-1], firm=True)  # "2 i meant"
    return days.found


def _share(count: Found) -> str:
    """What makes a count a share of its day: a part of the day or a time, "" for neither."""
    return count.part or count.timed


def _together(found: list[Found], asked: Asked) -> Found:
    """What the counts for one day come to together."""
    if len(found) > 1 and not asked.done:
        # "did it this morning and one tonight": with its share of the day it is a count of its own.
        found = [
            replace(count, meaning=Meaning.TOTAL, weak=False)
            if count.weak and count.meaning is Meaning.ADDED and _share(count)
            else count
            for count in found
        ]
    strong = [count for count in found if not count.weak] or found
    for count in reversed(strong[1:]):
        if count.mends and count.value is not None and count.meaning is not Meaning.ADDED:
            return count
    if not all(map(_share, strong)):
        # "nothing this morning, 2 now"
        strong = [
            count for count in strong if not (_share(count) and count.meaning is Meaning.NONE)
        ] or strong
    if len(strong) == 1:
        return strong[0]
    return _sum(strong, asked) or Found(Meaning.UNCLEAR)


def _sum(strong: list[Found], asked: Asked) -> Found | None:
    """Several counts of one day as one, None when nobody can tell."""
    values = [count.value for count in strong if count.value is not None]
    if len(values) < len(strong):
        return None
    totals = [count for count in strong if count.meaning is not Meaning.ADDED]
    shares = {_share(count) for count in strong}
    if len(totals) in (0, len(strong)):
        if totals and len(shares) == len(strong) and "" not in shares:
            return replace(strong[0], meaning=Meaning.TOTAL, value=sum(values))
        said_twice = (
            len(set(values)) == 1
            and len(shares) == 1
            and not any((count.joined and words.LEFT not in count.core) or count.placed for count in strong)
            and (len({count.core for count in strong}) == len(strong) or not any(values))  # "1 up, 1 down"
        )
        return strong[0] if said_twice else None
    if len(strong) != 2:  # noqa: PLR2004 - one total and something added
        return None
    total, added = totals[0].value or 0, sum(values) - (totals[0].value or 0)
    if strong[1] is totals[0]:  # "another one so thats 3"
        return replace(totals[0], part="") if total == asked.done + added else None
    if total > asked.sets:
        return None  # "4 sets, one extra": is it one of the four?
    if _share(strong[1]) and not strong[1].told and not strong[1].joined:
        return None  # "2 done. one more before bed": done or still to come?
    return replace(totals[0], value=total + added, part="") if asked.done in (0, total) else None


def _bookable(count: Found, asked: Asked, days_back: int) -> Found | None:
    """The count if it can be booked, UNCLEAR if it must be asked back, None for a bare no to a booked day."""
    booked = 0 if days_back else asked.done
    if count.force is Force.REFUSAL and booked:
        return None
    if count.force is Force.REFUSAL and count.part:
        return Found(Meaning.UNCLEAR)
    value = count.value
    if value is None:
        return Found(Meaning.UNCLEAR)
    if count.meaning is Meaning.ADDED:
        doubt = value == 0 or booked + value > 2 * asked.sets or bool(days_back and count.weak)
    else:
        doubt = value > 2 * asked.sets
        if not count.firm:
            doubt = doubt or value < booked or bool(count.part and booked)
    if doubt:
        smaller = count.meaning is not Meaning.ADDED and value < booked
        return Found(Meaning.UNCLEAR, said=value if smaller else None)
    return replace(count, meaning=Meaning.TOTAL) if value and count.meaning is Meaning.NONE else count


def _sets(found: list[Found], asked: Asked, today: dt.date) -> list[Sets]:
    by_day: dict[int, list[Found]] = {}
    for count in found:
        by_day.setdefault(count.days_back or 0, []).append(count)
    read_sets: list[Sets] = []
    for days_back in sorted(by_day, key=bool):
        booked = _bookable(_together(by_day[days_back], asked), asked, days_back)
        if booked is not None:
            on = today - dt.timedelta(days=days_back)
            read_sets.append(Sets(booked.meaning, booked.value, on, booked.said))
    return read_sets


# ---- wishes and the rest ----------------------------------------------------------------------------------

EMPTY = reading_counts.BREAKS | {
    words.FILL,
    words.NICE,
    words.EMOJI,
    words.SIGN,
    words.SORRY,
    words.ONLY,
    words.JOIN,
}
SPAN = frozenset(
    (words.NUM, words.OTHER, words.UNIT, words.DAY, words.PREP, words.PART, words.FUTURE, words.HABIT)
)
SOON = re.compile("~ou[g1]*")  # in 10 mins
CLAUSE_WISHES = frozenset((Wish.PAUSE, Wish.RESUME))
DENIED = frozenset((words.NOT, words.FUTURE))


def _whole(tokens: tuple[Token, ...]) -> set[Wish]:
    """The wishes in a stretch that says nothing else; a pause may name its length."""
    whole = {token.wish for token in tokens if token.whole and token.wish}
    allowed = EMPTY | SPAN if Wish.PAUSE in whole else EMPTY
    return whole if all(token.whole or token.tag in allowed for token in tokens) else set()


def _soon(clause: Clause, look: Tables) -> bool:
    """Whether the clause is "in 10 mins"."""
    shape = SOON.fullmatch(clause.tags)
    return bool(shape) and clause.tokens[0].text == look.soon and clause.tokens[2].text in look.short_units


def _wants(tokens: list[Token], message: list[Clause], look: Tables) -> Wish | None:
    wishes = _whole(tuple(tokens))
    for clause in message:
        wishes |= _whole(clause.tokens) & CLAUSE_WISHES
        if _soon(clause, look):
            wishes.add(Wish.LATER)
        for at, token in enumerate(clause.tokens):
            if token.wish and not token.whole and token.tag == words.WISH:
                denied = token.wish is Wish.CALL_ME and any(
                    earlier.tag == words.NOT for earlier in clause.tokens[:at]
                )
                if not denied:
                    wishes.add(token.wish)
    for wish in Wish:
        if wish in wishes:
            return wish
    signs = {token.text for token in tokens if token.tag == words.EMOJI}
    nice = any(token.tag == words.NICE for token in tokens) or (signs and not signs & MAY_COUNT)
    asks = any(token.tag == words.QUESTION for token in tokens)
    polite = nice and not asks and not signs & DISTRESS and all(token.tag in EMPTY for token in tokens)
    return Wish.THANKS if polite else None


UNREAD = frozenset(
    (words.WORD, words.WHO, words.LEAK, words.LEAKED, words.PAIN, words.HEAVY, words.SCORE, words.ASK)
)
TELLING = UNREAD | {words.NOUN, words.UNIT, words.MOOD}
SUBSTANTIAL = 4  # unread words that are more than a remark


def _asks(message: list[Clause], counts: list[Found | None]) -> bool:
    """Whether something was asked that no count answers."""
    for clause, count in zip(message, counts, strict=True):
        if clause.core and count is None and not clause.has(words.WISH):
            lead = clause.tokens[clause.places[0]]
            if clause.ends == words.QUESTION or (lead.tag == words.ASK and " " in lead.text):
                return True
    return False


PASSED = EMPTY | {words.DAY, words.PART, words.TIME, words.CLOCK, words.TOTAL, words.FIX, words.WISH}
REMARKS = UNREAD | {words.MOOD, words.NOUN, words.OTHER, words.UNIT, words.HABIT}


def _remark(message: list[Clause], counts: list[Found | None], text: str) -> str:
    """What was left over, in small letters: all of a clause without a count, the rest of one with a count."""
    plain = reading_shapes.normalise(text)
    kept: list[str] = []
    for clause, count in zip(message, counts, strict=True):
        passed = PASSED if count is None else set(clause.tags) - REMARKS
        left = [token for token in clause.tokens if token.tag not in passed and not token.whole]
        if left:
            kept.append(plain[left[0].start : clause.tokens[-1].end])
    return ", ".join(kept)


def read(text: str, *, sets: int, done: int, today: dt.date, language: str = "en") -> Reading:
    """What `text` meant.

    sets: prescribed a day, 0 and up. done: booked today so far. today: her local day. Any text is read, none
    raises; a total above twice the prescription is unclear. Raises KeyError for a language without words.
    """
    asked = Asked(sets, done)
    look = reading_tables.tables(language)
    tokens, symptoms = reading_symptoms.symptoms(reading_tokens.tag(text, today, language))
    message = reading_counts.clauses(reading_masks.masked(tokens), look)
    each = _counts(message, asked)
    found = _dated(message, each)
    signs = {token.text for token in tokens if token.tag == words.EMOJI}
    if signs & MAY_COUNT and not signs & DISTRESS and all(token.tag in EMPTY for token in tokens):
        found = [Found(Meaning.UNCLEAR)]
    wants = _wants(tokens, message, look)
    counts = _sets(found, asked, today)
    unread = [token for token in tokens if token.tag in UNREAD]
    news = [token for token in unread if token.text not in look.homely]
    substantial = (
        len(text) > reading_shapes.LONGEST_READ
        or len(news) >= SUBSTANTIAL
        or any(token.text in look.body for token in tokens if token.tag in TELLING)
        or bool(signs & DISTRESS)
        or _asks(message, each)
    )
    was_read = bool(counts or symptoms or wants)
    return Reading(
        sets=counts[0] if counts else None,
        symptoms=symptoms,
        wants=wants,
        understood=was_read and not substantial,
        more=tuple(counts[1:]),
        corrects=any(count.firm for count in found),
        remainder=text.strip() if substantial or not was_read else _remark(message, each, text),
    )
