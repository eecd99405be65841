"""What a turn of conversation changes. Plain facts; `service` writes them down in one transaction."""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass

from bot.conversation.speech import Say
from bot.domain.alerts import Outcome
from bot.domain.day_book import SetReport
from bot.domain.extras import Extra
from bot.domain.levels import Level
from bot.domain.people import Stage


@dataclass(frozen=True, slots=True)
class BookSets:
    """Keep a report of sets; its key makes the same press harmless twice."""

    report: SetReport


@dataclass(frozen=True, slots=True)
class BookExtra:
    """Keep a tap for an exercise beside the sets."""

    extra: Extra


@dataclass(frozen=True, slots=True)
class KeepSymptom:
    """Keep an answer about a symptom; `value` None is a skipped question. `key` makes it one of a kind."""

    on: dt.date
    question: str
    value: int | None
    key: str


@dataclass(frozen=True, slots=True)
class RaiseAlert:
    """Pass a warning on. `words` is what she wrote or tapped; an emergency also pauses her nudges.

    joins: an answer of the weekly questions, which may join the alert of another answer a moment ago.
    """

    level: Level
    handling: str
    signs: tuple[str, ...]
    words: str
    pauses: bool
    joins: bool = False


@dataclass(frozen=True, slots=True)
class AddToAlert:
    """Add her answer to an alert's history; it never removes the alert. kind: of the step in the history."""

    alert_id: uuid.UUID
    note: str
    kind: str = "answer"


@dataclass(frozen=True, slots=True)
class ReachedNobody:
    """She has reached nobody about an alert: those who answer are told."""

    alert_id: uuid.UUID


@dataclass(frozen=True, slots=True)
class FileNote:
    """Keep what could not be read, for the therapist's digest."""

    text: str


@dataclass(frozen=True, slots=True)
class Wait:
    """What the conversation waits for next, None for nothing."""

    what: Mapping[str, str | int] | None


@dataclass(frozen=True, slots=True)
class GiveConsent:
    """She agreed to a version of the consent text, or took it back."""

    text_version: str
    given: bool


@dataclass(frozen=True, slots=True)
class SetStage:
    """How far she is now."""

    stage: Stage


@dataclass(frozen=True, slots=True)
class SetZone:
    """The time zone she lives in."""

    zone: str


@dataclass(frozen=True, slots=True)
class Postpone:
    """Ask again at an instant."""

    until: dt.datetime


@dataclass(frozen=True, slots=True)
class ChooseTimes:
    """Her own nudge times, in order, and the moments she ties them to ("" for none)."""

    times: tuple[dt.time, ...]
    cues: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChooseAmount:
    """How many unasked messages a day she wants, and whether only the evening question."""

    cap: int
    evening_only: bool


@dataclass(frozen=True, slots=True)
class AnswerOffer:
    """She takes maintenance, or declines it."""

    yes: bool


@dataclass(frozen=True, slots=True)
class AskCall:
    """She would like to be rung up; not urgent. `say` goes to her therapist in working hours."""

    say: Say


@dataclass(frozen=True, slots=True)
class SendAllKept:
    """She wants to see all that is kept of her."""


@dataclass(frozen=True, slots=True)
class EraseAll:
    """She wants all that is kept of her erased."""


@dataclass(frozen=True, slots=True)
class CallMade:
    """The therapist has rung a client up."""

    client_id: uuid.UUID


@dataclass(frozen=True, slots=True)
class Pause:
    """No nudges until a local day, or until somebody resumes (None)."""

    until: dt.date | None
    reason: str


@dataclass(frozen=True, slots=True)
class Resume:
    """The pause is over."""


@dataclass(frozen=True, slots=True)
class SawChange:
    """She has looked at the change of her plan she was told of."""


@dataclass(frozen=True, slots=True)
class AnswerTrial:
    """She tapped the button of the trial message; it is counted nowhere."""


@dataclass(frozen=True, slots=True)
class TakeButtons:
    """Take the buttons off a message of ours, so that an answered question cannot be answered again."""

    message_id: int


@dataclass(frozen=True, slots=True)
class Rewrite:
    """Change a message of ours in place: no notification comes of it."""

    message_id: int
    say: Say


@dataclass(frozen=True, slots=True)
class MarkSeen:
    """A therapist or fallback contact has seen an alert: its repeats stop."""

    alert_id: uuid.UUID


@dataclass(frozen=True, slots=True)
class CloseAlert:
    """An alert is closed with what came of it."""

    alert_id: uuid.UUID
    outcome: Outcome
    note: str


@dataclass(frozen=True, slots=True)
class ReopenAlert:
    """An alert was closed by mistake, or too soon."""

    alert_id: uuid.UUID


@dataclass(frozen=True, slots=True)
class NoteNotReached:
    """She could not be reached; the alert stays open."""

    alert_id: uuid.UUID


@dataclass(frozen=True, slots=True)
class ResumeClient:
    """The therapist starts a paused programme again; `note` says who reviewed her medically."""

    client_id: uuid.UUID
    note: str


@dataclass(frozen=True, slots=True)
class TellTherapist:
    """A message to the client's therapist, at once or when the clinic opens."""

    say: Say
    key: str
    in_hours: bool = False


@dataclass(frozen=True, slots=True)
class ReadNotes:
    """The therapist has opened these notes."""

    note_ids: tuple[uuid.UUID, ...]


@dataclass(frozen=True, slots=True)
class SendDigest:
    """Send the therapist her digest now."""


Effect = (
    BookSets
    | BookExtra
    | KeepSymptom
    | RaiseAlert
    | AddToAlert
    | ReachedNobody
    | FileNote
    | Wait
    | GiveConsent
    | SetStage
    | SetZone
    | Postpone
    | ChooseTimes
    | ChooseAmount
    | AnswerOffer
    | AskCall
    | SendAllKept
    | EraseAll
    | CallMade
    | Pause
    | Resume
    | AnswerTrial
    | SawChange
    | TakeButtons
    | Rewrite
    | MarkSeen
    | CloseAlert
    | ReopenAlert
    | NoteNotReached
    | ResumeClient
    | TellTherapist
    | ReadNotes
    | SendDigest
)


@dataclass(frozen=True, slots=True)
class Turn:
    """What one message leads to: effects, and what is said in return, in order."""

    effects: tuple[Effect, ...] = ()
    says: tuple[Say, ...] = ()

    def __add__(self, other: "Turn") -> "Turn":
        return Turn(self.effects + other.effects, self.says + other.says)


def say(copy: str, **values: str | int) -> Turn:
    """A turn that only says one sentence."""
    return Turn(says=(Say(copy, values),))
