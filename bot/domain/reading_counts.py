"""Which numbers in a message are set counts, clause by clause."""

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from bot.domain import reading_words as words
from bot.domain.reading_rules import RULES, Asked, Force, Meaning, Rule, Yields
from bot.domain.reading_tables import Tables
from bot.domain.reading_tokens import Token
from bot.domain.reading_words import Wish


@dataclass(frozen=True, slots=True)
class Found:
    """A count in one clause.

    days_back: 0 for today, None when the clause names no day. part: the part of the day it names, "" for
    none; the figure may then be only a share of the day. firm: she says that it is the whole ("in all") or
    puts it right. mends: puts right what the same message said before. weak: gives way to any other count
    ("done, 2"). force: how it is said. timed: the time of day it names, "" for none. placed: it names a
    place or an occasion. joined: an "and" stands before it. told: with a verb of having done it. core: the
    tags it was read from. said: a figure named that could not be taken as it stands.
    """

    meaning: Meaning
    value: int | None = None
    days_back: int | None = None
    part: str = ""
    timed: str = ""
    placed: bool = False
    firm: bool = False
    mends: bool = False
    weak: bool = False
    force: Force = Force.PLAIN
    joined: bool = False
    told: bool = False
    core: str = ""
    said: int | None = None


# ---- clauses ----------------------------------------------------------------------------------------------

BREAKS = frozenset((words.BREAK, words.AND, words.BUT, words.COMMA, words.END, words.QUESTION))
BREAKS |= {words.LINK}
SILENT = frozenset(f"{words.FILL}{words.NICE}{words.EMOJI}{words.WISH}{words.DAY}{words.PART}{words.JOIN}")
SILENT |= {words.FIX, words.SORRY, words.TOTAL, words.TIME, words.MOOD, words.EXERCISE, words.OR, words.SIGN}
SILENT |= {words.FUTURE, words.PAST, words.ONLY, words.HABIT, words.AUX, words.REPS, words.KIND}
SILENT |= {words.WROTE, words.TOLD}
COUNTED_REMARK = re.compile("(?<=m)2|(?<=[nw])2(?=[^y13g])")
SOMEBODY_ELSE = re.compile(f"{words.WHO}[g6H{words.WHO}]*[d8G;F].*")
TOLD_BY_HER = frozenset((words.DO, words.DONE, words.JUST))
UNSETTLED = frozenset((words.HEDGE, words.FUTURE, words.NOT, words.ASK, words.AUX, words.MISS, words.WROTE))
FIGURED = frozenset("nd8GsjkaBzmw")  # a colon or dash after one of these opens a new clause


@dataclass(frozen=True, slots=True)
class Clause:
    """A stretch between two breaks.

    tags: a character for each token. core: the same without fillers, days and wishes; places: the index in
    `tokens` of each. ends: the mark after it.
    """

    tokens: tuple[Token, ...]
    tags: str
    core: str
    places: tuple[int, ...]
    ends: str

    def has(self, tag: str) -> bool:
        """Whether any token of the clause has this tag."""
        return tag in self.tags

    def day(self) -> Token | None:
        """The first day it names."""
        at = self.tags.find(words.DAY)
        return self.tokens[at] if at >= 0 else None

    def text_of(self, tag: str) -> str:
        """The first word or phrase with this tag, "" for none."""
        at = self.tags.find(tag)
        return self.tokens[at].text if at >= 0 else ""


def _clause(run: list[Token], ends: str) -> Clause:
    tags = "".join([token.tag for token in run])
    # "another bad night": a remark between a count and a noun makes it a count of something else.
    spoken = COUNTED_REMARK.sub(words.WORD, tags)
    if words.WHO in tags:
        # "my sister did 3": from there on nothing is counted.
        spoken = SOMEBODY_ELSE.sub(lambda rest: words.WORD * len(rest[0]), spoken)
        spoken = spoken.replace(words.WHO, words.WORD)
    places = tuple([at for at, tag in enumerate(spoken) if tag not in SILENT])
    return Clause(tuple(run), tags, "".join([spoken[at] for at in places]), places, ends)


def _opens(token: Token, run: list[Token], openers: frozenset[str]) -> bool:
    """Whether a token begins a clause though no mark stands before it."""
    if token.tag == words.ASK:
        return any(earlier.tag not in SILENT for earlier in run)
    if token.tag in (words.LEAKED, words.ONLY, words.SORRY, words.FIX):
        return any(earlier.tag in FIGURED for earlier in run)
    # "wanted to do 3 but" is often typed without the "but".
    return (
        token.text in openers
        and run[-1].tag not in (words.FUTURE, words.NOT)
        and any(earlier.tag == words.FUTURE for earlier in run)
    )


