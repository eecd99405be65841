"""How the warning reader does on the labelled messages: `python -m tests.corpora.signs_table [--misses]`.

The messages are our own inventions. The figures are engineering checks on phrases, not clinical performance.
"""

import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from bot.domain.levels import Level
from bot.domain.warning_signs import Hearing, SignRules, hear
from bot.rules import signs

HERE = Path(__file__).parent
FILES = tuple(
    f"signs_{name}.tsv"
    for name in (
        "first",
        "second",
        "third",
        "fourth",
        "fifth",
        "sixth",
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
        "twenty_first",
        "twenty_second",
        "twenty_third",
        "twenty_fourth",
        "twenty_fifth",
        "twenty_sixth",
        "twenty_seventh",
        "twenty_eighth",
        "twenty_ninth",
        "thirtieth",
        "thirty_first",
        "thirty_second",
        "emergency",
    )
)


@dataclass(frozen=True, slots=True)
class Labelled:
    """A message with the level and the sign a person gave it; `level` None is harmless."""

    level: Level | None
    sign: str
    text: str


@dataclass(frozen=True, slots=True)
class Read:
    """A labelled message and what the reader made of it."""

    message: Labelled
    hearing: Hearing

    @property
    def below(self) -> bool:
        """Whether the reader put it lower than the label."""
        wanted, got = self.message.level, self.hearing.level
        return wanted is not None and (got is None or got.rank > wanted.rank)

    @property
    def above(self) -> bool:
        """Whether the reader put it higher than the label."""
        wanted, got = self.message.level, self.hearing.level
        return got is not None and (wanted is None or got.rank < wanted.rank)


@dataclass(frozen=True, slots=True)
class Goal:
    """A share that must be reached ("at least") or kept under ("at most"), of the messages of one label."""

    name: str
    of: Level | None
    counts: Callable[[Level | None], bool]
    at_least: float | None = None
    at_most: float | None = None

    def share(self, reads: Iterable[Read]) -> tuple[int, int]:
        """How many of the label count, and how many there are."""
        own = [read for read in reads if read.message.level is self.of]
        return sum(self.counts(read.hearing.level) for read in own), len(own)

    def met(self, part: int, whole: int) -> bool:
        """Whether the share is good enough."""
        share = part / whole
        return share >= self.at_least if self.at_least is not None else share <= (self.at_most or 0)


def at(floor: Level) -> Callable[[Level | None], bool]:
    """Whether a level is this one or more urgent."""
    return lambda level: level is not None and level.rank <= floor.rank


# Our own goals; no outside source sets them.
GOALS = (
    Goal("emergency read as emergency", Level.EMERGENCY, at(Level.EMERGENCY), at_least=1.0),
    Goal("same_day at same_day or higher", Level.SAME_DAY, at(Level.SAME_DAY), at_least=0.98),
    Goal("therapist caught at all", Level.THERAPIST, at(Level.NEXT_REVIEW), at_least=0.92),
    Goal("harmless raising therapist or higher", None, at(Level.THERAPIST), at_most=0.03),
    Goal("same_day read as emergency", Level.SAME_DAY, at(Level.EMERGENCY), at_most=0.10),
    Goal("therapist read as emergency", Level.THERAPIST, at(Level.EMERGENCY), at_most=0.05),
    Goal("therapist read above its level", Level.THERAPIST, at(Level.SAME_DAY), at_most=0.15),
)


def labelled(name: str) -> Iterator[Labelled]:
    """The messages of one file: level, sign and text, split by tabs."""
    for line in (HERE / name).read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            level, sign, text = line.split("\t")
            yield Labelled(None if level == "none" else Level(level), sign, text)


def read_all(names: Iterable[str], rules: SignRules) -> list[Read]:
    """Every message of some files, read."""
    return [Read(message, hear(message.text, rules)) for name in names for message in labelled(name)]


def table(reads: list[Read]) -> str:
    """One line for each goal."""
    lines = []
    for goal in GOALS:
        part, whole = goal.share(reads)
        if not whole:
            continue
        limit = f">= {goal.at_least:.0%}" if goal.at_least is not None else f"<= {goal.at_most:.0%}"
        verdict = "ok" if goal.met(part, whole) else "MISSED"
        lines.append(f"{goal.name:<40} {part:>4} of {whole:<4} {part / whole:>6.1%}  {limit:<7} {verdict}")
    return "\n".join(lines)


def main() -> None:
    """Print the table for each file and for all; with --misses also what was put too low or too high."""
    from tests.corpora import traffic  # noqa: PLC0415 - it reads the messages by this module

    rules = signs.load()
    names = [argument for argument in sys.argv[1:] if not argument.startswith("-")] or list(FILES)
    every: list[Read] = []
    for name in names:
        reads = read_all([name], rules)
        every += reads
        print(f"{name}: {len(reads)} messages\n{table(reads)}\n")
    if len(names) > 1:
        print(f"all: {len(every)} messages, rules {rules.version}\n{table(every)}\n")
    print(traffic.table(rules))
    if "--misses" in sys.argv:
        for read in every:
            if read.below or read.above:
                mark = "LOW " if read.below else "high"
                label = read.message.level.value if read.message.level else "none"
                print(f"{mark} {label:<11} {read.message.text} | {read.hearing.explanation}")


if __name__ == "__main__":
    main()
