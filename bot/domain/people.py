"""Who takes part: clinic, staff, client, and the chat that links a person to the platform."""

import datetime as dt
import uuid
from dataclasses import dataclass
from enum import StrEnum

from bot.domain.contacts import ClinicCard, Hours


class Role(StrEnum):
    """What a linked chat may do. A stranger is anyone who has not opened an invite."""

    STRANGER = "stranger"
    CLIENT = "client"
    THERAPIST = "therapist"
    FALLBACK = "fallback"  # who gets the alerts that nobody has seen
    COLLEAGUE = "colleague"  # who has a duty only: on call, safeguarding, cover
    ADMINISTRATOR = "administrator"  # who looks after a clinic's people and facts, and sees no findings


class Stage(StrEnum):
    """How far a client is with the programme."""

    INVITED = "invited"
    CONSENTING = "consenting"
    SETTING_TIME = "setting_time"
    ACTIVE = "active"
    WITHDRAWN = "withdrawn"  # she left
    DISCHARGED = "discharged"  # her therapist closed the programme
    ERASED = "erased"  # only her code is left, and what the clinic has to keep locked


@dataclass(frozen=True, slots=True)
class Clinic:
    """A clinic with what a message may say of it.

    digest_day is a weekday (0 = Monday), digest_at a wall time in the clinic's zone. `labels` is what stands
    for a client in therapist's messages: "codes", or "initials" (initials and code).
    """

    id: uuid.UUID
    code: str
    card: ClinicCard
    country: str
    digest_day: int
    digest_at: dt.time
    labels: str


@dataclass(frozen=True, slots=True)
class Staff:
    """Somebody who works for the clinic.

    hours: when a therapist works, in the clinic's zone; None for the clinic's own hours. leaves_on: her last
    day at the clinic, None while none is set.
    """

    id: uuid.UUID
    clinic_id: uuid.UUID
    code: str
    role: Role
    name: str
    hours: Hours | None = None
    leaves_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Client:
    """A client; `code` is what therapist and clinic call her by."""

    id: uuid.UUID
    clinic_id: uuid.UUID
    therapist_id: uuid.UUID
    code: str
    initials: str | None
    zone: str
    language: str
    stage: Stage
    baby_at_home: bool

    def label(self, labels: str) -> str:
        """What stands for her in the therapist's messages, by the clinic's choice."""
        return f"{self.initials} {self.code}" if labels == "initials" and self.initials else self.code


@dataclass(frozen=True, slots=True)
class Chat:
    """A private chat on the platform. `user_id` is the platform's number of the person and of the chat.

    gone: nothing could be delivered there when it was last tried.
    """

    id: uuid.UUID
    role: Role
    owner_id: uuid.UUID | None
    user_id: int
    gone: bool = False


@dataclass(frozen=True, slots=True)
class Invite:
    """An invite as it stands; `closed` once used, withdrawn or tried too often."""

    id: uuid.UUID
    role: Role
    subject_id: uuid.UUID
    expires_at: dt.datetime
    tries: int
    closed: bool
