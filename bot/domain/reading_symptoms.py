"""Figures about symptoms, where a message says them plainly: "leaked once, pain 1/10"."""

import re
from dataclasses import dataclass, replace
from enum import StrEnum

from bot.domain import reading_words as words
from bot.domain.reading_tokens import Token


class Measure(StrEnum):
    """What a symptom's figure counts: leaks of the day, or a score of 0 to 10."""

    LEAKS = "leaks"
    PAIN = "pain"
    HEAVINESS = "heaviness"


@dataclass(frozen=True, slots=True)
class Symptom:
    """A figure about a symptom, said in so many words: leaks from 0 up, pain and heaviness 0 to 10."""

    measure: Measure
    value: int


HIGHEST_SCORE = 10
MOST_LEAKS = 50  # more in one day is a slip of the finger
MEASURES = {
    words.LEAK: Measure.LEAKS,
    words.LEAKED: Measure.LEAKS,
    words.PAIN: Measure.PAIN,
    words.HEAVY: Measure.HEAVINESS,
}
# Group "word" is the symptom, group "figure" its number; without that group it is denied and counts as 0.
# The order says which figure belongs to which word: "3 leaks 2 sets".
SYMPTOMS = tuple(
    re.compile(shape)
    for shape in (
        r"Ng*(?P<word>[LDPV])",  # no pain
        r"(?:z|Xg*A?)g*(?P<word>[LDPV])(?![gq}b:Oi|=yp]*[nfk])",  # didnt hurt
        r"(?:N|z|Xg*A?)g*[LDPV]g*[|,]g*(?P<word>[LPV])(?![gq}b:Oi|=yp]*[nfk])",  # no pain or leaks
        r"(?<![nk])(?P<word>[LPV])[:gyp]*z",  # leaks: none
        r"(?P<figure>f)[gO|]*(?P<word>[PV])",  # 3/10 pain
        r"(?P<figure>n)g*S[gO]*(?P<word>[PV])",  # 3 out of ten pain
        r"(?<!^s)(?<![^n]s)(?<!:)(?P<figure>[nk])[gb?2]{0,2}(?P<word>L)",  # 2 small leaks
        r"(?P<word>[PV])[gbOiq}:|@=typHS]{0,5}(?P<figure>[nf])(?:g*S)?(?!g*[sjtd8mwu](?!:|g*n))",  # pain 1/10
        r"(?P<word>[LD])[:gypi]*(?P<figure>k)",  # leaked once
        # leaks 2
        r"(?P<word>[LD])[:gypiq}]*(?P<figure>n)(?:t|(?!g*[sjtd8mwu](?!:|g*n))(?!g*[PV](?![g:]*[nf])))",
    )
)


NOUGHT = re.compile("ng*[PV]")  # 0 pain
DOUBTFUL = re.compile(r"Ng*[LDPV][gq}]*(?P<figure>n)(?!g*[sjtd8mwuO])")
DATED = words.DAY + words.PART


def symptoms(tokens: list[Token]) -> tuple[list[Token], tuple[Symptom, ...]]:
    """The tokens with all that was used made fillers or TOLD; the symptoms said in figures, in her order."""
    tags = "".join(token.tag for token in tokens)
    for match in NOUGHT.finditer(tags):
        if tokens[match.start()].value == 0:
            tags = tags[: match.start()] + words.NO + tags[match.start() + 1 :]
    if not any(tag in tags for tag in MEASURES):
        return tokens, ()
    found: dict[int, Symptom] = {}
    told: set[int] = set()
    used: set[int] = set()
    for shape in SYMPTOMS:
        for match in shape.finditer(tags):
            place, figured = match.start("word"), "figure" in shape.groupindex
            value = _score(tokens[match.start("figure")], MEASURES[match["word"]]) if figured else 0
            if value is None or place in found or (figured and match.start("figure") in used):
                continue
            found[place] = Symptom(MEASURES[match["word"]], value)
            if figured:
                told.add(place)
            used |= {at for at in range(match.start(), match.end()) if tags[at] not in DATED}
    # "no pain 2": no pain and 2 sets, or no and pain 2?
    doubtful = {match.start("figure") for match in DOUBTFUL.finditer(tags)}
    left = [_left(token, at in used, at in doubtful) for at, token in enumerate(tokens)]
    for at in told:
        left[at] = replace(left[at], tag=words.TOLD)
    return left, tuple({found[place].measure: found[place] for place in sorted(found)}.values())


def _left(token: Token, used: bool, doubtful: bool) -> Token:
    if used:
        return Token(words.FILL, token.text, token.start, token.end)
    return replace(token, tag=words.VAGUE) if doubtful else token


def _score(token: Token, measure: Measure) -> int | None:
    value = token.value
    if value is None or (token.tag == words.FRAC and token.top != HIGHEST_SCORE):
        return None
    return value if value <= (MOST_LEAKS if measure is Measure.LEAKS else HIGHEST_SCORE) else None