def _tells(tokens: list[Token], at: int, run: list[Token], selves: frozenset[str]) -> bool:
    """Whether she begins to tell what she did, after words that say nothing: "to let you know i did 2"."""
    if tokens[at].text not in selves or at + 1 == len(tokens) or tokens[at + 1].tag not in TOLD_BY_HER:
        return False
    tags = {token.tag for token in run}
    return words.WORD in tags and not tags & UNSETTLED


def clauses(tokens: list[Token], look: Tables) -> list[Clause]:
    """The message in clauses; two days with a count each are two clauses even without a break."""
    found: list[Clause] = []
    run: list[Token] = []
    for at, token in enumerate(tokens):
        if token.tag in BREAKS or (token.tag == words.JOIN and run and run[-1].tag in FIGURED):
            if run:
                found.extend(_by_day(run, token.tag))
            elif found and token.tag in (words.QUESTION, words.END):
                found[-1] = replace(found[-1], ends=token.tag)
            run = []
        elif run and (_opens(token, run, look.openers) or _tells(tokens, at, run, look.selves)):
            found.extend(_by_day(run, words.COMMA))
            run = [token]
        else:
            run.append(token)
    if run:
        found.extend(_by_day(run, ""))
    return found


def _by_day(run: list[Token], ends: str) -> list[Clause]:
    days = [at for at, token in enumerate(run) if token.tag in (words.DAY, words.PART, words.TIME)]
    counts = [at for at, token in enumerate(run) if token.tag in "nzaBm"]
    if len(days) < 2 or len(counts) < 2:  # noqa: PLR2004 - two of each make two clauses
        return [_clause(run, ends)]
    cuts = days[1:] if days[0] < counts[0] else [at + 1 for at in days[:-1]]
    edges = [0, *cuts, len(run)]
    parts = [run[left:right] for left, right in pairwise(edges) if left < right]
    return [_clause(part, words.COMMA if part is not parts[-1] else ends) for part in parts]


# ---- what a clause says -----------------------------------------------------------------------------------

STORY = 3  # unknown words in a clause that make a number in it part of a story


def asks(clause: Clause) -> bool:
    """Whether the clause begins as a question."""
    return clause.core[:1] == words.ASK or clause.tags.lstrip(words.NICE)[:1] == words.AUX


def _plan(clause: Clause) -> bool:
    """Whether the clause speaks of what is still to come."""
    if clause.has(words.FUTURE) or clause.has(words.WROTE):
        return True
    later = clause.has(words.WISH) and any(token.wish is Wish.LATER for token in clause.tokens)
    return later and not re.search("[d8G]", clause.core)


def beside(count: Found, clause: Clause, before: Clause) -> Found | None:
    """The count of a clause in the light of the clause before it: a bare number may belong to that one."""
    if count.force is Force.REFUSAL and before.ends == words.QUESTION:
        return None  # "did it hurt? no"
    told = before.has(words.TOLD) and not before.core
    if told and before.ends == words.COMMA and QUANTITY.fullmatch(clause.core):
        return UNCLEAR  # "2 leaks, both when running"
    if not LONE.fullmatch(clause.core) or clause.has(words.TOTAL):
        return count
    if before.ends == words.LINK:
        return MAYBE_ONE  # "home with 2"
    if before.ends == words.AND and STRANGERS.fullmatch(before.core):
        return MAYBE_ONE  # "the shed and 2"
    if before.ends not in (words.AND, words.COMMA, words.BUT):
        return count
    if before.has(words.FUTURE) and not clause.has(words.FIX) and re.search("[nv0]", before.tags):
        # "change my times to 9 and 2", "wanted 3, 2"
        return None if before.ends == words.AND else UNCLEAR
    dated = re.search("[py%]", before.tags + clause.tags)
    # "leaking less, 1", "pain 3 this morning, 1 now"
    return UNCLEAR if SYMPTOM.search(before.core) or (told and dated) else count


@lru_cache(maxsize=10_000)
def fit(core: str) -> tuple[Rule, tuple[int, ...]] | None:
    """The first rule that fits, and where in the core its numbers stand."""
    for rule in RULES:
        match = rule.shape.search(core)
        if match is not None:
            if rule is RULES[-1] and (core.count(words.WORD) >= STORY or STRANGE.search(core)):
                return None
            starts = (match.start(group) for group in range(1, match.re.groups + 1))
            return rule, tuple(start for start in starts if start >= 0)
    return None


