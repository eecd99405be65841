"""Making sense of tagged tokens: which numbers are set counts, and of which day.

A message falls into clauses; a clause becomes a short string of tags without its filler words; the first rule of
`RULES` that fits the string says what the clause means. A new way of saying it is a row, not another branch.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from bot.domain import reading_words as words
from bot.domain.reading_tokens import Token
from bot.domain.reading_words import Wish


class Meaning(StrEnum):
    """What a count stands for.

    TOTAL: sets done that day in all. ADDED: so many on top of what is booked. NONE: a report of zero.
    UNCLEAR: something about a count, to be asked back.
    """

    TOTAL = "total"
    ADDED = "added"
    NONE = "none"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Found:
    """A count in one clause.

    days_back: 0 for today, None when the clause names no day. part: a part of the day is named, so the figure
    may be only a share of the day. firm: she says that it is the whole ("in all") or puts it right.
    weak: gives way to any other count in the message ("done, 2").
    """

    meaning: Meaning
    value: int | None = None
    days_back: int | None = None
    part: str = ""
    firm: bool = False
    weak: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """What stands in the book when the message comes: sets prescribed a day, sets done today."""

    sets: int
    done: int


# ---- numbers that are no counts -------------------------------------------------------------------------------

# Expression over all tags of the message, and the new tag for the numbers in its group 1 (and 2).
MASKS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), tag)
    for pattern, tag in (
        (r"(n)g*\|g*(n)(?!g*u)", words.VAGUE),  # two or three
        (r"(n)g*[|&,]g*(n)g*u", words.OTHER),  # 8 or 10 squeezes
        (r"(n)[gw?]{0,1}u", words.OTHER),  # 10 seconds
        (r"@g*(n)&g*(n)(?![sdmgw])", words.OTHER),  # at 8 and 12
        (r"[b@]g*(n)(?![g]*[sd](?!g*u))", words.OTHER),  # week 6, at 3
        (r"(n)g*@g*o", words.OTHER),  # five half past
        (r"sg*Og*(n)", words.OTHER),  # sets of 10
        (r"sC(n)", words.OTHER),  # sets x 10
        (r"(x)g*s", words.VAGUE),  # 2 x 3 sets
        (r"(n)g*(?:&g*)?h", words.VAGUE),  # one and a half
        (r"(n)(n)", words.VAGUE),  # 2 3
        (r"(n)\+(?:g*)(n)", words.VAGUE),  # 2+1
    )
)


def masked(tokens: list[Token]) -> list[Token]:
    """The tokens, with numbers that cannot be counts marked as such."""
    tags = "".join(token.tag for token in tokens)
    for pattern, tag in MASKS:
        for match in pattern.finditer(tags):
            for group in range(1, (match.lastindex or 0) + 1):
                at = match.start(group)
                tokens[at] = replace(tokens[at], tag=tag)
                tags = tags[:at] + tag + tags[at + 1 :]
    return tokens


# ---- clauses --------------------------------------------------------------------------------------------------

BREAKS = frozenset((words.BREAK, words.END, words.QUESTION, ","))
SILENT = frozenset(
    (words.FILL, words.NICE, words.EMOJI, words.WISH, words.DAY, words.PART, ":", words.FIX, words.TOTAL)
)


@dataclass(frozen=True, slots=True)
class Clause:
    """A stretch between two breaks.

    core: its tags without fillers, days and wishes; places: the index in `tokens` of each. ends: the mark after it.
    """

    tokens: tuple[Token, ...]
    core: str
    places: tuple[int, ...]
    ends: str

    def has(self, tag: str) -> bool:
        """Whether any token of the clause has this tag."""
        return any(token.tag == tag for token in self.tokens)

    def numbers(self, match: re.Match[str]) -> list[Token]:
        """The tokens in the groups of the match."""
        return [
            self.tokens[self.places[match.start(group)]] for group in range(1, (match.lastindex or 0) + 1)
        ]


def _clause(tokens: Iterable[Token], ends: str) -> Clause:
    kept = tuple(tokens)
    places = tuple(at for at, token in enumerate(kept) if token.tag not in SILENT)
    return Clause(kept, "".join(kept[at].tag for at in places), places, ends)


def clauses(tokens: list[Token]) -> list[Clause]:
    """The message in clauses; two days with a number each are two clauses even without a break."""
    found: list[Clause] = []
    run: list[Token] = []
    for token in tokens:
        if token.tag in BREAKS:
            if run:
                found.extend(_by_day(run, token.tag))
            elif found and token.tag in (words.QUESTION, words.END):
                found[-1] = replace(found[-1], ends=token.tag)
            run = []
        else:
            run.append(token)
    if run:
        found.extend(_by_day(run, ""))
    return found


def _by_day(run: list[Token], ends: str) -> list[Clause]:
    days = [at for at, token in enumerate(run) if token.tag in (words.DAY, words.PART)]
    counts = [at for at, token in enumerate(run) if token.tag in (words.NUM, words.NONE)]
    if len(days) < 2 or len(counts) < 2:  # noqa: PLR2004 - two of each make two clauses
        return [_clause(run, ends)]
    cuts = days[1:] if days[0] < counts[0] else [at + 1 for at in days[:-1]]
    edges = [0, *cuts, len(run)]
    parts = [run[left:right] for left, right in zip(edges, edges[1:], strict=False) if left < right]
    return [_clause(part, "," if part is not parts[-1] else ends) for part in parts]


# ---- the rules ------------------------------------------------------------------------------------------------

Figure = Callable[[list[Token], Asked], int | None]


@dataclass(frozen=True, slots=True)
class Rule:
    """A shape of clause and what it means. `figure` gives the value, None makes it unclear."""

    shape: re.Pattern[str]
    meaning: Meaning
    figure: Figure


def _first(found: list[Token], _: Asked) -> int | None:
    return found[0].value


def _all(_: list[Token], asked: Asked) -> int | None:
    return asked.sets


def _short_by(found: list[Token], asked: Asked) -> int | None:
    rest = asked.sets - (found[0].value or 0)
    return rest if rest >= max(asked.done, 0) and found[0].value else None


def _of(found: list[Token], asked: Asked) -> int | None:
    top = found[0].top if len(found) == 1 else found[1].value
    value = found[0].value
    return value if value is not None and top == asked.sets and value <= top else None


def _all_of(found: list[Token], asked: Asked) -> int | None:
    return asked.sets if found[0].value == asked.sets else None


def _both(_: list[Token], asked: Asked) -> int | None:
    return 2 if asked.sets >= 2 and asked.done in (0, 2) else None  # noqa: PLR2004 - both are two


def _half(_: list[Token], asked: Asked) -> int | None:
    return asked.sets // 2 if asked.sets % 2 == 0 else None


def _place(found: list[Token], asked: Asked) -> int | None:
    place = found[0].value
    return place if place is not None and place in (asked.done, asked.done + 1) else None


def _one(_: list[Token], __: Asked) -> int | None:
    return 1


def _just_done(_: list[Token], __: Asked) -> int | None:
    return 1


def _bare_no(_: list[Token], __: Asked) -> int | None:
    return 0


def _denied(_: list[Token], __: Asked) -> int | None:
    return None


def _leftover(_: list[Token], __: Asked) -> int | None:
    return None


WEAK = frozenset((_just_done, _bare_no, _denied, _leftover))
WORDY = 3  # unknown words in a clause that make a number in it part of a story


def _zero(_: list[Token], __: Asked) -> int | None:
    return 0


def _guess(_: list[Token], __: Asked) -> int | None:
    return None


T, A, Z, U = Meaning.TOTAL, Meaning.ADDED, Meaning.NONE, Meaning.UNCLEAR
RULES: tuple[Rule, ...] = tuple(
    Rule(re.compile(shape), meaning, figure)
    for shape, meaning, figure in (
        # all but a few
        (r"[aT]T?s?e(n)", T, _short_by),
        (r"d?M[is]?(n)(?![u?])", T, _short_by),
        (r"(n)s?l", T, _short_by),
        (r"(n)[mw]s?l", T, _short_by),
        (r"ml", T, lambda _, asked: asked.sets - 1 if asked.sets - 1 >= asked.done else None),
        (r"XM[zA]", T, _all),
        # denied
        (r"[XN]d?[wm]", U, _guess),
        (r"(n)s?X[di]*n", T, _first),
        (r"nN(n)", T, _first),
        (r"X[dHi]*n(?!u)", U, _denied),
        (r"^N$", Z, _bare_no),
        (r"X[di]*[aBh]", U, _guess),
        (r"^N?[NX]d?[AisT]*[ab]?$", Z, _zero),
        (r"[NX]d?A[sT]?(?![?PLV])", Z, _zero),
        (r"^Xd[isT]", Z, _zero),
        (r"Ns", Z, _zero),
        (r"^M[aTs]*$", Z, _zero),
        (r"^M[i]$", U, _guess),
        (r"^d?[sT:]*z[sTd]*(?:[b@].*)?$", Z, _zero),
        (r"dz(?!\?)", Z, _zero),
        (r"zd", Z, _zero),
        (r"^N(n)s?d?$", T, _first),
        # no exact number
        (r"v", U, _guess),
        (r"H.*[naBh]|[naB]s?H", U, _guess),
        (r"^(?:d|s)?H+[sTOd]*$|dH[sT]|H(?:OT|s)|^dH$", U, _guess),
        # of the prescription
        (r"(n)Oa?(n)(?!u)", T, _of),
        (r"(n)O[TisU]", T, _first),
        (r"(f)", T, _of),
        (r"aO?(n)(?!u)", T, _all_of),
        (r"[dTi]+a(?!\?)", T, _all),
        (r"a(?:OT|[dsT])", T, _all),
        (r"^a(?:[b@].*)?$", T, _all),
        (r"^d?B[sdT]*(?:[b@].*)?$", T, _both),
        (r"dB|Bd|Bs", T, _both),
        (r"hO?[sT]", T, _half),
        (r"h", U, _guess),
        # added
        (r"m(n)s?", A, _first),
        (r"(n)s?w", A, _first),
        (r"w(n)", A, _first),
        (r"\+(n)", A, _first),
        (r"m(?![?l])", A, _one),
        (r"^d?w[sd]?$", U, _guess),
        # so many sets
        (r"(x)", T, _first),
        (r"(n)s", T, _first),
        (r"(r)s?[dN]", T, _place),
        (r"d(r)[sn]?", T, _place),
        (r"^(r)s?$", T, _place),
        (r"s(n)(?![?u])", T, _first),
        (r"[di]+(k)(?!\?)", T, _first),
        (r"^(k)d?$", T, _first),
        (r"(n)td?(?!\?)", T, _first),
        (r"d[iTs]?(n)(?![?u])", T, _first),
        (r"(n)d(?!\?)", T, _first),
        (r"^i?(n)i?(?:[b@q].*)?$", T, _first),
        (r"^sd?$", U, _guess),
        # done, without a number
        (r"^[dTi]*T[d]?(?:[b@].*)?$", T, _all),
        (r"dT(?!\?)", T, _all),
        (r"^(?:d[is]?|[is]d)(?:[b@].*)?$", A, _just_done),
        (r"^di", A, _just_done),
        # a number left over may be a count
        (r"n", U, _leftover),
    )
)


def _question(clause: Clause) -> bool:
    lead = clause.core[:1]
    return lead == words.ASK or clause.ends == words.QUESTION


def _plan(clause: Clause) -> bool:
    return clause.has(words.FUTURE) or any(token.wish is Wish.LATER for token in clause.tokens)


def _apply(clause: Clause, asked: Asked) -> Found | None:
    for rule in RULES:
        match = rule.shape.search(clause.core)
        if match is None:
            continue
        if rule.figure is _leftover and clause.core.count(words.WORD) >= WORDY:
            return None
        value = rule.figure(clause.numbers(match), asked)
        meaning = Meaning.UNCLEAR if value is None else rule.meaning
        if meaning is Meaning.TOTAL and value == 0:
            meaning = Meaning.NONE
        return Found(meaning, value, weak=rule.figure in WEAK)
    return None


def count_in(clause: Clause, asked: Asked) -> Found | None:
    """The count a clause holds, or None."""
    if _plan(clause):
        return None
    if _question(clause):
        # "2?" may be a report made unsurely; "is 2 enough?" is none.
        bare = re.fullmatch(r"[disT]*[nx][disT]*", clause.core)
        return Found(Meaning.UNCLEAR) if bare else None
    found = _apply(clause, asked)
    if found is None:
        return None
    days = [token.value for token in clause.tokens if token.tag == words.DAY]
    part = next((token.text for token in clause.tokens if token.tag == words.PART), "")
    firm = clause.has(words.TOTAL) or clause.has(words.FIX)
    if len(days) > 1 and len(set(days)) > 1:
        found = Found(Meaning.UNCLEAR)
    return replace(found, days_back=days[0] if days else None, part=part, firm=firm)
