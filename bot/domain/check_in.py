"""The weekly questions: what is asked, which answers there are, and which of them are warning answers."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

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
MOST_QUESTIONS = 3  # taps a week, at most; common practice, no source


@dataclass(frozen=True, slots=True)
class Threshold:
    """When an answer is a warning: it is at least so high, or at least one range above her baseline.

    `sign` is the warning sign it stands for.
    """

    question: str
    sign: str
    level: Level
    at_least: int | None = None
    above_baseline: bool = False


# Common practice, no source; a pain answer of 8 to 10 has to count as a warning without any words, and the
# range button that holds it begins at 7.
THRESHOLDS = (
    Threshold("pain", "exercise_pain", Level.SAME_DAY, at_least=7),
    Threshold("pain", "exercise_pain", Level.THERAPIST, above_baseline=True),
    Threshold("heaviness", "prolapse_new", Level.THERAPIST, at_least=7),
    Threshold("heaviness", "prolapse_new", Level.THERAPIST, above_baseline=True),
    Threshold("leaks", "leak_worse", Level.THERAPIST, above_baseline=True),
    Threshold("doming", "doming", Level.THERAPIST, above_baseline=True),
)


def warning(question: str, value: int, baseline: int | None) -> Threshold | None:
    """The most urgent threshold an answer passes, None for none.

    baseline: her first answer to this question, None when this is the first; then only fixed limits count.
    """
    passed = [
        threshold
        for threshold in THRESHOLDS
        if threshold.question == question
        and (
            (threshold.at_least is not None and value >= threshold.at_least)
            or (threshold.above_baseline and baseline is not None and value > baseline)
        )
    ]
    return min(passed, key=lambda threshold: threshold.level.rank, default=None)


def span_of(question: str, value: int) -> Span:
    """The range an answer stands for; a figure from a message stands for itself."""
    options = QUESTIONS[question].options if question in QUESTIONS else ()
    return next((Span(o.value, o.high) for o in options if o.value == value), Span.exactly(value))


def label_of(question: str, value: int) -> str:
    """The range an answer stands for, as the client saw it."""
    return next(option.label for option in QUESTIONS[question].options if option.value == value)


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
