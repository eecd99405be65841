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
from bot.domain.reading_words import LANGUAGES, Wish

LONGEST_READ = 600  # characters; nobody counts further down, and the rest is kept as remainder anyway
MOST_DIGITS = 3  # a longer run of digits is a telephone number, a year, a code
WEEK = 7


@dataclass(frozen=True, slots=True)
class Token:
    """A word, number or mark.

    tag: one character of `reading_words`. value: the count, how many days back, or None. top: the second figure of
    a fraction or product. span: where it stands in the normalised text. wish: for a wish only. whole: the wish
    counts only when nothing else is said. plural: a word ending in s.
    """

    tag: str
    text: str
    start: int
    end: int
    value: int | None = None
    top: int | None = None
    wish: Wish | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """What a table says of a word or phrase."""

    tag: str
    value: int | None = None
    wish: Wish | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Tables:
    """A language made ready for look-up.

    entries: phrase as a tuple of words, to its entry. longest: first word to the longest phrase that begins with
    it. units: what makes the number before it no count. symptom: see `Words`.
    """

    entries: dict[tuple[str, ...], Entry]
    longest: dict[str, int]
    units: frozenset[str]
    symptom: frozenset[str]
    numbers: dict[str, int]
    weekdays: dict[str, int]
    months: dict[str, int]
    language: str


def _split(entries: str) -> list[str]:
    return [" ".join(entry.split()) for entry in entries.split(",") if entry.strip()]


@cache
def tables(language: str) -> Tables:
    """The look-up tables of a language; raises KeyError for one without tables."""
    source = LANGUAGES[language]
    entries: dict[tuple[str, ...], Entry] = {}

    def put(phrase: str, entry: Entry) -> None:
        entries.setdefault(tuple(phrase.split()), entry)

    for phrase, days_back in source.days.items():
        put(phrase, Entry(words.DAY, days_back))
    for phrase, count in source.once.items():
        put(phrase, Entry(words.ONCE, count))
    for phrase, place in source.ordinals.items():
        put(phrase, Entry(words.ORD, place))
    for phrase, count in source.numbers.items():
        put(phrase, Entry(words.NUM, count))
    for wish, phrases in source.wishes.items():
        for phrase in _split(phrases):
            put(phrase, Entry(words.WISH, wish=wish))
    for tag, phrases in source.tags.items():
        for phrase in _split(phrases):
            put(phrase, Entry(tag))
    for wish, phrases in source.whole_wishes.items():
        for phrase in _split(phrases):
            known = entries.get(tuple(phrase.split()))
            entries[tuple(phrase.split())] = Entry(known.tag if known else words.WORD, None, wish, whole=True)
    longest: dict[str, int] = {}
    for phrase_words in entries:
        longest[phrase_words[0]] = max(longest.get(phrase_words[0], 1), len(phrase_words))
    return Tables(
        entries=entries,
        longest=longest,
        units=frozenset(_split(source.units)),
        symptom=frozenset(_split(source.symptom)),
        numbers=source.numbers,
        weekdays=source.weekdays,
        months=source.months,
        language=language,
    )


# Order matters: the most particular shape first.
SHAPES = re.compile(
    r"""
      (?P<iso>\d{4}-\d\d?-\d\d?(?!\d))
    | (?P<phone>\+?\d[\d ()-]{7,}\d(?!\d))
    | (?P<clock>\d{1,2}[:.h][0-5]\d\ ?[ap]\.?m\b\.?|\d{1,2}:\d\d(?::\d\d)?(?!\d)|\d{1,2}\ ?[ap]\.?m\b\.?
        |\d{1,2}h[0-5]\d(?!\d)|(?:(?<=\bat\ )|(?<=@\ )|(?<=@))\d{1,2}\.[0-5]\d(?!\d))
    | (?P<money>[£$€₹¥]\ ?\d[\d.,]*|\d[\d.,]*\ ?[£$€₹¥])
    | (?P<percent>\d+(?:[.,]\d+)?\ ?%)
    | (?P<triple>\d+\ ?/\ ?\d+\ ?(?:/\ ?/?\ ?\d+)+)
    | (?P<fraction>\d{1,3}\ ?/\ ?\d{1,3}(?![\d/]))
    | (?P<range>\d{1,3}\ ?(?:-{1,2}|~|/)\ ?\d{1,3}(?:\ ?-\ ?\d+)*(?![\d]))
    | (?P<vulgar>\d*\ ?[¼-¾⅐-⅞])
    | (?P<decimal>\d*[.,]\d+(?!\w)|\d+[.,]\d+)
    | (?P<cross>\d{1,3}\ ?[x×*✕✖]\ ?\d{1,3}(?!\d))
    | (?P<times>[x×*✕✖]\ ?\d{1,3}(?!\d)|\d{1,3}\ ?[x×✕✖](?![\w]))
    | (?P<plus>(?<!\d)(?<!\d\ )\+\ ?(?=\d))
    | (?P<sum>\+)
    | (?P<negative>(?<![\w)-])-(?=\d)\d+)
    | (?P<ordinal>\d{1,3}(?:st|nd|rd|th)\b)
    | (?P<number>\d+(?=$|[^\d]))
    | (?P<word>[^\W\d_]+(?:\d+[^\W\d_]*)?)
    | (?P<dash>-+|=|:)
    | (?P<soft>[,;()\[\]/|\\&•·]|\n+)
    | (?P<end>[.!…]+)
    | (?P<question>\?)
    | (?P<other>\S)
    """,
    re.VERBOSE,
)
APOSTROPHES = re.compile("['’‘`´ʼ]")  # noqa: RUF001 - the marks people type
STRETCHED = re.compile(r"([a-z])\1{2,}")
EMOJI = re.compile("[\U0001f000-\U0001faff←-⇿⌀-➿⬀-⯿\U0001f1e6-\U0001f1ff]")  # noqa: RUF001
JOINERS = re.compile("[\ufe0e\ufe0f\u200d\u20e3\u200b\u2060\U0001f3fb-\U0001f3ff\u2066-\u2069\u200e\u200f]")
DASHES = str.maketrans(
    dict.fromkeys("‐‑‒–—―−﹣－", "-") | {"\u066b": ".", "\u066c": ",", "⁄": "/", "🔟": "10"}
)  # noqa: RUF001


