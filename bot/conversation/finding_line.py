"""What a therapist typed about a visit in one line, as far as it can be read; her words are kept."""

import re
from collections.abc import Mapping
from typing import Any

from bot.conversation.copy.en_caseload import PHRASES
from bot.domain.findings import parse_perfect
from bot.errors import RefusedError

HOW_LENGTH = 200
_YES_NO = {"yes": "yes", "y": "yes", "confirmed": "yes", "no": "no", "n": "no"}
_ASSESSED = {
    "contraction": re.compile(r"\bcontraction\s*[:=]?\s*(yes|y|confirmed|no|n)\b", re.IGNORECASE),
    "full_release": re.compile(r"\b(?:full\s+)?release\s*[:=]?\s*(yes|y|confirmed|no|n)\b", re.IGNORECASE),
}
_TONE = re.compile(r"\btone\s*[:=]?\s*(low|normal|raised)\b", re.IGNORECASE)
_PAIN = re.compile(r"\bpain on contraction\s*[:=]?\s*(yes|y|no|n)\b", re.IGNORECASE)
_SCORE = re.compile(r"\bscore\s+([A-Za-z][\w-]{1,38})\s*[:=]?\s*(-?\d{1,3}(?:\.\d)?)\b", re.IGNORECASE)
_PERFECT = re.compile(r"(?<![\d/.])\d{1,2}\s*/\s*\d{1,2}\s*/\s*\d{1,2}\s*//?\s*\d{1,2}(?![\d/])")


def read(typed: str) -> dict[str, Any]:
    """The fields of a finding in a line such as "3/5/4//7, contraction yes, release yes, score ICIQ 9".

    The keys are those of a prescription file's findings. What is not read is in no field: the caller keeps
    the words. A value beyond its scale is not read.
    """
    fields: dict[str, Any] = {}
    perfect = _perfect(typed)
    if perfect is not None:
        fields["perfect"] = perfect
    without = _PAIN.sub(" ", typed)
    for name, pattern in _ASSESSED.items():
        match = pattern.search(without)
        if match:
            fields[name] = _YES_NO[match.group(1).lower()]
            fields["how"] = typed[:HOW_LENGTH]
    tone, pain = _TONE.search(typed), _PAIN.search(typed)
    if tone:
        fields["tone"] = tone.group(1).lower()
    if pain:
        fields["pain_on_contraction"] = _YES_NO[pain.group(1).lower()] == "yes"
    scores = {name: float(value) for name, value in _SCORE.findall(typed)}
    if scores:
        fields["scores"] = scores
    return fields


def _perfect(typed: str) -> str | None:
    match = _PERFECT.search(typed)
    try:
        return str(parse_perfect(match.group())) if match else None
    except RefusedError:
        return None  # beyond the scheme: it stays in her words and is not echoed as read


def told(fields: Mapping[str, Any]) -> tuple[str, ...]:
    """What was read, a line for each, so that a slip is seen at once."""
    lines = [
        PHRASES[f"found.{name}"].format(value=_word(fields[name]))
        for name in ("perfect", "contraction", "full_release", "tone", "pain_on_contraction")
        if name in fields
    ]
    lines += [
        PHRASES["found.score"].format(name=name, value=f"{value:g}")
        for name, value in fields.get("scores", {}).items()
    ]
    return tuple(lines)


def _word(value: Any) -> str:  # noqa: ANN401 - a flag or a word
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
