"""Words that mean something else beside certain others: numbers that are no counts, above all.

Each row is tried in order on the tags of the whole message, and what it changes the later rows see.
"""

import re
from dataclasses import replace

from bot.domain import reading_words as words
from bot.domain.reading_tokens import Token

# An expression over the tags of the whole message, the new tag of its groups, and the value a group must
# have (None any).
MASKS = tuple(
    (re.compile(pattern), tag, value)
    for pattern, tag, value in (
        (r"X[gc6]*(J)", words.DO, None),  # didnt actually do any
        (r"(J)", words.FUTURE, None),
        (r"([8d])g*c(?:$|[,.])", words.WORD, None),  # done was a mistake
        (r"[\"?]*\"[gq}:]*(z)", words.WORD, None),  # fever: none
        (r"\"[gq}:]*([nfvk])(?!g*[sjtmwd8])", words.OTHER, None),  # temperature 38
        (r"(\")", words.WORD, None),
        (r"\?g*:g*([nfvz])(?!g*[sjtmwd8])", words.WORD, None),  # pads: 3
        (r"'[gp~y]*(n)(?!g*[sjtmwd8])", words.VAGUE, None),  # heaviness 2 in the morning 6 at night
        (r"([nv])g*[12w]?g*U", words.OTHER, None),  # 2 kids
        (r"(n)[gTsj]*}(?!g*[8dal])", words.VAGUE, None),  # 3 is too much
        (r"U[g]*}?[gH]*([nv])(?!g*[sjtmwd8])", words.OTHER, None),  # my eldest is 6
        (r"b\?g*([nvk])(?!g*[sjtmwd8])", words.OTHER, None),  # took ibuprofen twice
        (r"(r)i?[gG]*X", words.FILL, None),  # the third one didnt happen
        (r"(M)g*q", words.WORD, None),  # forgot how
        (r"pg*(j)(?!n)", words.IT, None),  # the nap time set
        (r"Xg*(c)(?!g*[dA8zFs])", words.WORD, None),  # didnt mean it
        (r"(?:^|[,.Q5&7])[g1]*(I)", words.ASK, None),  # if i do 2
        (r"(I)", words.HEDGE, None),
        (r"(X)[g}]*([Y#])", words.MOOD, None),  # not great
        (r"(z)g*(?:[Y#]|}(?!g*[8d])|2(?:$|[,.]))", words.VAGUE, None),  # nothing hard, nothing is
        (r"([aBz])g*>(?!g*[sj])", words.VAGUE, None),  # all long
        (r"([aB])[g}]*([Y#])", words.NICE, None),  # all fine
        (r"(?:^|[,.Q5&7])g*([aB])[g}]*2(?:$|[,.7/])", words.MOOD, None),  # all done in
        (r"(#)", words.NICE, None),
        (r"[iTsjrpB0an]g*(`)", words.DONE, None),
        (r"(`)", words.EMOJI, None),
        (r"(z)g*\|", words.WORD, None),  # nil to report
        (r"(Y)", words.FILL, None),
        (r"[nx]g*(K)", words.SETS, None),  # 3 series
        (r"(K)", words.NOUN, None),
        (r"^7g*(n)", words.ANOTHER, 1),  # and one
        (r"^7g*(n)$", words.VAGUE, None),  # and 2
        (r"(?<![no])<g*:?g*(n)", words.OTHER, None),  # reps: 10
        (r"n[g>]*[E<]g*(n)(?!g*[tsj])", words.VAGUE, None),  # 8 squeezes x 3
        (r"([nv])g*(u)[g>]*[E<](?=g*k)", words.FILL, None),  # 10 s holds
        (r"(?:^|[,.Q5&7])[^,.Q5&7d8GFsjE<]*\?g*(n)t(?!g*[sj])", words.OTHER, None),  # up 3 times
        (r"(n)g*\|g*(n)[gw2?]?u", words.OTHER, None),  # 8 or 10 squeezes
        (r"([nv])[gwm2?]?u", words.OTHER, None),  # 10 slow seconds
        (r"![g:]*(n)", words.ORD, None),  # number 2 done
        (r"(!)", words.FILL, None),
        (r"[nsj]g*[yp]g*(\+)", words.AND, None),  # 2 yesterday + 1 today
        (r"rg*(7)g*r", words.FILL, None),  # third and final
        (r"r(n)", words.FILL, 1),  # the first one
        (r"a(5)g*[nmri]", words.EXCEPT, None),  # all but one
        (r"(n)g*7g*H(?:[.,Q5&]|$)", words.VAGUE, None),  # 2 and a bit
        (r"_g*(n)7g*(n)(?!g*[@0p])", words.VAGUE, None),  # between 2 and 3
        (r"(_)", words.CLOCK, None),
        (r"([@~])[gH]*0", words.FILL, None),  # at 10:30
        (r"([@~])g*p", words.FILL, None),  # by noon
        (r"0g*(n)g*p", words.VAGUE, None),  # 1 am 1 pm
        (r"b[gq:}]*([nfvk])(?!g*[sj])", words.OTHER, None),  # week 6
        (r"(b)[gq}:]*(?=o)", words.FILL, None),
        (r"(n)g*9g*(n)", words.TIME, None),  # ten past four
        (r"@g*(n)7g*(n)(?!g*[sjtmwd8@])", words.TIME, None),  # at 8 and 12
        (r"[@~]g*([nv])(?!g*[sjmwd8])", words.TIME, None),  # at 3, by 9
        (r"@g*(n)(?=g*d[gY]*n)", words.TIME, None),  # at 3 i did 2
        (r"07g*(n)(?!g*[sjtmwd8@?0])", words.TIME, None),  # at 10:30 and 12
        (r"0,g*(n)7g*(n)(?!g*[sjtmwd8@?])", words.TIME, None),  # at 1, 3 and 5
        (r"[sjxrt]g*Og*(n)", words.OTHER, None),  # sets of 10
        (r"[?bU2]g*Og*(n)", words.OTHER, None),  # mum of 3
        (r"(n)g*~oU", words.VAGUE, None),  # 1 in 3 women
        (r"ou(n)(?!g*[sjtmwd8])", words.OTHER, None),  # 9lb 2
        (r"ou?g*(k)", words.OTHER, None),  # 500 mg twice
        (r"(?<=n)[sj](n)", words.OTHER, None),  # 3 sets x 10
        (r"(x)g*[sj]", words.VAGUE, None),  # 2 x 3 sets
        (r"(a)g*<", words.FILL, None),  # all reps
        (r"([nv])[g>]*[E<](?!g*[sj])", words.FILL, None),  # 10 squeezes, 10 s holds
        (r"(n)g*>(?!g*[sj])", words.OTHER, None),  # 10 quick
        (r"(n)g*Og*(?:[Ti]g*)?[?ub2UE](?!g*[sj])", words.OTHER, None),  # one of my friends, one of those days
        (r"@g*(\$)", words.FILL, None),  # at 2%
        (r"(h)(n)", words.TIME, None),  # half ten
        (r"(n):H", words.VAGUE, None),  # three-ish
        (r"(n)\+(?=[.,Q]|$)", words.VAGUE, None),  # 2+
        (r"(n)g*7?g*[h^]", words.VAGUE, None),  # one and a half
        (r"(n)g*\|g*(n)", words.VAGUE, None),  # two or three
        (r"(?:^|[^nvfkg])g*\|g*(n)", words.VAGUE, None),  # counted to 3
        (r"(n)g*(n)", words.VAGUE, None),  # 2 3
        (r"[?ou2E<U]g*(\+)", words.AND, None),  # a walk plus 2 sets
        (r"(\+)(?!g*[nmj])", words.AND, None),  # 2 plus a walk
        (r"(n)g*\+g*(n)", words.VAGUE, None),  # 2+1
        (r"(v)g*[LPV]", words.OTHER, None),  # 2-3 leaks
        (r"[PV][gq}Hb~:|@=p]{0,5}(v)", words.OTHER, None),  # pain 2-3
    )
)


def masked(tokens: list[Token]) -> list[Token]:
    """The tokens, with numbers that cannot be counts marked as such."""
    tags = "".join(token.tag for token in tokens)
    for pattern, tag, value in MASKS:
        for match in pattern.finditer(tags):
            for at in map(match.start, range(1, (match.lastindex or 0) + 1)):
                if value is None or tokens[at].value == value:
                    tokens[at] = replace(tokens[at], tag=tag)
                    tags = tags[:at] + tag + tags[at + 1 :]
    return tokens
