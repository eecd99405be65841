"""The weekly questions: what is asked, which answers there are, and which of them are warning answers."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

from bot.domain.levels import Level
from bot.domain.trend import Span


@dataclass(frozen=True, slots=True)
class Option:
    """An answer button: what is kept (the low end of its range), the high end (None: open), its label."""

    value: int
    high: int | None
    label: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question of the check-in. `key` is also the end of its sentence id."""

    key: str
    options: tuple[Option, ...]


_RATING = (Option(0, 0, "0"), Option(1, 3, "1 to 3"), Option(4, 6, "4 to 6"), Option(7, 10, "7 to 10"))

QUESTIONS: Mapping[str, Question] = {
    question.key: question
    for question in (
        Question(
            "leaks",
            (Option(0, 0, "0"), Option(1, 2, "1 to 2"), Option(3, 6, "3 to 6"), Option(7, None, "7 or more")),
        ),
        Question("heaviness", _RATING),
        Question("pain", _RATING),
        Question("doming", (Option(0, 0, "No"), Option(1, 1, "Yes"))),
    )
}
# Asked once in a while, and only where the clinic named a crisis line and who acts; never part of a plan.
MOOD = Question(
    "mood",
    (Option(0, 0, "Good"), Option(1, 1, "Up and down"), Option(2, 2, "Low"), Option(3, 3, "Very low")),
)
MOOD_SIGN = "low_mood"
MOOD_EVERY_DAYS = 28  # common practice, no source
EVERY: Mapping[str, Question] = {**QUESTIONS, MOOD.key: MOOD}
MOST_QUESTIONS = 3  # taps a week, at most; common practice, no source


@dataclass(frozen=True, slots=True)
class Threshold:
    """When an answer is a warning: it is at least so high, or at least one range above her baseline.

    `sign` is the warning sign it stands for. above_last: also one range above her last answer counts, for
    what must not slide down step by step.
    """

    question: str
    sign: str
    level: Level
    at_least: int | None = None
    above_baseline: bool = False
    above_last: bool = False


# Common practice, no source; a pain answer of 8 to 10 has to count as a warning without any words, and the
# range button that holds it begins at 7.
THRESHOLDS = (
    Threshold("pain", "exercise_pain", Level.SAME_DAY, at_least=7),
    Threshold("pain", "exercise_pain", Level.THERAPIST, above_baseline=True),
    Threshold("heaviness", "prolapse_new", Level.THERAPIST, at_least=7),
    Threshold("heaviness", "prolapse_new", Level.THERAPIST, above_baseline=True),
    Threshold("leaks", "leak_worse", Level.THERAPIST, above_baseline=True),
    Threshold("doming", "doming", Level.THERAPIST, above_baseline=True),
    Threshold(MOOD.key, MOOD_SIGN, Level.SAME_DAY, at_least=2),
    Threshold(MOOD.key, MOOD_SIGN, Level.THERAPIST, above_baseline=True, above_last=True),
)


def warning(question: str, value: int, baseline: int | None, last: int | None = None) -> Threshold | None:
    """The most urgent threshold an answer passes, None for none.

    baseline, last: her first and her last answer to this question, None when this is the first; then only
    fixed limits count.
    """
    passed = [
        threshold
        for threshold in THRESHOLDS
        if threshold.question == question
        and (
            (threshold.at_least is not None and value >= threshold.at_least)
            or (threshold.above_baseline and baseline is not None and value > baseline)
            or (threshold.above_last and last is not None and value > last)
        )
    ]
    return min(passed, key=lambda threshold: threshold.level.rank, default=None)


@lru_cache(maxsize=1024)
def span_of(question: str, value: int) -> Span:
    """The range an answer stands for; a figure from a message stands for itself."""
    options = EVERY[question].options if question in EVERY else ()
    return next((Span(o.value, o.high) for o in options if o.value == value), Span.exactly(value))


def label_of(question: str, value: int) -> str:
    """The range an answer stands for, as the client saw it."""
    return next(option.label for option in EVERY[question].options if option.value == value)


KNOWN_SIGNS = {
    "leaks": "leak_worse",
    "heaviness": "prolapse_new",
    "pain": "exercise_pain",
    "doming": "doming",
}


# Asked about every week because she is treated for it: known from the first day on.
TREATED_FOR = frozenset({"leaks"})


def known_signs(baseline: Mapping[str, int], asked: Collection[str] = ()) -> frozenset[str]:
    """The warning signs that are her baseline: told of in her first check-in, or what she is treated for."""
    told = {key for key, value in baseline.items() if value} | (TREATED_FOR & set(asked))
    return frozenset(KNOWN_SIGNS[key] for key in told if key in KNOWN_SIGNS)