def normalise(text: str) -> str:
    """The text in small letters, digits of any script as 0-9, without apostrophes and invisible marks."""
    text = text[:LONGEST_READ]
    if text.isascii():
        text = text.lower()
    else:
        kept = re.sub("[¼-¾⅐-⅞]", lambda part: f" {part.group()} ", JOINERS.sub("", text))
        folded = "".join(
            char if "¼" <= char <= "¾" or "⅐" <= char <= "⅞" else unicodedata.normalize("NFKC", char)
            for char in kept
        ).translate(DASHES)
        text = "".join(
            char if char.isascii() else str(unicodedata.decimal(char, char))
            for char in unicodedata.normalize("NFC", folded.lower())
        )
    return STRETCHED.sub(r"\1\1", APOSTROPHES.sub("", text))


FIGURES = re.compile(r"\d+")
TYPO_KEYS = frozenset(
    (words.DO, words.SET, words.DAY, words.ANOTHER, words.NONE, words.MISS, words.LEAK, words.PART)
)
SHORTEST_TYPO = 5  # below five letters one slip makes another word


@cache
def _typo_keys(language: str) -> dict[str, Entry]:
    found = {
        phrase[0]: entry
        for phrase, entry in tables(language).entries.items()
        if len(phrase) == 1 and len(phrase[0]) >= SHORTEST_TYPO and entry.tag in TYPO_KEYS
    }
    found |= {name: Entry(words.DAY) for name in tables(language).weekdays if len(name) > SHORTEST_TYPO}
    return found


@lru_cache(maxsize=20_000)
def _slip(word: str, language: str) -> str | None:
    """The known word this is one slip away from (two from eight letters on), or None."""
    if len(word) < SHORTEST_TYPO:
        return None
    allowed = 1 if len(word) < 8 else 2  # noqa: PLR2004 - said in the docstring
    best = process.extractOne(
        word, _typo_keys(language).keys(), scorer=OSA.distance, score_cutoff=allowed, processor=None
    )
    return best[0] if best and best[0][0] == word[0] else None


def _days_back(weekday: int, today: dt.date) -> int:
    """How far back the last such weekday lies: 1 to 7."""
    return (today.weekday() - weekday - 1) % WEEK + 1


