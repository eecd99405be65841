"""Every sentence the bot says: discreet on a lock screen, within the platform's limits, none unused."""

import ast
import re
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.conversation import copy
from bot.domain.check_in import EVERY
from bot.rules.discretion import indiscreet

ROOT = Path(__file__).resolve().parents[2]
TEXT_LIMIT = 4096
LABEL_LIMIT = 40

# Values as long and as telling as they may get. The clinic's own name is the most telling of all.
SAMPLE: dict[str, str | int] = {
    "clinic": "Quayside Pelvic Health Physiotherapy",
    "phone": "020 912 0145",
    "number_now": "020 912 0199",
    "emergency_number": "112",
    "digest_day": "Wednesday",
    "digest_clock": "09:15",
    "seen_when": "The clinic is closed. Your therapist will see it from Monday 09:00.",
    "opening": "Monday 09:00",
    "done": 2,
    "sets": 3,
    "value": 1,
    "number": 3,
    "left": 2,
    "days": 7,
    "times": "08:30, 13:00 and 18:30",
    "starts": "2 March",
    "day": "yesterday",
    "clock": "19:30",
    "zone": "Europe/Dublin",
    "label": "7 or more",
    "pause": "",
    "ring_clinic": "020 912 0145, from Monday 09:00",
    "stops": "\nSet your exercises aside until a clinician says to go on.",
    "cells": "●○○",
    "cue": "After brushing teeth: ",
    "quiet_from": "21:00",
    "quiet_to": "07:30",
    "question": "Leaks in the last seven days?",
    "client": "K12",
    "clients": "K12, K13",
    "most": 1000,
    "length": 1200,
    "code": "T1",
    "level": "EMERGENCY",
    "cover": " What follows is hers alone." + " It stands down here for a good reason." * 3,
    "version": 2,
    "attendance": "did not attend",
    "weeks": 4,
    "when": "Mon 2 Mar 08:30",
    "sensitive": "\nSensitive: check that it is safe to call.",
    "therapist": "T1",
    "outcome": "spoke to her",
    "note": "T1",
    "what": "seen",
    "lines": "K1 1 of 3 today",
    "extra": "",
    "crisis_line": "020 912 0177",
    "alone": " Your therapist works alone. Nobody else gets your warnings.",
    "state": "not seen",
    "count": 3,
    "history": "Mon 2 Mar 08:30 raised",
    "signs": "Heavy bleeding",
    "words": "soaking a pad",
    "text": "how long should these take?",
    "head": copy.text("en", "form.head.fresh", {"client": "K12"}),
    "before": 5,
    "after": 8,
    "why": "You agreed it at your visit.",
    "link": "https://t.me/room_bot?start=abc",
    "digits": "0417",
    "until": "Mon 16 Mar 08:30",
    "power": 3,
    "endurance": 5,
    "fast": 7,
    "repetitions": 8,
    "hold": 6,
    "rest": 6,
    "position": "lying on your back",
    "minutes": 20,
    "often": "twice",
    "thing": "soft ball",
    "stand_in": "a rolled towel",
    "letter": "A",
    "easier": "\nEasier is fine: lying on your back.",
    "clinic_phone": "020 912 0145",
    "reason": "goals reached",
    "due": 7,
    "figures": "A 3 of 7",
    "kept": copy.text("en", "privacy.years", {"years": 8}),
    "years": 8,
}
# Shown by changing a message in place, which rings no bell on any phone.
IN_PLACE = {f"check_in.{key}" for key in EVERY} | {"alert.words", "plan.shown"}
# Parts of other sentences, never a message of their own; what they say is judged there.
PARTS = {
    "alert.event",
    "alert.outcome",
    "alert.sensitive",
    "alert.level",
    "advice.seen",
    "advice.stops",
    "consent.alone",
    "alert.state",
    "handover.line",
    "handover.open",
    "handover.for_good",
    "handover.until",
    "note.now",
    "note.at",
    "alert.open.line",
    "alert.resumed.note",
    "form.so_far",
    "form.more.",
    "form.mode",
    "form.cleared",
    "form.site",
    "form.not_recorded",
    "room.line",
    "change.from",
    "change.review_moved",
    "change.aside",
    "change.never",
    "change.why_line",
    "change.stale",
    "change.state",
    "plan.why",
    "plan.not_yet.line",
    "plan.not_yet.all",
}
# Their text is made elsewhere and judged there (the digest).
MADE_ELSEWHERE = {"digest.text", "digest.caption", "advice.own"}

SENTENCES = [(language, key) for language, table in copy.LANGUAGES.items() for key in table]


def finished(language: str, key: str) -> str:
    return copy.text(language, key, SAMPLE)


def is_button(key: str) -> bool:
    return ".button" in key or key.startswith(("button.", "consent.yes", "consent.no", "zone.yes", "zone.no"))