def _apply(clause: Clause, asked: Asked) -> Found | None:
    fitting = fit(clause.core)
    if fitting is None:
        return None
    rule, starts = fitting
    value = rule.figure([clause.tokens[clause.places[start]] for start in starts], asked)
    weak = rule.yields is Yields.ALWAYS or (rule.yields is Yields.UNCLEAR and value is None)
    meaning = rule.meaning
    if value is None:
        meaning = Meaning.UNCLEAR
    elif value == 0 and meaning is Meaning.TOTAL:
        meaning = Meaning.NONE
    return Found(meaning, value, weak=weak, force=rule.force)


STRANGE = re.compile(r"\?.*n\?|^[^d8Gsj]*n\?[^d8Gsj]*$")  # a number of something unknown
ELSEWHERE = re.compile("oug*y")  # "3 feeds last night": the day belongs to the feeds
BARE = re.compile("[d8GisjTH]*[nxk][d8GisjTH]*|H")
COUNTABLE = re.compile("[nkxmTaB]")
LONE = re.compile("[nkxfv]")
NOT_ALONE = re.compile("X[g>}61](?!.*[E<])")
SYMPTOM = re.compile("[LDPV]")
QUANTITY = re.compile("[aBz][OTi]*")
STRANGERS = re.compile(r"[?~@]*\?")
ORDINAL = re.compile("i?r[sji]?")
HABITUAL = re.compile(r"^[^?]*[nkxmTaB][^?]*$|[d8sj][^?]*[nkxmTaB]|[nkxmTaB][^?]*[d8sj]")
ONLY_DONE = re.compile("[d8Gis]*o?[d8]*")
UNCLEAR = Found(Meaning.UNCLEAR)
MAYBE_ONE = Found(Meaning.UNCLEAR, weak=True)


def count_in(clause: Clause, asked: Asked, asking: bool) -> Found | None:
    """The count a clause holds, or None. asking: a question goes on into this clause."""
    if _plan(clause) or any(token.wish is Wish.PAUSE for token in clause.tokens):
        return None
    request = clause.has(words.FIX) or clause.has(words.PLUS)  # "can you make that 2?"
    if asks(clause) or (clause.ends == words.QUESTION and not request):
        # "2?" may be a report made unsurely; "is 2 enough?" is none.
        bare = not asking and not asks(clause) and BARE.fullmatch(clause.core)
        return replace(MAYBE_ONE, weak=clause.core != words.HEDGE) if bare else None
    if clause.has(words.HABIT):
        return MAYBE_ONE if HABITUAL.search(clause.core) else None
    found = _apply(clause, asked)
    if clause.has(words.EXERCISE) or clause.has(words.REPS):
        # "did my exercises", "10 squeezes": done, but nobody can say how many sets.
        unsaid = found is None or (found.weak and found.meaning is Meaning.ADDED)
        if unsaid and ONLY_DONE.fullmatch(clause.core):
            return MAYBE_ONE
    if found is None or (clause.has(words.MOOD) and _remark_only(clause, found)):
        return None
    if clause.core == words.NOT and NOT_ALONE.search(clause.tags):
        return MAYBE_ONE  # "not me", "not long"
    if clause.core == words.MISS and re.search("[p0@]", clause.tags):
        return MAYBE_ONE  # "skipped breakfast", "missed it this morning"
    if found.meaning is Meaning.NONE and any(
        token.tag == words.IT and token.doubt for token in clause.tokens
    ):
        return MAYBE_ONE  # one certain set was not done; the others may have been
    return _on_its_day(clause, found)


def _remark_only(clause: Clause, found: Found) -> bool:
    """Whether a clause with a remark is no more than that: "did great", "a bit tired", "not a bad day"."""
    return (
        clause.core in (words.HEDGE, words.NOT)
        or ORDINAL.fullmatch(clause.core) is not None
        or (found.weak and found.meaning is Meaning.ADDED)
    )


def _on_its_day(clause: Clause, found: Found) -> Found:
    days = {token.value for token in clause.tokens if token.tag == words.DAY}
    day = clause.day()
    if len(days) > 1 or (day and day.doubt) or ELSEWHERE.search(clause.tags):
        return UNCLEAR
    firm = found.force is Force.FIRM or clause.has(words.TOTAL) or clause.has(words.FIX)
    mends = firm or clause.has(words.SORRY)
    return replace(
        found,
        days_back=day.value if day else None,
        part="" if re.search("[leM]", clause.core) else clause.text_of(words.PART),
        timed=clause.text_of(words.TIME),
        core=clause.core,
        told=bool(re.search("[d8G]", clause.core)),
        placed=bool(re.search("[~@q?]", clause.core)),
        firm=firm,
        mends=mends,
    )