class Tagger:
    """Turns one text into tokens; made anew for each text."""

    def __init__(self, text: str, today: dt.date, language: str) -> None:
        self.text = normalise(text)
        self.today = today
        self.look = tables(language)
        self.tokens: list[Token] = []

    def run(self) -> list[Token]:
        """The tokens in order."""
        run: list[re.Match[str]] = []
        for shape in SHAPES.finditer(self.text):
            if shape.lastgroup in ("word", "number"):
                run.append(shape)
                continue
            self._words(run)
            run = []
            self._shape(shape)
        self._words(run)
        return self.tokens

    def _add(self, tag: str, start: int, end: int, value: int | None = None, top: int | None = None) -> None:
        self.tokens.append(Token(tag, self.text[start:end], start, end, value, top))

    def _shape(self, shape: re.Match[str]) -> None:
        kind = shape.lastgroup or "other"
        start, end = shape.span()
        figures = [int(part) for part in FIGURES.findall(shape.group())]
        match kind:
            case "iso":
                self._iso(shape)
            case "fraction":
                self._add(words.FRAC, start, end, figures[0], figures[1])
            case "cross":
                self._add(words.CROSS, start, end, figures[0], figures[1])
            case "times":
                self._add(words.NUM, start, end, figures[0])
            case "ordinal":
                self._add(words.ORD, start, end, figures[0])
            case "range" | "vulgar" | "decimal" | "negative" | "percent":
                self._add(words.VAGUE, start, end)
            case "phone" | "clock" | "money" | "triple":
                self._add(words.OTHER, start, end)
            case "plus" | "sum":
                self._add(words.PLUS, start, end)
            case "dash":
                self._add(":", start, end)
            case "soft":
                self._add(",", start, end)
            case "end":
                self._add(words.END, start, end)
            case "question":
                self._add(words.QUESTION, start, end)
            case _:
                self._add(words.EMOJI if EMOJI.match(shape.group()) else words.SIGN, start, end)

    def _iso(self, shape: re.Match[str]) -> None:
        try:
            back = (self.today - dt.date(*map(int, shape.group().split("-")))).days
        except ValueError:
            back = -1
        if 0 <= back <= WEEK:
            self._add(words.DAY, *shape.span(), back)
        else:
            self._add(words.OTHER, *shape.span())

    def _words(self, run: list[re.Match[str]]) -> None:
        """Phrases first (the longest), then single words, then slips of the finger."""
        texts = [shape.group() for shape in run]
        at = 0
        while at < len(run):
            length, entry = self._longest(texts, at)
            start, end = run[at].start(), run[at + length - 1].end()
            if length == 1 and texts[at] in self.look.units and self._counts_next():
                self._add(words.UNIT, start, end)
            elif entry is None:
                self._single(texts, at, start, end)
            elif entry.tag == words.NUM and length == 1:
                length = self._number_words(texts, at, run)
            else:
                self.tokens.append(
                    Token(
                        entry.tag,
                        self.text[start:end],
                        start,
                        end,
                        entry.value,
                        None,
                        entry.wish,
                        entry.whole,
                    )
                )
            at += length

    def _counts_next(self) -> bool:
        """Whether a number stands right before, or one word before ("10 slow seconds")."""
        tags = [token.tag for token in self.tokens[-2:]]
        return bool(tags) and (tags[-1] == words.NUM or (tags[0] == words.NUM and tags[-1] in "gw?"))

    def _longest(self, texts: list[str], at: int) -> tuple[int, Entry | None]:
        for length in range(min(self.look.longest.get(texts[at], 0), len(texts) - at), 0, -1):
            entry = self.look.entries.get(tuple(texts[at : at + length]))
            if entry is not None:
                return length, entry
        return 1, None

    def _number_words(self, texts: list[str], at: int, run: list[re.Match[str]]) -> int:
        """Several number words in a row are one number if the library can read them so, else no exact number."""
        length = 1
        while at + length < len(texts) and texts[at + length] in self.look.numbers:
            length += 1
        start, end = run[at].start(), run[at + length - 1].end()
        if length == 1:
            self._add(words.NUM, start, end, self.look.numbers[texts[at]])
            return 1
        # The library knows no slips and gives single words their plain value, so only rows go to it.
        try:
            self._add(
                words.NUM,
                start,
                end,
                text_to_num.text2num(" ".join(texts[at : at + length]), self.look.language),
            )
        except ValueError:
            self._add(words.VAGUE, start, end)
        return length

    def _single(self, texts: list[str], at: int, start: int, end: int) -> None:
        word = texts[at]
        if word[0].isdigit():
            if len(word) > MOST_DIGITS:
                self._add(words.OTHER, start, end)
            else:
                self._add(words.NUM, start, end, int(word))
            return
        weekday = self.look.weekdays.get(word)
        if weekday is not None:
            self._add(words.DAY, start, end, _days_back(weekday, self.today))
            return
        joined = re.fullmatch(r"([a-z]+)(\d{1,2})", word)
        if joined and (entry := self.look.entries.get((joined[1],))) and entry.tag in (words.DO, words.SET):
            middle = start + len(joined[1])
            self._add(entry.tag, start, middle)
            self._add(words.NUM, middle, end, int(joined[2]))
            return
        meant = _slip(word, self.look.language) if word.isascii() else None
        if meant is None:
            self._add(words.WORD, start, end)
        elif meant in self.look.weekdays:
            self._add(words.DAY, start, end, _days_back(self.look.weekdays[meant], self.today))
        else:
            entry = self.look.entries[(meant,)]
            self._add(entry.tag, start, end, entry.value)


def tag(text: str, today: dt.date, language: str = "en") -> list[Token]:
    """The tokens of a text. Raises KeyError for a language without tables."""
    return Tagger(text, today, language).run()
