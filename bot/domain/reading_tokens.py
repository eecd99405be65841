"""From a typed message to tagged tokens: what each word or number may be, before any sense is made of it."""

import datetime as dt
import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache

import text_to_num
from rapidfuzz import process
from rapidfuzz.distance import OSA

from bot.domain import reading_words as words
from bot.domain.reading_english import ENGLISH
from bot.domain.reading_words import Wish, Words

LANGUAGES = {"en": ENGLISH}
LONGEST_READ = 600  # characters; nobody counts further down, and a longer text becomes a note anyway
MOST_DIGITS = 3  # a longer run of digits is a year, a code, a telephone number
WEEK = 7


@dataclass(frozen=True, slots=True)
class Token:
    """A word, phrase, number or mark.

    tag: one character of `reading_words`. start, end: its place in the normalised text. value: the count, or how
    many days back, or None. top: the second figure of a fraction or product. doubt: a day that may be another.
    wish: for a wish; whole: it counts only when nothing else is said.
    """

    tag: str
    text: str
    start: int
    end: int
    value: int | None = None
    top: int | None = None
    doubt: bool = False
    wish: Wish | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """What a table says of a word or phrase."""

    tag: str
    value: int | None = None
    doubt: bool = False
    wish: Wish | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Tables:
    """A language made ready for look-up: phrases as tuples of words, and the sets of words asked for singly."""

    source: Words
    entries: dict[tuple[str, ...], Entry]
    longest: dict[str, int]  # first word to the length of the longest phrase that begins with it
    units: frozenset[str]
    openers: frozenset[str]
    homely: frozenset[str]
    body: frozenset[str]
    last: frozenset[str]
    next: frozenset[str]
    slips: dict[str, Entry]  # words worth finding behind a typing slip


def split(entries: str) -> list[str]:
    """The entries of a table, without the white space around and inside them."""
    return [" ".join(entry.split()) for entry in entries.split(",") if entry.strip()]


SLIP_TAGS = frozenset(
    (
        words.DO,
        words.SETS,
        words.ONE_SET,
        words.DAY,
        words.ANOTHER,
        words.NONE,
        words.MISS,
        words.LEAKED,
        words.PART,
    )
)
SHORTEST_SLIP = 5  # below five letters one slip makes another word
LONG_WORD = 8  # from here on two slips are forgiven


def _entries(source: Words) -> dict[tuple[str, ...], Entry]:
    found: dict[tuple[str, ...], Entry] = {}
    for table, tag in ((source.days, words.DAY), (source.once, words.ONCE), (source.ordinals, words.ORD)):
        found |= {tuple(phrase.split()): Entry(tag, value) for phrase, value in table.items()}
    found |= {(word,): Entry(words.NUM, value) for word, value in source.numbers.items()}
    found |= {tuple(phrase.split()): Entry(words.DAY, 0, doubt=True) for phrase in split(source.vague_days)}
    for wish, phrases in source.wishes.items():
        found |= {tuple(phrase.split()): Entry(words.WISH, wish=wish) for phrase in split(phrases)}
    for tag, phrases in source.tags.items():
        found |= {tuple(phrase.split()): Entry(tag) for phrase in split(phrases)}
    for wish, phrases in source.whole_wishes.items():
        for phrase in map(tuple, map(str.split, split(phrases))):
            tag = found[phrase].tag if phrase in found else words.WORD
            found[phrase] = Entry(tag, None, wish=wish, whole=True)
    return found


@cache
def tables(language: str) -> Tables:
    """The look-up tables of a language; raises KeyError for one without words."""
    source = LANGUAGES[language]
    entries = _entries(source)
    longest: dict[str, int] = {}
    for phrase in entries:
        longest[phrase[0]] = max(longest.get(phrase[0], 1), len(phrase))
    slips = {
        phrase[0]: entry
        for phrase, entry in entries.items()
        if len(phrase) == 1 and len(phrase[0]) >= SHORTEST_SLIP and entry.tag in SLIP_TAGS
    }
    slips |= {name: Entry(words.DAY) for name in source.weekdays if len(name) > SHORTEST_SLIP}
    return Tables(
        source=source,
        entries=entries,
        longest=longest,
        units=frozenset(split(source.units)),
        openers=frozenset(split(source.openers)),
        homely=frozenset(split(source.homely)),
        body=frozenset(split(source.body)),
        last=frozenset(split(source.last)),
        next=frozenset(split(source.next)),
        slips=slips,
    )