@pytest.mark.parametrize(("language", "key"), SENTENCES)
def test_no_health_word_where_a_lock_screen_shows_it(language: str, key: str) -> None:
    if key in IN_PLACE | MADE_ELSEWHERE or any(key.startswith(part) for part in PARTS):
        return
    assert indiscreet(finished(language, key)) == ()


@pytest.mark.parametrize(("language", "key"), SENTENCES)
def test_every_sentence_fits_the_platform(language: str, key: str) -> None:
    limit = LABEL_LIMIT if is_button(key) else TEXT_LIMIT
    assert 0 < len(finished(language, key).strip() or "-") <= limit


@pytest.mark.parametrize("key", ["plan.show", "plan.more"])
def test_her_plan_stands_below_what_a_lock_screen_shows(key: str) -> None:
    lines = "1. Pelvic-floor long hold\n8 times. Hold 6 s, rest 6 s, lying on your back."
    assert indiscreet(copy.text("en", key, {**SAMPLE, "sets": 1, "times": "09:00", "lines": lines})) == ()


def test_the_list_of_words_finds_what_it_is_for() -> None:
    assert indiscreet("Any leaks or pelvic heaviness this week?") == ("leaks", "pelvic", "heaviness")
    assert indiscreet("x" * 160 + " leaks") == ()


def test_buttons_of_the_questions_are_discreet() -> None:
    for question in EVERY.values():
        for option in question.options:
            assert indiscreet(option.label) == ()


def _used_in_code() -> Iterator[str]:
    for path in (ROOT / "bot").rglob("*.py"):
        if "copy" in path.parts:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield node.value
            elif isinstance(node, ast.JoinedStr):
                yield "".join(
                    str(part.value) if isinstance(part, ast.Constant) else "*" for part in node.values
                )


def test_every_sentence_is_said_somewhere() -> None:
    """A sentence that nothing says is dead; one that is said and missing would fail a client."""
    used = set(_used_in_code())
    patterns = [re.compile(re.escape(text).replace(r"\*", r"[\w.]+")) for text in used if "*" in text]
    for key in copy.LANGUAGES["en"]:
        assert key in used or any(pattern.fullmatch(key) for pattern in patterns), key


@pytest.mark.parametrize("language", copy.LANGUAGES)
def test_every_language_says_everything_with_the_same_values(language: str) -> None:
    def fields(text: str) -> set[str]:
        return {name for _, name, _, _ in string.Formatter().parse(text) if name}

    english, own = copy.LANGUAGES["en"], copy.LANGUAGES[language]
    assert set(own) == set(english)
    assert {key: fields(own[key]) for key in own} == {key: fields(english[key]) for key in english}


URGENT = [
    "advice.ambulance", "advice.emergency_department", "advice.crisis_line", "advice.baby_advice",
    "advice.safeguarding", "advice.clinician_today", "advice.sign.loss", "advice.sign.low_mood",
]  # fmt: skip


@pytest.mark.parametrize("key", URGENT)
def test_urgent_advice_opens_with_whom_to_call(key: str) -> None:
    """A number or a place to go stands in the first two sentences, none longer than 12 words."""
    text = finished("en", key)
    first = " ".join(re.split(r"(?<=[.!?])\s", text)[:2])
    assert re.search(r"112|020 912 0199|emergency department", first)
    for sentence in re.split(r"(?<=[.!?:])\s+", text):
        assert len(sentence.split()) <= 12, sentence


@pytest.mark.parametrize("key", [key for key in URGENT if key != "advice.sign.loss"])
def test_urgent_advice_says_what_it_is_not(key: str) -> None:
    """After a loss one plain human sentence stands alone."""
    text = finished("en", key)
    assert "Nobody watches this chat live." in text
    assert "program" in text


@pytest.mark.parametrize("key", ["consent.ask", "help"])
def test_consent_and_help_say_what_it_is_not(key: str) -> None:
    text = finished("en", key)
    for said in ("Nobody watches this chat live", "no diagnosis", "not assessed or registered as a medical"):
        assert said in text
    assert re.search(
        r"local rules (?:and your clinician )?decide|therapist and local rules decide", text, re.IGNORECASE
    )
    assert "112" in text


FORBIDDEN = re.compile(
    r"nothing to worry|don't worry|do not worry|is normal|perfectly fine|you are fine|no need to|harmless|"
    r"probably (?:just|only)|diagnosed|you have an? (?:infection|clot)|!{2,}|streak|don't forget|you missed",
    re.IGNORECASE,
)


@pytest.mark.parametrize(("language", "key"), SENTENCES)
def test_no_sentence_reassures_diagnoses_or_nags(language: str, key: str) -> None:
    assert FORBIDDEN.search(finished(language, key)) is None
