"""What a clinician signs: the exact contents in force, as digests.

A change of a single letter in any part gives another digest, and so needs a new sign-off.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bot.conversation import copy
from bot.conversation.copy import en_advice
from bot.domain import alerts, check_in
from bot.rules import exercises, limits, signs
from bot.rules.own_signs import OwnSigns

INTENDED_USE: Final = Path(__file__).parent / "intended_use.md"
SHOWN: Final = 12  # characters of a digest that are enough to tell two apart by eye
CONSENT: Final = ("consent.ask", "help")  # what a client is told of the limits, beside the advice itself


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in force in one language. parts: the SHA-256 of each part, by its name."""

    language: str
    version: str
    parts: Mapping[str, str]

    @property
    def digest(self) -> str:
        """The SHA-256 over all parts."""
        return _digest([f"{name} {value}" for name, value in sorted(self.parts.items())])

    def changed(self, before: Mapping[str, str]) -> tuple[str, ...]:
        """The names of the parts that are not as they were."""
        names = sorted(self.parts.keys() | before.keys())
        return tuple(name for name in names if self.parts.get(name) != before.get(name))


def contents(own: OwnSigns, own_exercises: Path | None = None) -> Contents:
    """What is in force with a clinic's own files: of warning signs, and of exercises and limits."""
    more = {} if own_exercises is None else {"the clinic's own exercises": _files([own_exercises])}
    language = own.rules.language
    sentences = {key: copy.as_written(language, key) for key in (*en_advice.SENTENCES, *CONSENT)}
    return Contents(
        language=language,
        version=own.rules.version,
        parts={
            "warning signs": _files(signs.FOLDER.glob("*.toml")),
            "gates": _files([*exercises.FOLDER.glob("*.toml"), limits.FILE]),
            "advice texts": _digest([json.dumps(sentences, ensure_ascii=False, sort_keys=True)]),
            "weekly answers": _digest([repr(check_in.EVERY), repr(check_in.THRESHOLDS)]),
            "alert times": _digest([repr(sorted(alerts.LADDERS.items(), key=lambda item: item[0].rank))]),
            "intended use": _files([INTENDED_USE]),
            "the clinic's own file": _digest([own.text]),
            **more,
        },
    )


def intended_use() -> str:
    """The statement of what this is for, and what not."""
    return INTENDED_USE.read_text(encoding="utf-8")


def _files(paths: Iterable[Path]) -> str:
    return _digest(
        text
        for path in sorted(paths, key=lambda path: path.name)
        for text in (path.name, path.read_text("utf-8"))
    )


def _digest(texts: Iterable[str]) -> str:
    whole = hashlib.sha256()
    for text in texts:
        data = text.encode()
        # The length in front: moving a line from one file to the next is a change too.
        whole.update(len(data).to_bytes(8, "big") + data)
    return whole.hexdigest()
