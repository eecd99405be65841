"""What the guided form asks: its questions, their answers on buttons, and what may be typed instead.

An answer is a short token, kept in the draft under its question's key. A question that takes no typed answer
has no `reads`; a typed answer that is not understood gives None and is asked again.
"""

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from dateutil.relativedelta import relativedelta

from bot.domain.findings import parse_perfect
from bot.domain.template import AsksBirth, Template, Templates
from bot.errors import RefusedError

Answers = Mapping[str, str]
Reads = Callable[[str, dt.date], Mapping[str, str] | None]
Rows = tuple[tuple[str, ...], ...]

LONGEST_INITIALS = 8  # as a prescription file takes them
LONGEST_GOAL = 300
LONGEST_NOTE = 2000
APART_MIN = 60
MOST_WEEKS_TO_REVIEW = 52
ACROSS = 6
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})", re.ASCII)
_NUMBERS = re.compile(r"(\d{1,2})\s*[./-]\s*(\d{1,2})\s*[./-]\s*(\d{4}|\d{2})", re.ASCII)
_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s+([a-z]{3})[a-z]*\.?\s*,?\s*(\d{4}|\d{2})?", re.ASCII)
_CLOCK = re.compile(r"([01]?\d|2[0-3])[:.h]([0-5]\d)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Ask:
    """A question: its key (also the end of its sentence id), the tokens on its buttons, what it reads."""

    key: str
    rows: Rows = ()
    reads: Reads | None = None

    def takes(self, token: str) -> bool:
        """Whether a button of this question carries a token."""
        return any(token in row for row in self.rows)


def read_day(text: str, today: dt.date) -> dt.date | None:
    """A day as people write it: 2026-02-09, 9 Feb 2026, 9.2.26 or 9/2/2026 (the day first).

    Without a year, the last one that is not to come. None for anything else, and for no day at all.
    """
    said = text.strip().casefold()
    if found := _ISO.fullmatch(said):
        year, month, day = map(int, found.groups())
    elif found := _NUMBERS.fullmatch(said):
        day, month, year = map(int, found.groups())
    elif (found := _NAMED.fullmatch(said)) and found[2] in _MONTHS:
        day, month = int(found[1]), _MONTHS.index(found[2]) + 1
        year = int(found[3]) if found[3] else _last_year(today, month, day)
    else:
        return None
    try:
        return dt.date(year + (2000 if year < 100 else 0), month, day)  # noqa: PLR2004 - two digits
    except ValueError:
        return None


def _last_year(today: dt.date, month: int, day: int) -> int:
    return today.year if (month, day) <= (today.month, today.day) else today.year - 1


def _birth(text: str, today: dt.date) -> Mapping[str, str] | None:
    day = read_day(text, today)
    if day is None or day > today or day < today - relativedelta(years=60):
        return None
    return {"birth": day.isoformat()}


def _perfect(text: str, today: dt.date) -> Mapping[str, str] | None:
    del today
    try:
        found = parse_perfect(text)
    except RefusedError:
        return None
    values = (found.power, found.endurance_s, found.repetitions, found.fast)
    return dict(zip(("power", "endurance", "repetitions", "fast"), map(str, values), strict=True))


def _words(key: str, longest: int) -> Reads:
    def read(text: str, today: dt.date) -> Mapping[str, str] | None:
        del today
        words = " ".join(text.split())
        return {key: words} if 1 < len(words) <= longest else None

    return read


def _number(key: str, most: int) -> Reads:
    def read(text: str, today: dt.date) -> Mapping[str, str] | None:
        del today
        said = text.strip()
        fits = said.isascii() and said.isdigit() and int(said) <= most
        return {key: str(int(said))} if fits else None

    return read


def read_times(text: str) -> tuple[str, ...] | None:
    """Some times of day in order, at least an hour apart, such as "08:30 13:00 18:30"; None if not so."""
    rest = _CLOCK.sub("", text)
    times = [f"{int(hour):02}:{minute}" for hour, minute in _CLOCK.findall(text)]
    minutes = [int(at[:2]) * 60 + int(at[3:]) for at in times]
    apart = all(later - earlier >= APART_MIN for earlier, later in pairwise(minutes))
    return tuple(times) if times and apart and not re.search(r"\w", rest.replace("and", "")) else None


def _times(text: str, today: dt.date) -> Mapping[str, str] | None:
    del today
    times = read_times(text)
    return {"times": " ".join(times)} if times else None


def _review(text: str, today: dt.date) -> Mapping[str, str] | None:
    day = read_day(text, today)
    if day is None or not today < day <= today + dt.timedelta(weeks=MOST_WEEKS_TO_REVIEW):
        return None
    return {"review": day.isoformat()}


def _cleared(text: str, today: dt.date) -> Mapping[str, str] | None:
    """By whom and when, such as "GP, 10 Feb 2026"."""
    by, _, day_text = text.strip().rpartition(",")
    day = read_day(day_text, today)
    if len(by.strip()) < 2 or day is None or day > today:  # noqa: PLR2004 - as a prescription file asks
        return None
    return {"cleared_by": " ".join(by.split()), "cleared_on": day.isoformat()}


def across(tokens: Sequence[str], number: int = ACROSS) -> Rows:
    """Tokens as rows of so many buttons."""
    return tuple(tuple(tokens[start : start + number]) for start in range(0, len(tokens), number))


_YES_NO: Rows = (("yes", "no"),)
_HOW: Rows = (("by_finger",), ("by_eye",), ("by_ultrasound",))
TO_TEN = tuple(map(str, range(11)))
WIDTHS = ("1", "1.5", "2", "2.5", "3", "4")
SITES = ("above", "at", "below")
_NONE: Rows = (("none",),)

ASKS: Mapping[str, Ask] = {
    ask.key: ask
    for ask in (
        Ask("birth", reads=_birth),
        Ask("four", (*_HOW, ("partly",), ("not_assessed",))),
        Ask("contraction", (*_HOW, ("no",))),
        Ask("release", (("yes", "no"), ("not_assessed",))),
        Ask("tone", (("low", "normal", "raised"), *_NONE)),
        Ask("hurts", _YES_NO),
        Ask("power", (*across(TO_TEN[:6]), *_NONE), _perfect),
        Ask("endurance", across(TO_TEN)),
        Ask("repetitions", across(TO_TEN)),
        Ask("fast", across(TO_TEN)),
        Ask("distance", (*(tuple(f"{site}_{width}" for width in WIDTHS) for site in SITES), *_NONE)),
        Ask("stage", (tuple("01234"), *_NONE)),
        Ask("leakage", (("stress", "urge"), ("mixed", "dry"))),
        # what may be added
        Ask("doming", _YES_NO),
        Ask("heaviness", across(TO_TEN)),
        Ask("pain", across(TO_TEN)),
        Ask("bleeding", _YES_NO),
        Ask("screened", _YES_NO),
        Ask("baby", _YES_NO),
        Ask("mode", (tuple("1234"),)),
        Ask("tear", (("0", "1", "2"), ("3a", "3b", "3c", "4"))),
        Ask("pessary", _YES_NO),
        Ask("leaks", across(TO_TEN), _number("leaks", 500)),
        Ask("impact", _YES_NO),
        Ask("cleared", (tuple("123"),)),
        Ask("cleared_by", reads=_cleared),
        Ask("goal", reads=_words("goal", LONGEST_GOAL)),
        Ask("note", reads=_words("note", LONGEST_NOTE)),
        Ask("initials", reads=_words("initials", LONGEST_INITIALS)),
        # how the programme is set
        Ask("sets", (tuple("123456"),)),
        Ask("times", (("earlier", "usual", "later"),), _times),
        Ask("review", (("2", "4", "6", "8", "12"),), _review),
    )
}
MORE = (
    "power", "distance", "doming", "heaviness", "pain", "bleeding", "screened", "baby", "mode", "tear",
    "stage", "pessary", "leakage", "leaks", "impact", "cleared", "goal", "note", "initials",
)  # fmt: skip
"""What may be added, in the order it is listed."""
AFTER_BIRTH = frozenset({"baby", "mode", "tear"})
SETTINGS = frozenset({"sets", "times", "review"})
CHECKED = frozenset({"by_finger", "by_eye", "by_ultrasound"})


def required(answers: Answers, template: Template | None) -> tuple[str, ...]:
    """What is asked of everybody, and of this kind of client, in order."""
    if template is None:
        return ("template",)
    keys = ["template"]
    if template.birth is not AsksBirth.NO:
        keys.append("birth")
    keys.append("four")
    if answers.get("four") == "partly":
        keys += ["contraction", "release", "tone", "hurts"]
    if template.strength and _may_lead_to_a_dose(answers):
        keys.append("power")
    if answers.get("power", "none") != "none":
        keys += ["endurance", "repetitions", "fast"]
    return (*keys, *template.asks)


def _may_lead_to_a_dose(answers: Answers) -> bool:
    """Whether strength values could lead to a dose; where they cannot, they are asked only on demand."""
    against = (("release", "no"), ("tone", "raised"), ("hurts", "yes"))
    seen = CHECKED & {answers.get("four"), answers.get("contraction")}
    return bool(seen) and not any(answers.get(key) == token for key, token in against)


def ask_of(key: str, template: Template | None, templates: Templates) -> Ask:
    """The question of a key."""
    if key == "template":
        return Ask(key, across([one.id for one in templates.templates], 4))
    if key == "birth" and template is not None and template.birth is AsksBirth.MAYBE:
        return Ask(key, _NONE, ASKS[key].reads)
    return ASKS[key]
