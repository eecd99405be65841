"""The words of a language made ready for look-up."""

from dataclasses import dataclass
from functools import cache, lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from bot.domain import reading_words as words
from bot.domain.reading_english import ENGLISH
from bot.domain.reading_words import Wish, Words

LANGUAGES = {"en": ENGLISH}


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
    """A language made ready for look-up: phrases as tuples of words, other words as sets."""

    entries: dict[tuple[str, ...], Entry]
    longest: dict[str, int]  # first word to the length of the longest phrase that begins with it
    spellings: dict[str, str]
    numbers: dict[str, int]
    weekdays: dict[str, int]
    short_weekdays: frozenset[str]
    months: dict[str, int]
    units: frozenset[str]
    selves: frozenset[str]
    openers: frozenset[str]
    homely: frozenset[str]
    body: frozenset[str]
    last: frozenset[str]
    next: frozenset[str]
    ago: str
    dated: str
    soon: str
    short_units: frozenset[str]
    slips: dict[str, Entry]  # words worth finding behind a typing slip
    counted: dict[str, Entry]  # the same right behind a number or a "not", where short words are safe too


def split(entries: str) -> list[str]:
    """The entries of a table, without the white space around and inside them."""
    return [" ".join(entry.split()) for entry in entries.split(",") if entry.strip()]


def figures(table: str) -> dict[str, int]:
    """A table whose entries carry a figure: "two 2, three 3"."""
    return {phrase: int(value) for phrase, value in (entry.rsplit(" ", 1) for entry in split(table))}


SLIP_TAGS = frozenset(
    (
        words.DO,
        words.DONE,
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
    for table, tag in (
        (source.days, words.DAY),
        (source.once, words.ONCE),
        (source.ordinals, words.ORD),
        (source.numbers, words.NUM),
    ):
        found |= {tuple(phrase.split()): Entry(tag, value) for phrase, value in figures(table).items()}
    found |= {tuple(phrase.split()): Entry(words.DAY, 0, doubt=True) for phrase in split(source.vague_days)}
    found |= {tuple(phrase.split()): Entry(words.IT, doubt=True) for phrase in split(source.named_ones)}
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
    weekdays = figures(source.weekdays)
    slips |= {name: Entry(words.DAY) for name in weekdays if len(name) > SHORTEST_SLIP}
    return Tables(
        entries=entries,
        longest=longest,
        spellings=dict(entry.rsplit(" ", 1) for entry in split(source.spellings)),
        numbers=figures(source.numbers),
        weekdays=weekdays,
        short_weekdays=frozenset(split(source.short_weekdays)),
        months=figures(source.months),
        units=frozenset(split(source.units)),
        selves=frozenset(split(source.selves)),
        openers=frozenset(split(source.openers)),
        homely=frozenset(split(source.homely)),
        body=frozenset(split(source.body)),
        last=frozenset(split(source.last)),
        next=frozenset(split(source.next)),
        ago=source.ago,
        dated=source.dated,
        soon=source.soon,
        short_units=frozenset(split(source.short_units)),
        slips=slips,
        counted={
            phrase[0]: entry
            for phrase, entry in entries.items()
            if len(phrase) == 1 and phrase[0] in split(source.counted)
        },
    )


COUNTED_SLIPS = (3, 6)  # letters; "3 sers"


@lru_cache(maxsize=5_000)
def counted_slip(word: str, language: str) -> Entry | None:
    """What a short word behind a number or a "not" may be a slip of, or None."""
    shortest, longest = COUNTED_SLIPS
    if not shortest <= len(word) <= longest or not word.isascii():
        return None
    best = process.extractOne(word, tables(language).counted.keys(), scorer=OSA.distance, score_cutoff=1)
    return tables(language).counted[best[0]] if best and best[0][0] == word[0] else None


@lru_cache(maxsize=20_000)
def slip(word: str, language: str) -> str | None:
    """The known word that this one misses by a typing slip (by two from eight letters on), or None."""
    if len(word) < SHORTEST_SLIP or not word.isascii():
        return None
    allowed = 1 if len(word) < LONG_WORD else 2
    best = process.extractOne(word, tables(language).slips.keys(), scorer=OSA.distance, score_cutoff=allowed)
    # Two slips may make another word ("stopping", "skipping"): then the first two letters must be right.
    return str(best[0]) if best and best[0][:allowed] == word[:allowed] else None
