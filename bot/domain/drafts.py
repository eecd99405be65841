"""A prescription a therapist is working on in chat: nothing of it is in force."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class DraftKind(StrEnum):
    """Where a draft comes from."""

    NEW = "new"  # the guided form, for a client who is not enrolled yet
    CHANGE = "change"  # one thing of the newest version is changed
    FILE = "file"  # a prescription file that was sent as a document


@dataclass(frozen=True, slots=True)
class Draft:
    """What a therapist has answered so far for one client.

    code: the client it is for; it never changes. step: the question opened out of turn, "" for the next one
    in line. answers: by question, in the order they were given. document: the prescription it starts from,
    or that was sent; None for a new client.
    """

    id: uuid.UUID
    staff_id: uuid.UUID
    code: str
    kind: DraftKind
    step: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)
    document: Mapping[str, Any] | None = None