# ---- characters -----------------------------------------------------------------------------------------------

VULGAR = "\u00bc-\u00be\u2150-\u215e"  # one quarter to seven eighths
CROSSES = "x*\u00d7\u2715\u2716"
# Order matters: the most particular shape first.
SHAPES = re.compile(
    rf"""
      (?P<iso>\d{{4}}-\d\d?-\d\d?(?!\d))
    | (?P<phone>\+?\d[\d\ ()-]{{7,}}\d(?!\d))
    | (?P<clock>\d{{1,2}}[:.][0-5]\d\ ?[ap]\.?m\b\.?|\d{{1,2}}:\d\d(?::\d\d)?(?!\d)|\d{{1,2}}\ ?[ap]\.?m\b\.?
        |\d{{1,2}}h[0-5]\d(?!\d)|\d{{1,2}}\ ?o\ ?clock\b|\d{{1,2}}ish\b(?<=\d\dish)
        |(?:(?<=\bat\ )|(?<=@\ )|(?<=@))\d{{1,2}}\.[0-5]\d(?!\d))
    | (?P<money>[\u00a3$\u20ac]\ ?\d[\d.,]*|\d[\d.,]*\ ?[\u00a3$\u20ac])
    | (?P<percent>\d+(?:[.,]\d+)?\ ?%)
    | (?P<triple>\d+\ ?/\ ?\d+\ ?(?:/\ ?/?\ ?\d+)+)
    | (?P<fraction>\d{{1,3}}\ ?/\ ?\d{{1,3}}(?![\d/]))
    | (?P<range>\d{{1,3}}\ ?(?:-{{1,2}}|~)\ ?\d{{1,3}}(?:\ ?-\ ?\d+)*(?!\d))
    | (?P<vulgar>\d*\ ?[{VULGAR}])
    | (?P<minutes>\d{{1,2}}\.[0-5]\d(?![\d.]))
    | (?P<decimal>\d*[.,]\d+)
    | (?P<cross>\d{{1,3}}\ ?[{CROSSES}]\ ?\d{{1,3}}(?!\d))
    | (?P<fix>\*(?=\ ?\d{{1,2}}\b)(?<!\w\*))
    | (?P<times>[{CROSSES}]\ ?\d{{1,3}}(?!\d)|\d{{1,3}}\ ?[{CROSSES}](?!\w))
    | (?P<plus>\+)
    | (?P<negative>(?<![\w)-])-\d+)
    | (?P<ordinal>\d{{1,3}}(?:st|nd|rd|th)\b)
    | (?P<number>\d+)
    | (?P<word>[^\W\d_]+(?:\d+[^\W\d_]*)?)
    | (?P<dash>[-=:>]+)
    | (?P<soft>[,;()\[\]/|\\&\u2022\u00b7]|\n+)
    | (?P<end>[.!\u2026]+)
    | (?P<question>[?\u00bf]+)
    | (?P<quote>["\u201c\u201d\u00ab\u00bb_*~#^`\u00a0]+)
    | (?P<other>\S)
    """,
    re.VERBOSE,
)
SHAPE_TAGS = {
    "fraction": words.FRAC,
    "cross": words.CROSS,
    "times": words.NUM,
    "ordinal": words.ORD,
    "range": words.VAGUE,
    "vulgar": words.VAGUE,
    "decimal": words.VAGUE,
    "negative": words.VAGUE,
    "percent": words.VAGUE,
    "phone": words.OTHER,
    "money": words.OTHER,
    "triple": words.OTHER,
    "minutes": words.OTHER,
    "clock": words.FILL,
    "quote": words.FILL,
    "plus": words.PLUS,
    "fix": words.FIX,
    "dash": words.JOIN,
    "soft": words.COMMA,
    "end": words.END,
    "question": words.QUESTION,
}
APOSTROPHES = re.compile("['\u2018\u2019\u00b4\u02bc]")
STRETCHED = re.compile(r"([a-z])\1{2,}")
EMOJI = re.compile("[\U0001f000-\U0001faff\u2190-\u21ff\u2300-\u27bf\u2b00-\u2bff\u2640\u2642]")
# Variation and keycap marks, joiners, skin tones, marks of direction: none changes what is said.
INVISIBLE = re.compile(
    "[\ufe0e\ufe0f\u200b-\u200f\u20e3\u2060-\u2069\ufeff\u00ad\u202a-\u202e\U0001f3fb-\U0001f3ff]"
)
LIKE_ASCII = str.maketrans(
    dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212", "-")
    | {
        "\u066b": ".",
        "\u066c": ",",
        "\u060c": ",",
        "\u3001": ",",
        "\u3002": ".",
        "\U0001f51f": "10",
        "\u061f": "?",
    }
)
# Emoji that are no thanks: alone they stay an unread note.
DISTRESS = frozenset(
    "\U0001f198\U0001fa78\U0001f691\U0001f6a8\U0001f3e5\U0001f915\U0001f912\U0001f92e\U0001f922\U0001f622\U0001f62d"
    "\U0001f61e\U0001f614\U0001f623\U0001f616\U0001f629\U0001f62b\U0001f61f\U0001f641\u2639\U0001f630\U0001f631"
    "\U0001f494\U0001f621\U0001f92c\U0001f620\U0001f628\U0001f625\U0001f97a\U0001f480\u26b0\U0001fa79\U0001f48a"
    "\U0001fa7a\U0001f930\U0001f321\u274c\U0001f44e\U0001f6d1\u26d4\u2753\u2754"
)
# Emoji that may be a count or a "done": asked back.
MAY_COUNT = frozenset(
    "\u270c\u261d\u2705\u2714\u2611\U0001f4af\U0001f595\U0001f446\U0001f447\u270b\U0001f590"
)


