"""What happens to a message on its way out: who goes first, what is repeated, what is let go.

This is a promise to people, not a network detail: a nudge of unknown fate is not repeated, an alert is.
"""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never


class Kind(StrEnum):
    """The kinds of outgoing message."""

    ADVICE = "advice"  # safety advice to a client
    ALERT = "alert"  # a warning passed to the therapist or the fallback contact
    REPLY = "reply"  # the answer to something a person just said or pressed
    TOUCH = "touch"  # small acts on the chat: stop a button's spinner, take old buttons away
    NUDGE = "nudge"  # every unasked message to a client
    DIGEST = "digest"


@dataclass(frozen=True, slots=True)
class Policy:
    """How a kind is treated.

    priority: 0 goes first. again_when_unknown: send once more when nobody can know whether it arrived.
    spaced: keeps the pause between two messages to one chat. bulk: counts against the smaller share of the
    send rate that nudges and digests may use together. lifetime: not sent later than this after it was put,
    None for never too late. attempts: how often at most it is tried when the platform is unwell.
    """

    priority: int
    again_when_unknown: bool
    spaced: bool
    bulk: bool
    lifetime: dt.timedelta | None
    attempts: int


POLICIES = {
    Kind.ADVICE: Policy(0, True, False, False, None, 50),
    Kind.ALERT: Policy(1, True, False, False, None, 50),
    Kind.REPLY: Policy(2, True, True, False, dt.timedelta(hours=24), 12),
    Kind.TOUCH: Policy(3, False, False, False, dt.timedelta(minutes=2), 3),
    Kind.NUDGE: Policy(4, False, True, True, dt.timedelta(hours=3), 8),
    Kind.DIGEST: Policy(5, True, True, True, dt.timedelta(days=2), 30),
}

CHAT_SPACING = dt.timedelta(seconds=1)  # the platform's own figure for one chat
FIRST_PAUSE_S = 2
LONGEST_PAUSE_S = 300


@dataclass(frozen=True, slots=True)
class Sent:
    """The platform took it; `message_id` is its number in the chat, None where the method gives none."""

    message_id: int | None


@dataclass(frozen=True, slots=True)
class RetryAfter:
    """The platform asked for a pause of `seconds`."""

    seconds: float


@dataclass(frozen=True, slots=True)
class NotSent:
    """It surely did not leave (no connection); trying again is safe."""

    reason: str


@dataclass(frozen=True, slots=True)
class Refused:
    """The platform said no. `gone`: the person blocked the bot or left, so every later message fails too."""

    reason: str
    gone: bool


@dataclass(frozen=True, slots=True)
class Unknown:
    """It left and no answer came back; nobody can find out whether it arrived."""

    reason: str


Result = Sent | RetryAfter | NotSent | Refused | Unknown


class State(StrEnum):
    """Where a message stands."""

    QUEUED = "queued"
    SENDING = "sending"
    SENT = "sent"
    REFUSED = "refused"
    UNKNOWN = "unknown"
    EXPIRED = "expired"


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of a message: its state, and when to try again if it is queued once more."""

    state: State
    not_before: dt.datetime | None = None


def pause(attempt: int) -> dt.timedelta:
    """How long to wait after the `attempt`-th failed try (1 and up): doubling, at most five minutes."""
    return dt.timedelta(seconds=min(LONGEST_PAUSE_S, FIRST_PAUSE_S * 2 ** min(attempt - 1, 16)))


def fate(kind: Kind, attempt: int, result: Result, now: dt.datetime, jitter: float = 0.0) -> Fate:
    """What a result means for a message of this kind after its `attempt`-th try.

    jitter: a share of the pause, 0 to 1, on top of it, so that not all that failed comes again at once.
    """
    policy = POLICIES[kind]
    later = now + pause(attempt) * (1 + jitter)
    again = Fate(State.QUEUED, later) if attempt < policy.attempts else Fate(State.REFUSED)
    match result:
        case Sent():
            return Fate(State.SENT)
        case RetryAfter(seconds=seconds):
            # A pause the platform asks for is not a failed try of ours, so it never exhausts the attempts.
            return Fate(State.QUEUED, now + dt.timedelta(seconds=seconds))
        case NotSent():
            return again
        case Refused():
            return Fate(State.REFUSED)
        case Unknown():
            return again if policy.again_when_unknown else Fate(State.UNKNOWN)
    assert_never(result)
