"""The characters of a message: made plain, then cut into words, numbers, marks and emoji."""

import re
import unicodedata

from bot.domain import reading_words as words

LONGEST_READ = 600  # characters; nobody counts further down, and a longer text becomes a note anyway
VULGAR = "\u00bc-\u00be\u2150-\u215e"  # one quarter to seven eighths
CROSSES = "x*\u00d7\u2715\u2716"
# Order matters: the most particular shape first.
SHAPES = re.compile(
    rf"""
      (?P<iso>\d{{4}}-\d\d?-\d\d?(?!\d))
    | (?P<phone>\+?\d[\d\ ()-]{{7,}}\d(?![\d/]))
    | (?P<clock>\d{{1,2}}[:.][0-5]\d\ ?(?:[ap]m\b|[ap]\.m\.)|\d{{1,2}}:\d\d(?::\d\d)?(?!\d)
        |(?<!\b[ap]m\ )\d{{1,2}}\ ?(?:[ap]m\b|[ap]\.m\.)
        |\d{{1,2}}h[0-5]\d(?!\d)|\d{{1,2}}\ ?o\ ?clock\b|\d{{1,2}}ish\b(?<=\d\dish)
        |(?:(?<=\bat\ )|(?<=@\ )|(?<=@))\d{{1,2}}\.[0-5]\d(?!\d))
    | (?P<money>[\u00a3$\u20ac]\ ?\d[\d.,]*|\d+(?:[.,]\d+)?\ ?[\u00a3$\u20ac](?!\ ?\d))
    | (?P<percent>\d+(?:[.,]\d+)?\ ?%)
    | (?P<triple>\d+\ ?/\ ?\d+\ ?(?:/\ ?/?\ ?\d+)+)
    | (?P<fraction>\d{{1,3}}\ ?/\ ?\d{{1,3}}(?![\d/]))
    | (?P<range>\d{{1,3}}\ ?(?:-{{1,2}}|~)\ ?\d{{1,3}}(?:\ ?-\ ?\d+)*(?!\d|\ ?/))
    | (?P<vulgar>\d*\ ?[{VULGAR}])
    | (?P<minutes>\d{{1,2}}\.[0-5]\d(?![\d.]))
    | (?P<decimal>\d*[.,]\d+)
    | (?P<cross>\d{{1,3}}\ ?[{CROSSES}]\ ?\d{{1,3}}(?!\d))
    | (?P<fix>\*(?=\ ?\d{{1,2}}\b)(?<!\w\*))
    | (?P<times>[{CROSSES}]\ ?\d{{1,3}}(?!\d)|\d{{1,3}}\ ?[{CROSSES}](?!\w))
    | (?P<about>(?<![-=])[~<>\u2248]\ ?\d{{1,3}}(?!\d))
    | (?P<gestation>\d\d\+\d(?!\d))
    | (?P<plus>\+)
    | (?P<negative>(?<![\w)-])-\d+)
    | (?P<ordinal>\d{{1,3}}(?:st|nd|rd|th)\b)
    | (?P<spelt>2(?:day|nite|nyt|moro|morow|morrow)\b)
    | (?P<number>\d+)
    | (?P<word>[^\W\d_]+(?:\d+[^\W\d_]*)?)
    | (?P<dash>[-=:>]+)
    | (?P<soft>[,;()\[\]/|\\&\u2022\u00b7]|\n+)
    | (?P<end>[.!\u2026]+)
    | (?P<question>[?\u00bf]+)
    | (?P<quote>["\u201c\u201d\u00ab\u00bb_*~#^`\u00a0]+)
    | (?P<at>@)
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
    "about": words.VAGUE,
    "negative": words.VAGUE,
    "percent": words.PERCENT,
    "phone": words.OTHER,
    "gestation": words.OTHER,
    "money": words.OTHER,
    "triple": words.OTHER,
    "minutes": words.OTHER,
    "clock": words.TIME,
    "at": words.CLOCK,
    "quote": words.FILL,
    "plus": words.PLUS,
    "fix": words.FIX,
    "dash": words.JOIN,
    "soft": words.COMMA,
    "end": words.END,
    "question": words.QUESTION,
}
APOSTROPHES = re.compile("['\u2018\u2019\u00b4\u02bc]")
HYPHENED = re.compile("(?<=[a-z])-(?=[a-z])")  # four-legged
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
        "\u2795": "+",
        "\u2796": "-",
        "\u061f": "?",
        "\ufffd": "?",  # what could not be decoded
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
TICKS = frozenset("\u2705\u2714\u2611")
# Emoji of things that a number before them may count.
THINGS = frozenset(
    "\U0001f377\U0001f37a\U0001f37b\U0001f942\u2615\U0001f375\U0001f355\U0001f36b\U0001f370\U0001f48a\U0001f489"
    "\U0001f476\U0001f37c\U0001f4a9\U0001f6bd\U0001fa78\U0001f4a7\U0001f4a6\U0001f927\U0001f415\U0001f408\U0001f467"
    "\U0001f466\U0001f6b6\U0001f3c3\U0001f6bf\U0001f634\U0001f4f1\u260e\U0001f4de"
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
    return STRETCHED.sub(r"\1\1", HYPHENED.sub(" ", APOSTROPHES.sub("", text.lower())))