def _fold(char: str) -> str:
    """One character as plain as it gets: full-width forms, digits of any script; fractions stay fractions."""
    if char.isdecimal():
        return str(unicodedata.decimal(char))
    return char if re.match(f"[{VULGAR}]", char) else unicodedata.normalize("NFKC", char)


def normalise(text: str) -> str:
    """The text in small letters, digits of any script as 0-9, without apostrophes and invisible marks."""
    text = text[:LONGEST_READ]
    if not text.isascii():
        text = "".join(map(_fold, INVISIBLE.sub("", text))).translate(LIKE_ASCII)
    return STRETCHED.sub(r"\1\1", APOSTROPHES.sub("", text.lower()))


# ---- words ----------------------------------------------------------------------------------------------------


@lru_cache(maxsize=20_000)
def _slip(word: str, language: str) -> str | None:
    """The known word that this one misses by a typing slip (by two from eight letters on), or None."""
    if len(word) < SHORTEST_SLIP or not word.isascii():
        return None
    allowed = 1 if len(word) < LONG_WORD else 2
    best = process.extractOne(word, tables(language).slips.keys(), scorer=OSA.distance, score_cutoff=allowed)
    return str(best[0]) if best and best[0][0] == word[0] else None


FIGURES = re.compile(r"\d+")
GLUED = re.compile(r"([a-z]+)(\d{1,2})")
COUNTED = frozenset((words.NUM, words.VAGUE))
BETWEEN = frozenset((words.FILL, words.MORE, words.MOOD, words.WORD))


