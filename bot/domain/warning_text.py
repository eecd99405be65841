"""Chat text as the warning reader sees it: plain lower-case words with their clause and sentence.

People write without apostrophes, in capitals, with doubled letters, emoji, look-alike letters from other
alphabets and invisible characters. All of that is folded here, once, so that the rules can be written in
plain words.
"""

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

# Letters of other alphabets that look like Latin ones on a screen.
_LOOK_ALIKES: Final = {
    **dict(zip("аеорсухіјѕԁӏкмтвнз", "aeopcyxijsdlkmtbh3", strict=True)),
    **dict(zip("αβεικμνορτυχωηγ", "abeikmvoptuxwny", strict=True)),
    **dict(zip("ıłøđħßæœ", ("i", "l", "o", "d", "h", "ss", "ae", "oe"), strict=True)),
}
_APOSTROPHES: Final = "'\u2019\u2018`\u00b4\u02bc\uff07\u02b9\u02bb\u201b"
_HYPHENS: Final = "\u2010\u2011\u2212_"
_DASHES: Final = "\u2012\u2013\u2014\u2015"
_EMOJI: Final = {
    "🩸": "blood",
    "🤮": "vomiting",
    "🤢": "nauseous",
    "🤒": "fever",
    "🌡": "temperature",
    "💩": "poo",
    "🚑": "ambulance",
    "👶": "baby",
    "🍼": "bottle",
    "🦵": "leg",
    "🤱": "breastfeeding",
    "🤰": "pregnant",
    "😭": "crying",
    "🥵": "hot",
    "🥶": "freezing",
}
_FOLD: Final = str.maketrans(
    {
        **_LOOK_ALIKES,
        **dict.fromkeys(_APOSTROPHES, ""),
        **dict.fromkeys(_HYPHENS, "-"),
        **dict.fromkeys(_DASHES, " - "),
        **{sign: f" {word} " for sign, word in _EMOJI.items()},
        "&": " and ",
        "…": "...",
        "º": "°",
        "*": "",
        "@": "a",
        "$": "s",
    }
)
_PLAIN: Final = str.maketrans(
    {**dict.fromkeys("'`", ""), "&": " and ", "*": "", "@": "a", "$": "s", "_": "-"}
)
_WILL: Final = re.compile(r"(?<=[a-z])['\u2019`]ll\b", re.IGNORECASE)  # or "I'll" would read "ill"
# "my head's killing me", "his partner's phone"; but "he's" and the like stay words of their own.
_OWNED: Final = re.compile(
    r"(?<!\bhe)(?<!\bit)(?<!\bwho)(?<!\blet)(?<!\bshe)(?<!\bhow)(?<!\bthat)(?<!\bwhat)(?<!\bhere)(?<!there)(?<=[a-z])['\u2019`]s\b",
    re.IGNORECASE,
)
_RUN: Final = re.compile(r"([a-z])\1{2,}")
_OVER: Final = re.compile(r"\b(\d{2,3})\s*(?:over|on)\s*(\d{2,3})\b")
_POINT: Final = re.compile(r"\b(\d{2,3}) point (\d)\b")  # as dictation writes 38.4
_JOINED: Final = re.compile(r"(?<=[^\W_])-(?=[^\W_])")
_DOTTED: Final = re.compile(r"\b(?:[a-z]\.){1,4}[a-z]\b")
_SPACED: Final = re.compile(r"\b(?:[a-z] ){3,}[a-z]\b")
_TOKEN: Final = re.compile(
    r"(?P<pair>\d+(?:/+\d+)+)"
    r"|(?P<mixed>[a-z]+\d+[a-z]+[a-z0-9]*)"
    r"|(?P<number>\d+(?:[.,]\d+)?)"
    r"|(?P<word>[^\W\d_]+)"
    r"|(?P<hard>\.(?!\.)|[!?;\n]+)"
    r"|(?P<soft>\.{2,}|,|-+|[()])"
)
_LEET: Final = str.maketrans("013457", "oieast")
_MARKS: Final = frozenset({"Mn", "Me", "Cf", "Co", "Cn", "Cs"})


@dataclass(frozen=True, slots=True)
class Clauses:
    """Words that start a new clause.

    breaks: always ("but", "because"). joins: only when one of `subjects` follows ("and my ...").
    """

    breaks: frozenset[str]
    joins: frozenset[str]
    subjects: frozenset[str]


def fold(text: str) -> str:
    """The text in lower case with look-alikes, marks, emoji, apostrophes and invisible characters folded."""
    if not text.isascii():
        # Invisible characters first: between letter and mark they would stop the two from composing.
        text = "".join(c for c in text if unicodedata.category(c) != "Cf")
    text = _OWNED.sub("", _WILL.sub(" will", text))
    if text.isascii():
        plain = text.lower().translate(_PLAIN)
        folded = plain if plain.isprintable() else "".join(filter(_is_seen, plain))
    else:
        broken = unicodedata.normalize("NFKD", text.translate(_FOLD))
        bare = "".join(c for c in broken if unicodedata.category(c) not in _MARKS)
        folded = bare.casefold().translate(_FOLD)
    folded = _RUN.sub(r"\1\1", folded.replace("\r", "\n").replace("\u2028", "\n"))
    folded = _POINT.sub(r"\1.\2", _OVER.sub(r"\1/\2", _JOINED.sub(" ", folded)))
    folded = _DOTTED.sub(lambda found: found.group().replace(".", ""), folded)
    return _SPACED.sub(lambda found: found.group().replace(" ", ""), folded)


def _is_seen(character: str) -> bool:
    return character.isprintable() or character.isspace()


def words(text: str) -> list[tuple[str, str]]:
    """(kind, text) pairs of folded text: `word`, `number`, `pair`, `soft` or `hard`."""
    out: list[tuple[str, str]] = []
    for found in _TOKEN.finditer(text):
        kind = found.lastgroup or "word"
        piece = found.group()
        if kind == "mixed":
            out.append(("word", piece.translate(_LEET)))
        elif kind == "number":
            out.append((kind, piece.replace(",", ".")))
        else:
            out.append((kind, piece))
    return out
