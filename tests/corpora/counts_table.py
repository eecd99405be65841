"""How the reader of counts does on the lots of messages: `python -m tests.corpora.counts_table [--misses]`.

Each lot was written whole, in voices of different people, and read once before anything was changed for it;
the first line of its file holds what came out. A line is text, sets prescribed, sets done, and what should be
read: "total 2", "added 1 -1" (yesterday), "none", "unclear" (asked back) or "-" (no count). Where two answers
are as good, both stand there with " / " between them: they follow these rules.

- A bare number is the day's total; below what is booked, or above twice the prescription, it is unclear.
- "Not yet" is put off, not a report of zero; "none yet" is one.
- A named one missed ("missed the evening one") says nothing certain about the others.
- What is hedged ("about 2", "2 or 3") is unclear. A number of anything else is no count, and where nobody can
  tell it is unclear; it is never booked.

A figure is wrong when something is booked that the line does not allow. The messages are our own inventions;
the figures are engineering checks.
"""

import datetime as dt
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from bot.domain.reading import Meaning, Sets, read

HERE = Path(__file__).parent
TODAY = dt.date(2026, 3, 4)  # a Wednesday
LOTS = (
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "sixteenth",
    "seventeenth",
    "eighteenth",
    "nineteenth",
    "twentieth",
    "twentyfirst",
    "twentysecond",
    "twentythird",
    "twentyfourth",
    "twentyfifth",
    "twentysixth",
    "twentyseventh",
    "twentyeighth",
    "twentyninth",
    "thirtieth",
    "thirtyfirst",
    "thirtysecond",
    "thirtythird",
    "thirtyfourth",
    "thirtyfifth",
    "thirtysixth",
    "thirtyseventh",
)


@dataclass(frozen=True, slots=True)
class Message:
    """One message, the client it is from, and the readings that are right."""

    text: str
    sets: int
    done: int
    right: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was made of a message."""

    message: Message
    got: str
    booked: bool

    @property
    def exact(self) -> bool:
        """Whether it was read as it should be."""
        return self.got in self.message.right

    @property
    def wrong(self) -> bool:
        """Whether a figure was booked that she did not mean."""
        return self.booked and not self.exact


def messages(lot: str) -> Iterator[Message]:
    """The messages of one lot."""
    for line in (HERE / f"counts_{lot}.tsv").read_text(encoding="utf-8").split("\n"):
        if line and not line.startswith("# "):
            text, sets, done, right = line.split("\t")
            yield Message(text, int(sets), int(done), tuple(right.split(" / ")))


def short(count: Sets | None) -> str:
    """A count in a word: "total 2", "none -1" for yesterday, "unclear", "-" for none read."""
    if count is None:
        return "-"
    back = (count.on - TODAY).days
    figure = "" if not count.value else str(count.value)
    return " ".join(word for word in (count.meaning.value, figure, str(back) if back else "") if word)


def outcomes(lot: str) -> list[Outcome]:
    """Every message of a lot, read."""
    found = []
    for message in messages(lot):
        count = read(message.text, sets=message.sets, done=message.done, today=TODAY).sets
        booked = count is not None and count.meaning is not Meaning.UNCLEAR
        found.append(Outcome(message, short(count), booked))
    return found


def main() -> None:
    """Print a line for each lot and one for all; with --misses also what was read otherwise."""
    every: list[Outcome] = []
    for lot in LOTS:
        read_now = outcomes(lot)
        every += read_now
        first = (HERE / f"counts_{lot}.tsv").read_text(encoding="utf-8").split("\n", 1)[0]
        print(f"{lot:<14}{_line(read_now)}   {first.removeprefix('# ')}")
    print(f"{'all':<14}{_line(every)}")
    if "--misses" in sys.argv:
        for outcome in every:
            if not outcome.exact:
                message = outcome.message
                mark = "WRONG" if outcome.wrong else "     "
                asked = f"{message.sets}/{message.done}"
                print(f"{mark} {asked} {message.text!r}: {outcome.got}, not {' / '.join(message.right)}")


def _line(read_now: list[Outcome]) -> str:
    exact = sum(outcome.exact for outcome in read_now)
    wrong = sum(outcome.wrong for outcome in read_now)
    return f"{exact:>5} of {len(read_now):<5}{exact / len(read_now):>6.1%} exact, {wrong} wrong"


if __name__ == "__main__":
    main()
