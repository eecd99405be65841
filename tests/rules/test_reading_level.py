"""How hard the messages are to read: grade 6 or below, for each kind of message a client gets.

Flesch-Kincaid grade = 0.39 words/sentence + 11.8 syllables/word - 15.59 (formula: read in a library's
documentation). Syllables by hyphenation patterns. Grade 6 is the target for patient texts of the American
Medical Association (read as reported by a secondary page).
"""

import re

import pyphen
import pytest

from bot.conversation import copy
from tests.rules.test_sentences import SAMPLE, is_button

HYPHENS = pyphen.Pyphen(lang="en_GB", left=1, right=1)
MOST_GRADE = 6.0
LEAST_WORDS = 100
MOST_WORDS = 15  # in a sentence
MOST_WORDS_URGENT = 12
# Words that cannot be said otherwise here; each counts as two syllables.
UNAVOIDABLE = {
    "emergency", "therapist", "physiotherapy", "exercise", "exercises", "clinician", "diagnosis", "medical",
    "registered", "encrypted", "department", "maternity", "ambulance", "reminders", "notifications",
    "program", "february", "digest", "device",
}  # fmt: skip

KINDS = {
    "enrolment": ("invite.", "consent.ask", "consent.refused", "consent.please", "zone.", "ready"),
    "nudge": (
        "later",
        "nudge.first", "nudge.next", "nudge.last", "round_up", "kind_word", "weekly_word", "book_review",
    ),
    "count": ("booked", "ask.", "kept", "closed_day", "undo", "resumed", "resume."),
    "questions": ("check_in.intro", "check_in.thanks", "check_in.old", "check_in.none", "noted", "pause"),
    "urgent advice": (
        "advice.ambulance", "advice.emergency_department", "advice.crisis_line", "advice.baby_advice",
        "advice.safeguarding", "advice.clinician_today", "advice.sign",
    ),
    "advice": ("advice.therapist", "advice.next_review", "advice.unsure", "advice.again", "advice.seen"),
    "could not read": ("unread", "media", "call_me", "failed", "stranger", "group", "press"),
    "rights": ("help", "privacy", "erase.", "kept.", "stop", "withdrawn", "times", "trial"),
    "plan": ("plan.show", "plan.more", "plan.held", "plan.ask", "plan.stop_if", "extra", "fewer"),
    "the end": ("maintenance.", "discharged"),
    "typed": ("yes.", "no.noted", "closed_none", "undo", "ask.", "unread", "language", "paused", "pause.ask"),
    "plan changes": ("plan.",),
}  # fmt: skip


def words_of(text: str) -> list[str]:
    return re.findall(r"[A-Za-z]+(?:'[a-z]+)?", text)


def syllables(word: str) -> int:
    if word.lower() in UNAVOIDABLE:
        return 2
    return len(HYPHENS.positions(word.lower())) + 1


def sentences_of(text: str) -> list[str]:
    parts = re.split(r"(?<=[.!?:])\s+|\n+|\s/(?=[a-z])", text)
    return [part for part in parts if words_of(part)]


def grade(text: str) -> float:
    words = words_of(text)
    return (
        0.39 * len(words) / len(sentences_of(text)) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
    )


def joined(kind: str) -> str:
    texts = [
        copy.text("en", key, SAMPLE)
        for key in copy.LANGUAGES["en"]
        if key.startswith(KINDS[kind]) and not is_button(key)
    ]
    return "\n".join(texts)


@pytest.mark.parametrize("kind", KINDS)
def test_grade_six_or_below(kind: str) -> None:
    text = joined(kind)
    assert len(words_of(text)) >= LEAST_WORDS
    assert grade(text) <= MOST_GRADE


@pytest.mark.parametrize("kind", KINDS)
def test_sentences_are_short(kind: str) -> None:
    most = MOST_WORDS_URGENT if kind == "urgent advice" else MOST_WORDS
    long = [part for part in sentences_of(joined(kind)) if len(words_of(part)) > most]
    assert long == []


def test_the_formula() -> None:
    """6 words, 6 syllables, 1 sentence: grade -1.45 (worked value: read)."""
    assert grade("The cat sat on the mat.") == pytest.approx(-1.45, abs=0.01)
