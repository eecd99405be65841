"""What a clause says about a count, as a table of shapes.

A clause comes as a short string of tags (`reading_words`) without its filler words; the first rule that fits
it says what it means. A new way of saying it is a row, not another branch.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from bot.domain import reading_words as words
from bot.domain.reading_tokens import Token


class Meaning(StrEnum):
    """What a count stands for.

    TOTAL: sets done that day in all. ADDED: so many on top of what is booked. NONE: a report of zero.
    UNCLEAR: something about a count, to be asked back.
    """

    TOTAL = "total"
    ADDED = "added"
    NONE = "none"
    UNCLEAR = "unclear"


class Force(StrEnum):
    """How a count is said.

    PLAIN: as a report. FIRM: it puts right what is booked. REFUSAL: a bare no, which may answer something
    else. DENIAL: a number that is not so ("not 3"); a number after it is the right one.
    """

    PLAIN = "plain"
    FIRM = "firm"
    REFUSAL = "refusal"
    DENIAL = "denial"


@dataclass(frozen=True, slots=True)
class Asked:
    """What stands in the book when the message comes: sets prescribed a day, sets done today."""

    sets: int
    done: int


Figure = Callable[[list[Token], Asked], int | None]


class Yields(StrEnum):
    """When a count gives way to another one in the same message."""

    NEVER = "never"
    UNCLEAR = "unclear"  # only when it gave no value
    ALWAYS = "always"


@dataclass(frozen=True, slots=True)
class Rule:
    """A shape of clause and what it means. `figure` gives the value; None makes it unclear."""

    shape: re.Pattern[str]
    meaning: Meaning
    figure: Figure
    yields: Yields = Yields.NEVER
    force: Force = Force.PLAIN


def _first(found: list[Token], _: Asked) -> int | None:
    return found[0].value


def _all(_: list[Token], asked: Asked) -> int | None:
    return max(asked.sets, asked.done) if asked.sets else None


def _less(asked: Asked, missing: int | None) -> int | None:
    rest = asked.sets - (missing or 0)
    return rest if missing and rest >= max(asked.done, 0) else None


def _short_by(found: list[Token], asked: Asked) -> int | None:
    return _less(asked, found[0].value)


def _short_by_one(_: list[Token], asked: Asked) -> int | None:
    return _less(asked, 1)


def _short_by_the_last(found: list[Token], asked: Asked) -> int | None:
    return _less(asked, 1) if found[0].value == words.LAST else None


def _none_missed(found: list[Token], asked: Asked) -> int | None:
    return _all(found, asked) if found[0].value == 1 else None


def _done_and_left(found: list[Token], asked: Asked) -> int | None:
    done, left = (token.value or 0 for token in found)
    return done if done + left == asked.sets else None


def _of(found: list[Token], asked: Asked) -> int | None:
    top = found[0].top if len(found) == 1 else found[1].value
    value = found[0].value
    return value if value is not None and top == asked.sets and value <= top else None


def _all_of(found: list[Token], asked: Asked) -> int | None:
    return asked.sets if found[0].value == asked.sets else None


def _both(_: list[Token], asked: Asked) -> int | None:
    return 2 if asked.sets >= 2 and asked.done in (0, 2) else None  # noqa: PLR2004 - both are two


def _half(_: list[Token], asked: Asked) -> int | None:
    return asked.sets // 2 if asked.sets and asked.sets % 2 == 0 else None


def _rest(_: list[Token], asked: Asked) -> int | None:
    return asked.sets if 0 < asked.done <= asked.sets else None


def _place(found: list[Token], asked: Asked) -> int | None:
    place = asked.sets if found[0].value == words.LAST else found[0].value
    return place if place is not None and place in (asked.done, asked.done + 1) else None


def _first_few(found: list[Token], _: Asked) -> int | None:
    return found[1].value if found[0].value == 1 else None


def _just(found: list[Token], asked: Asked) -> int | None:
    # "just did 2" after a booked one may mean two more or two in all.
    return found[0].value if found[0].value == 1 or asked.done == 0 else None


def _one(_: list[Token], __: Asked) -> int | None:
    return 1


def _zero(_: list[Token], __: Asked) -> int | None:
    return 0


def _none_of_all(found: list[Token], asked: Asked) -> int | None:
    return 0 if found[0].value == asked.sets else None


def _zero_of_two(_: list[Token], asked: Asked) -> int | None:
    return 0 if asked.sets == 2 else None  # noqa: PLR2004 - both are two


def _guess(_: list[Token], __: Asked) -> int | None:
    return None


T, A, Z, U = Meaning.TOTAL, Meaning.ADDED, Meaning.NONE, Meaning.UNCLEAR
ALWAYS, NEVER = Yields.ALWAYS, Yields.NEVER
STOPS = r"(?![?ubLPVDS])"  # what follows is not counted by the number
TAIL = r"o*(?:[~@q].*)?$"  # the end, or a remark that begins with before, at, which
RULES = tuple(
    Rule(re.compile(shape), meaning, figure, *more)
    for shape, meaning, figure, *more in (
        # short of the prescription
        (r"[aT]T?[sj]?[d8]?e(n)" + STOPS, T, _short_by),
        (r"[aT]T?ei", T, _short_by_one),
        (r"[aT]T?e(r)", T, _short_by_the_last),
        (r"MaO?T?(n)", Z, _none_of_all),
        (r"XM[zAij]|^M[z]|zM", T, _all),
        (r"XM(n)", T, _none_missed),
        (r"XM", U, _guess),
        (r"M[isT]?(n)[sj]?" + STOPS, T, _short_by),
        (r"M[isT]?m", T, _short_by_one),
        (r"^Mr(n)[sj]?$", T, _short_by),
        (r"^MB[sjT]*$", Z, _zero_of_two),
        (r"Mr", U, _guess),
        (r"^Mi", U, _guess, ALWAYS),
        (r"(n)[sjd8]*(n)[sj]?M$", T, _done_and_left),
        (r"^(n)[sj]?M$", T, _short_by),
        (r"^NM", U, _guess, ALWAYS),
        (r"^M[aTsjA]*" + TAIL, Z, _zero),
        (r"(n)[sjdG8it]*(n)[sjwt]*l", T, _done_and_left),
        (r"(n)[sjwt]*l(?!\?)", T, _short_by),
        (r"^l(n)[sjt]?$", T, _short_by),
        (r"m[sj]?l(?!\?)|[ri]l$", T, _short_by_one),
        (r"z[sj]?l", U, _guess),
        (r"^[za][OTi]*~", U, _guess, ALWAYS),  # "nothing in the fridge", "all in bed"
        # denied
        (r"^X[dG8]*n[sjT]?[dG8]+(n)" + STOPS, T, _first, NEVER, Force.FIRM),
        (r"n[sj]?[d8G]n|[d8]X$", U, _guess),
        (r"(n)[sj]?X[dG8iH]*n", T, _first, NEVER, Force.FIRM),
        (r"nN(n)", T, _first, NEVER, Force.FIRM),
        (r"[XN][dG8i]*[wm]", U, _guess),
        (r"X[dG8Hi]*n(?!u)", U, _guess, ALWAYS, Force.DENIAL),
        (r"X[dG8i]*[aBh^]", U, _guess, ALWAYS, Force.DENIAL),
        (r"^N$", Z, _zero, ALWAYS, Force.REFUSAL),
        (r"^X$", Z, _zero, ALWAYS),
        (r"[NX][dG8]*z[sjTOi]*" + TAIL, Z, _zero),
        (r"^N?[NX][d8]?[AisjT]*$", Z, _zero),
        (r"[NX][d8]?A[sjTO8]*(?![?PLVDSdb])", Z, _zero),
        (r"^X[d8]?[isjT]+(?!\?)", Z, _zero),
        (r"^N[sj][d8]?" + TAIL, Z, _zero),
        (r"zO[Ti]*n$", Z, _zero),
        (r"^N?[d8Gis]*z[sjTd8OiG]*" + TAIL, Z, _zero),
        (r"[d8]z(?![?LPVDb])|^z[d8]", Z, _zero),
        (r"^N?Z", Z, _zero, ALWAYS),
        (r"^\?z[sjTd8]*$", U, _guess, ALWAYS),
        (r"^N[d8G]*(n)[sj]?[d8]?" + TAIL, T, _first, NEVER, Force.FIRM),
        # whatever else is missed or denied
        (r"M.*[nkxfaBm]|X.*[kxfaBm]", U, _guess, ALWAYS),
        # no exact number
        (r"v|MH", U, _guess),
        (r"\$", U, _guess, ALWAYS),
        (r"H.*[nkfxaBh^mT]|[nkaBT][sjt]?H|[nkfx].*H$", U, _guess),
        (r"^H$", U, _guess),
        (r"^[d8GsjiTOt]*H+[sjTOd8tA]*$|[d8]H[sjT]", U, _guess),
        # of the prescription
        (r"(n)Oa?(n)(?!u)", T, _of),
        (r"(n)O(?:[Tisja](?![?ub])|$)", T, _first),
        (r"(f)", T, _of, Yields.UNCLEAR),
        (r"aO?T?(n)(?![?ut])", T, _all_of),
        (r"[d8GTi]+a(?![?b@u])", T, _all),
        (r"aO?[T](?!\?)|a[d8sj](?!\?)|^a" + TAIL, T, _all),
        (r"^[d8GiT]*B[sjd8GTOi]*" + TAIL + r"|[d8G]B(?!\?)|B[sd8](?![?O])", T, _both),
        (r"[h^]O?[sT]", T, _half),
        (r"^[d8]?[h^][sjTd8nOmi]*$", U, _guess),
        (r"^[d8G]?R[d8]*" + TAIL + r"|[d8]R", T, _rest),
        # of the latest set
        (r"G(n)[sj]?" + STOPS + r"|^[d8]?(n)[sj]?[d8]?G", A, _just),
        (r"^G[ij]?$|^[d8][ij]?G$", A, _one, ALWAYS),
        # on top
        (r"m(n)[sj]?" + STOPS, A, _first),
        (r"(n)[sj]?w" + STOPS, A, _first),
        (r"w(n)" + STOPS, A, _first),
        (r"\+(n)" + STOPS, A, _first),
        (r"^[d8GiT+]*mw?[sjd8GOT]*" + TAIL, A, _one),
        (r"[d8G]m" + STOPS + r"|^m[d8]|m[sj](?!O?[?ul])", A, _one),
        (r"^[d8G]?\??wj[d8]?$", A, _one),
        (r"^[d8G]?w[sj]?[d8]?$", U, _guess),
        # so many sets
        (r"^\?{1,2}[dG8]+[nxk]|^\?+[nx][sj]", U, _guess),
        (r"n[sj].*n[sj]", U, _guess),
        (r"(x)(?!\?)", T, _first),
        (r"(n)\??[sj](?!O\?)", T, _first),
        (r"^[d8G]?(r)(n)[sjd8]*$", T, _first_few),
        (r"^(?!.*n)(?:.*(r)[sjti]?(?:Oo?)?[d8G]|.*[d8G]i?(r)[sjti]?(?!\?))", T, _place),
        (r"^i?(r)[sji]?(?:Oo)?$", T, _place, Yields.UNCLEAR),
        (r"^G?j(n)[d8]?$", T, _place),
        (r"s(n)(?![?u])", T, _first),
        (r"[d8G][d8GiT]*o?(k)(?!\?)|^[iT]+(k)(?!\?)", T, _first),
        (r"^(k)[d8]?" + TAIL, T, _first),
        (r"^[d8GitTs]*(n)t[d8GOT]*" + TAIL, T, _first),
        (r"[d8][iTsj]?O?(n)" + STOPS, T, _first),
        (r"(?<![?b])(n)[d8](?!\?)", T, _first),
        (r"^i?(n)i?" + TAIL, T, _first),
        (r"^s[d8]?$|^[d8]?s$|^j$", U, _guess, ALWAYS),
        # done, without a number
        (r"[d8G]T(?!\?)|^T[d8G]", T, _all),
        (r"^(?:8[ij]*|d[ij]+|[ij]+8)" + TAIL, A, _one, ALWAYS),
        (r"^[d8][ij](?![?PLDVSX])", A, _one, ALWAYS),
        (r"^d$", U, _guess, ALWAYS),
        # a number left over may be a count
        (r"^[iN]*n(?!\?)", U, _guess),
        (r"n", U, _guess, ALWAYS),
    )
)