class Tagger:
    """Turns one text into tokens; made anew for each text."""

    def __init__(self, text: str, today: dt.date, language: str) -> None:
        self.text = normalise(text)
        self.today = today
        self.language = language
        self.look = tables(language)
        self.tokens: list[Token] = []

    def run(self) -> list[Token]:
        """The tokens in order; a phrase is only looked for where nothing stands between its words."""
        row: list[re.Match[str]] = []
        for shape in SHAPES.finditer(self.text):
            if shape.lastgroup in ("word", "number"):
                row.append(shape)
            else:
                self._row(row)
                row = []
                self._shape(shape)
        self._row(row)
        return self.tokens

    def _add(self, tag: str, start: int, end: int, value: int | None = None, top: int | None = None) -> None:
        self.tokens.append(Token(tag, self.text[start:end], start, end, value, top))

    def _put(self, entry: Entry, start: int, end: int) -> None:
        word = self.text[start:end]
        self.tokens.append(
            Token(entry.tag, word, start, end, entry.value, None, entry.doubt, entry.wish, entry.whole)
        )

    def _shape(self, shape: re.Match[str]) -> None:
        start, end = shape.span()
        kind = shape.lastgroup or "other"
        if kind == "iso":
            self._iso(shape)
        elif kind == "other":
            self._add(words.EMOJI if EMOJI.match(shape.group()) else words.SIGN, start, end)
        else:
            figures = [int(part) for part in FIGURES.findall(shape.group())] + [None, None]
            tag = SHAPE_TAGS[kind]
            if tag == words.FILL:
                self._add(tag, start, end)
            else:
                self._add(tag, start, end, figures[0], figures[1])

    def _iso(self, shape: re.Match[str]) -> None:
        try:
            back = (self.today - dt.date(*map(int, shape.group().split("-")))).days
        except ValueError:
            back = -1
        self._date(shape.start(), shape.end(), back)

    def _date(self, start: int, end: int, back: int) -> None:
        """A calendar day: readable up to a week back, else no day a count can be booked on."""
        known = 0 <= back <= WEEK
        self.tokens.append(
            Token(words.DAY, self.text[start:end], start, end, back if known else 0, doubt=not known)
        )

    def _row(self, row: list[re.Match[str]]) -> None:
        """Dates, then phrases (the longest first), then single words, then slips."""
        texts = [shape.group() for shape in row]
        at = 0
        while at < len(row):
            at += self._dated(texts, at, row) or self._phrase(texts, at, row)

    def _phrase(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        length, entry = self._longest(texts, at)
        start, end = row[at].start(), row[at + length - 1].end()
        if length == 1 and texts[at] in self.look.units and self._counts_next():
            self._add(words.UNIT, start, end)
        elif entry is None:
            self._single(texts[at], start, end)
        elif entry.tag == words.NUM and length == 1:
            length = self._number_words(texts, at, row)
        else:
            self._put(entry, start, end)
        return length

    def _longest(self, texts: list[str], at: int) -> tuple[int, Entry | None]:
        for length in range(min(self.look.longest.get(texts[at], 0), len(texts) - at), 0, -1):
            entry = self.look.entries.get(tuple(texts[at : at + length]))
            if entry is not None:
                return length, entry
        return 1, None

    def _counts_next(self) -> bool:
        """Whether a number stands right before, or one word before ("10 slow seconds")."""
        tags = [token.tag for token in self.tokens[-2:]]
        return bool(tags) and (tags[-1] in COUNTED or (tags[0] in COUNTED and tags[-1] in BETWEEN))

    def _number_words(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        """Several number words in a row are one number if the library can read them so, else no exact number."""
        numbers = self.look.source.numbers
        length = 1
        while at + length < len(texts) and texts[at + length] in numbers:
            length += 1
        start, end = row[at].start(), row[at + length - 1].end()
        if length == 1:
            # The library knows no typing slips, so a single word is looked up in our own table.
            self._add(words.NUM, start, end, numbers[texts[at]])
            return 1
        try:
            self._add(
                words.NUM, start, end, text_to_num.text2num(" ".join(texts[at : at + length]), self.language)
            )
        except ValueError:
            self._add(words.VAGUE, start, end)
        return length

    def _single(self, word: str, start: int, end: int) -> None:
        if word[0].isdigit():
            known = len(word) <= MOST_DIGITS
            self._add(words.NUM if known else words.OTHER, start, end, int(word) if known else None)
            return
        glued = GLUED.fullmatch(word)
        entry = self.look.entries.get((glued[1],)) if glued else None
        if glued and entry and entry.tag in (words.DO, words.SETS, words.ONE_SET):
            middle = start + len(glued[1])
            self._put(entry, start, middle)
            self._add(words.NUM, middle, end, int(glued[2]))
            return
        meant = _slip(word, self.language)
        if meant is None or meant in self.look.source.weekdays:
            self._add(words.WORD, start, end)
        else:
            self._put(self.look.slips[meant], start, end)

    # ---- days ----

    def _dated(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        """Reads a date that begins at this word; the number of words it takes, 0 for none."""
        return self._weekday(texts, at, row) or self._month(texts, at, row) or self._ago(texts, at, row)

    def _weekday(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        look = self.look
        lead = 0
        while at + lead < len(texts) - 1 and texts[at + lead] in look.last | look.next:
            lead += 1
        word = texts[at + lead]
        name = look.source.weekdays.get(word)
        if name is None:
            meant = _slip(word, self.language)
            name = look.source.weekdays.get(meant) if meant else None
        if name is None:
            return 0
        start, end = row[at].start(), row[at + lead].end()
        leads = set(texts[at : at + lead])
        if leads & look.next:
            self._add(words.FUTURE, start, end)
            return lead + 1
        if word in look.source.short_weekdays and not (lead or self._beside_number(texts, at)):
            return 0
        back = (self.today.weekday() - name - 1) % WEEK + 1
        # On a Monday a bare "monday" may be today or a week ago.
        doubt = back == WEEK and not leads & {"last", "past"}
        self.tokens.append(
            Token(words.DAY, self.text[start:end], start, end, 0 if doubt else back, doubt=doubt)
        )
        return lead + 1

    def _beside_number(self, texts: list[str], at: int) -> bool:
        after = texts[at + 1] if at + 1 < len(texts) else ""
        before = self.tokens[-1].tag if self.tokens else ""
        numbers = self.look.source.numbers
        return bool(
            after[:1].isdigit()
            or after in numbers
            or before in (words.NUM, words.NONE)
            or not after
            and at == 0
        )

    def _month(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        """March 3, 3 march, 3rd of march (the ordinal is a token of its own by then)."""
        months = self.look.source.months
        word = texts[at]
        if word in months and at + 1 < len(texts) and texts[at + 1].isdigit() and len(texts[at + 1]) <= 2:  # noqa: PLR2004 - a day of the month
            self._date(row[at].start(), row[at + 1].end(), self._back(int(texts[at + 1]), months[word]))
            return 2
        if word.isdigit() and at + 1 < len(texts) and texts[at + 1] in months and len(word) <= 2:  # noqa: PLR2004 - the same
            self._date(row[at].start(), row[at + 1].end(), self._back(int(word), months[texts[at + 1]]))
            return 2
        skip = 1 if word == "of" and at + 1 < len(texts) else 0
        if texts[at + skip] in months and self.tokens and self.tokens[-1].tag == words.ORD:
            ordinal = self.tokens.pop()
            self._date(
                ordinal.start, row[at + skip].end(), self._back(ordinal.value or 0, months[texts[at + skip]])
            )
            return skip + 1
        return 0

    def _back(self, day: int, month: int) -> int:
        """How many days back that date last was; -1 if there is none within a year."""
        for year in (self.today.year, self.today.year - 1):
            try:
                back = (self.today - dt.date(year, month, day)).days
            except ValueError:
                continue
            if back >= 0:
                return back
        return -1

    def _ago(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        """2 days ago: the number and the unit are tokens by then."""
        if texts[at] != self.look.source.ago or len(self.tokens) < 2:  # noqa: PLR2004 - number and unit
            return 0
        number, unit = self.tokens[-2:]
        if number.tag != words.NUM or unit.tag != words.UNIT or unit.text not in ("day", "days"):
            return 0
        del self.tokens[-2:]
        self._date(number.start, row[at].end(), number.value if number.value is not None else -1)
        return 1


def tag(text: str, today: dt.date, language: str = "en") -> list[Token]:
    """The tokens of a text. Raises KeyError for a language without words."""
    return Tagger(text, today, language).run()
