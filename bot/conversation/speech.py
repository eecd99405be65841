"""What is said to a person: sentence ids with values, not finished text."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bot.conversation import copy
from bot.domain.delivery import Kind

Values = Mapping[str, str | int]
MAX_DATA_BYTES = 64


@dataclass(frozen=True, slots=True)
class Button:
    """A button: the sentence id of its label and the data that comes back when it is pressed."""

    label: str
    data: str
    values: Values = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Say:
    """One message: which sentence, its values and buttons, how urgent, and whether it arrives silently.

    keep_private: the platform is asked to stop forwarding and saving.
    """

    copy: str
    values: Values = field(default_factory=dict)
    rows: tuple[tuple[Button, ...], ...] = ()
    kind: Kind = Kind.REPLY
    silent: bool = False
    keep_private: bool = False


@dataclass(frozen=True, slots=True)
class Finished:
    """A message as it goes out: text, and buttons as rows of (label, data)."""

    text: str
    rows: tuple[tuple[tuple[str, str], ...], ...]


def to_json(say: Say) -> dict[str, Any]:
    """A message as the outbox holds it."""
    return {
        "method": "text",
        "copy": say.copy,
        "values": dict(say.values),
        "rows": [[[b.label, b.data, dict(b.values)] for b in row] for row in say.rows],
        "silent": say.silent,
        "keep_private": say.keep_private,
    }


def finish(content: Mapping[str, Any], language: str) -> Finished:
    """The finished text and buttons of a message taken from the outbox."""
    return Finished(
        text=copy.text(language, content["copy"], content["values"]),
        rows=tuple(
            tuple((copy.text(language, label, values), data) for label, data, values in row)
            for row in content["rows"]
        ),
    )
