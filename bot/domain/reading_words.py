"""The words an answer is read by, one table per language.

Entries are separated by commas; an entry may be several words, and the longest that fits wins. Words are in
small letters and without apostrophes ("didnt"). An entry stands under one tag only (a test checks it).
"""

from dataclasses import dataclass
from enum import StrEnum


class Wish(StrEnum):
    """What she wants, or her answer to a yes-or-no question; of several the first in this order wins."""

    STOP = "stop"
    CALL_ME = "call_me"
    HELP = "help"
    PAUSE = "pause"
    RESUME = "resume"
    NO_MORE_TODAY = "no_more_today"
    LATER = "later"
    NO = "no"
    YES = "yes"
    THANKS = "thanks"


# One character per tag: a message becomes a short string, and a rule is an expression over it.
NUM = "n"  # a number that may be a count
OTHER = "o"  # a number that is none: a time span, an age, a weight
VAGUE = "v"  # no exact whole number: a range, a half, a decimal
PERCENT = "$"
FRAC = "f"  # 2/3
CROSS = "x"  # 2x10
ORD = "r"  # second; last has the value LAST
ONCE = "k"  # once, twice
DO = "d"  # did: needs to be told what
TO_DO = "J"  # do: after a not it is a did, else still to come
DONE = "8"  # done: says enough alone
JUST = "G"  # just did, just now: said of the latest set alone
SETS = "s"
SERIES = "K"  # sets after a number, else a name before one: 3 series, series 3
ONE_SET = "j"
EXERCISE = "E"  # exercises, squeezes: done, but no number of sets
REPS = "<"  # 10 squeezes: inside a set
KIND = ">"  # 10 quick, 10 slow; but 2 quick sets
TIMES = "t"  # two times
UNIT = "u"  # makes the number before it no count: minutes
NOUN = "b"  # makes the number after it no count: week 6
NUMBER = "!"  # number 2 is the second
PREP = "~"  # before, after, for
CLOCK = "@"  # a time of day follows: at 3
PAST = "9"  # ten past four
BETWEEN = "_"
ONLY = "6"  # 2 down, 1 to go; not 3 only 2: what follows stands on its own
ANOTHER = "m"  # one on top of what is booked
MORE = "w"  # on top, and needs a number
LEFT = "l"  # still to do
REST = "R"  # the rest
ALL = "a"
BOTH = "B"
HALF = "h"
HALF_OF = "^"
NONE = "z"
NO_TIME = "Z"  # says why there was none
ANY = "A"
NO = "N"
NOT = "X"
MISS = "M"
EXCEPT = "e"
HEDGE = "H"  # about, some, usually: a number beside it is not exact
HABIT = "%"  # usually, a day: no report of one day
IF = "I"  # at the head of a clause it asks, later it hedges
WROTE = ";"  # I put: what follows was said before, and is put right next
WHO = "U"  # somebody else
FUTURE = "F"  # will, want to: nothing done yet
ASK = "q"  # should I
AUX = "}"  # is: asks at the head of a clause only
FIX = "c"  # I meant: an earlier answer is put right
SORRY = "C"  # puts right what was said in the same message
DAY = "y"
PART = "p"  # this morning
IT = "i"  # it, this one, the morning one
THEM = "T"
OF = "O"
OR = "|"
PLUS = "+"
TOTAL = "="  # in all
LEAK = "L"  # a leak
LEAKED = "D"
PAIN = "P"
HEAVY = "V"
SCORE = "S"  # out of ten
WISH = "W"
NICE = "1"  # thanks, hello, lovely
PRAISE = "#"  # great: polite alone, but "everything great" is no count
TICK = "`"  # a tick behind what was done is a "done"
MOOD = "2"  # tired, busy: a remark that cannot be counted
GOOD = "Y"  # fine, ok: skipped, but "all fine" is no count
FILL = "g"
TOLD = "'"  # a symptom whose figure was read
BODY = '"'  # a word about the body, which may have a figure or a "none" of its own
JOIN = ":"  # a colon or dash between a name and its figure
TIME = "0"  # a time of day
BREAK = "&"
LINK = "/"  # with, during, like: breaks too, but a bare number behind it is no report
AND = "7"
BUT = "5"
COMMA = ","
END = "."
QUESTION = "Q"
EMOJI = "3"
SIGN = "4"
WORD = "?"

LAST = -1


@dataclass(frozen=True, slots=True)
class Words:
    """All that is peculiar to one language.

    Tables of numbers hold entries with a figure behind each ("two 2").

    tags: tag to entries. spellings: text-speak and the like, to the plain word. counted: what a short word
    behind a number may be a slip of. numbers: number words and their usual slips. once: words for a number
    of times. ordinals: words for a place in a row. days: words for a day, to how many days back it lies.
    vague_days: a day nobody can name. weekdays: name to Monday = 0; short_weekdays: those that are other
    words too and need a number beside them. months: name to 1..12. wishes: may stand anywhere. whole_wishes:
    only when nothing else is said. named_ones: one certain set of the day. units: what makes the number
    before it no count. selves: how she speaks of herself. openers: words that open a clause of their own.
    ago, dated, last, next: words around a day. soon, short_units: how "in 10 mins" is put. homely: words of
    daily life, no news to a therapist. body: words that make what was not read worth a look, however short
    it is.
    """

    tags: dict[str, str]
    spellings: str
    counted: str
    numbers: str
    once: str
    ordinals: str
    days: str
    vague_days: str
    weekdays: str
    short_weekdays: str
    months: str
    wishes: dict[Wish, str]
    whole_wishes: dict[Wish, str]
    named_ones: str
    units: str
    selves: str
    openers: str
    ago: str
    dated: str
    soon: str
    short_units: str
    last: str
    next: str
    homely: str
    body: str
