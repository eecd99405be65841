"""Which answers of the weekly questions are warnings, fixed and against her own baseline."""

import pytest

from bot.domain import check_in
from bot.domain.levels import Level
from bot.rules import signs


@pytest.mark.parametrize(
    ("question", "value", "baseline", "level"),
    [
        ("pain", 7, None, Level.SAME_DAY),  # the first answer already: 7 to 10 holds the 8 that always warns
        ("pain", 4, None, None),
        ("pain", 4, 1, Level.THERAPIST),  # worse than she began
        ("pain", 1, 4, None),
        ("heaviness", 7, None, Level.THERAPIST),
        ("heaviness", 4, 4, None),  # her known, unchanged symptom
        ("leaks", 7, 7, None),
        ("leaks", 7, 3, Level.THERAPIST),
        ("leaks", 7, None, None),
        ("doming", 1, 0, Level.THERAPIST),
        ("doming", 1, None, None),
    ],
)
def test_warning_answers(question: str, value: int, baseline: int | None, level: Level | None) -> None:
    """Thresholds: common practice, no source."""
    passed = check_in.warning(question, value, baseline)
    assert (passed.level if passed else None) is level


def test_every_threshold_names_a_sign_of_the_rules() -> None:
    known = signs.load().signs
    assert {threshold.sign for threshold in check_in.THRESHOLDS} <= set(known)
    assert set(check_in.KNOWN_SIGNS.values()) <= set(known)


def test_ranges_are_kept_as_ranges() -> None:
    span = check_in.span_of("leaks", 3)
    assert (span.low, span.high) == (3, 6)
    assert check_in.span_of("leaks", 7).high is None
    assert check_in.span_of("leaks", 5).high == 5


def test_the_baseline_makes_a_sign_known_only_where_there_was_something() -> None:
    assert check_in.known_signs({"leaks": 3, "pain": 0}) == {"leak_worse"}
