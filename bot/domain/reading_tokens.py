"""From a typed message to tagged tokens: what each word or number may be, before any sense is made of it."""

import datetime as dt
import re
from dataclasses import dataclass

import text_to_num

from bot.domain import reading_words as words
from bot.domain.reading_shapes import EMOJI, SHAPE_TAGS, SHAPES, THINGS, TICKS, normalise
from bot.domain.reading_tables import Entry, counted_slip, slip, tables
from bot.domain.reading_words import Wish

MOST_DIGITS = 3  # a longer run of digits is a year, a code, a telephone number
WEEK = 7


@dataclass(frozen=True, slots=True)
class Token:
    """A word, phrase, number or mark.

    tag: one character of `reading_words`. start, end: its place in the normalised text. value: the count, or
    how many days back, or None. top: the second figure of a fraction or product. doubt: a day that may be
    another, or one certain set of the day. wish: for a wish; whole: it counts only when nothing else is
    said.
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


PADDED = re.compile(r"\b0\d")
FIGURES = re.compile(r"\d+")
GLUED = re.compile(r"([a-z]+)(\d{1,2})")
COUNTED = frozenset((words.NUM, words.VAGUE, words.ANOTHER))
BETWEEN = frozenset((words.FILL, words.MORE, words.MOOD, words.WORD, words.KIND))


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
            if shape.lastgroup in ("word", "number", "spelt"):
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
        elif kind == "ordinal" and self.tokens and self.tokens[-1].text in self.look.months:
            month = self.tokens.pop()
            day = int(FIGURES.findall(shape.group())[0])
            self._date(month.start, end, self._back(day, self.look.months[month.text]))
        elif kind == "ordinal" and self.tokens and self.tokens[-1].text == self.look.dated:
            self._date(start, end, self._day_back(int(FIGURES.findall(shape.group())[0])))
        elif kind == "fraction" and PADDED.search(shape.group()):
            self._date(start, end, -1)  # 02/03 is a date, and which comes first differs between countries
        elif kind == "other":
            self._add(self._sign(shape.group()), start, end)
        else:
            figures = [int(part) for part in FIGURES.findall(shape.group())] + [None, None]
            tag = SHAPE_TAGS[kind]
            if kind == "times" and self.tokens and self.tokens[-1].text in THINGS:
                tag = words.OTHER  # a bottle, x3
            if tag == words.FILL:
                self._add(tag, start, end)
            else:
                self._add(tag, start, end, figures[0], figures[1])

    def _sign(self, sign: str) -> str:
        """An emoji or any other sign; right behind a number a glass or a pill is what was counted."""
        if sign in THINGS and self.tokens and self.tokens[-1].tag == words.NUM:
            return words.WORD
        if sign in TICKS:
            return words.TICK
        return words.EMOJI if EMOJI.match(sign) else words.SIGN

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
        plain = self.look.spellings
        texts = [plain.get(shape.group(), shape.group()) for shape in row]
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
        """Several number words in a row: one number if the library reads them so, else no exact one."""
        numbers = self.look.numbers
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
        if word.isdecimal():
            known = len(word) <= MOST_DIGITS
            self._add(words.NUM if known else words.OTHER, start, end, int(word) if known else None)
            return
        glued = GLUED.fullmatch(word)
        entry = self.look.entries.get((glued[1],)) if glued else None
        if glued and entry and entry.tag in (words.DO, words.DONE, words.SETS, words.ONE_SET, words.DAY):
            middle = start + len(glued[1])
            self._put(entry, start, middle)
            self._add(words.NUM, middle, end, int(glued[2]))
            return
        counted = self._slip_counted(word)
        if counted:
            self._put(counted, start, end)
            return
        meant = slip(word, self.language)
        if meant is None or meant in self.look.weekdays:
            self._add(words.BODY if word in self.look.body else words.WORD, start, end)
        else:
            self._put(self.look.slips[meant], start, end)

    def _slip_counted(self, word: str) -> Entry | None:
        behind = self.tokens[-1].tag if self.tokens else ""
        if behind not in (words.NUM, words.NOT):
            return None
        meant = counted_slip(word, self.language)
        return meant if meant and (behind == words.NUM or meant.tag == words.DONE) else None

    # ---- days ---------------------------------------------------------------------------------------------

    def _dated(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        """Reads a date that begins at this word; the number of words it takes, 0 for none."""
        return self._weekday(texts, at, row) or self._month(texts, at, row) or self._ago(texts, at, row)

    def _weekday(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        look = self.look
        lead = 0
        while at + lead < len(texts) - 1 and texts[at + lead] in look.last | look.next:
            lead += 1
        word = texts[at + lead]
        name = look.weekdays.get(word)
        if name is None:
            meant = slip(word, self.language)
            name = look.weekdays.get(meant) if meant else None
        if name is None:
            return 0
        start, end = row[at].start(), row[at + lead].end()
        leads = set(texts[at : at + lead])
        if leads & look.next:
            self._add(words.FUTURE, start, end)
            return lead + 1
        if word in look.short_weekdays and not (lead or self._beside_number(texts, at)):
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
        numbers = self.look.numbers
        return bool(
            after[:1].isdecimal()
            or after in numbers
            or before in (words.NUM, words.NONE)
            or (not after and at == 0)
        )

    def _month(self, texts: list[str], at: int, row: list[re.Match[str]]) -> int:
        """March 3, 3 march, 3rd of march (the ordinal is a token of its own by then)."""
        months = self.look.months
        word = texts[at]
        if word in months and at + 1 < len(texts) and texts[at + 1].isdecimal() and len(texts[at + 1]) <= 2:  # noqa: PLR2004 - a day of the month
            self._date(row[at].start(), row[at + 1].end(), self._back(int(texts[at + 1]), months[word]))
            return 2
        if word.isdecimal() and at + 1 < len(texts) and texts[at + 1] in months and len(word) <= 2:  # noqa: PLR2004 - the same
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

    def _day_back(self, day: int) -> int:
        """How many days back that day of the month last was; -1 if it is no day of this or the last month."""
        month = self.today if day <= self.today.day else self.today.replace(day=1) - dt.timedelta(days=1)
        try:
            return (self.today - month.replace(day=day)).days
        except ValueError:
            return -1

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
        if texts[at] != self.look.ago or len(self.tokens) < 2:  # noqa: PLR2004 - number and unit
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
