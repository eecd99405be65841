"""The outbox's back door: what to send now, and what became of it."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bot.conversation import copy, speech
from bot.domain import delivery
from bot.domain.delivery import POLICIES, Kind, Refused, Result, RetryAfter, Sent, State, Unknown
from bot.domain.people import Role
from bot.logs import get
from bot.service import alerts, post
from bot.service.office import Office
from bot.store import outbox
from bot.store.base import Tx
from bot.store.outbox import Taken

URGENT = (Kind.ADVICE, Kind.ALERT, Kind.REPLY, Kind.TOUCH)
BULK = (Kind.NUDGE, Kind.DIGEST)
MOST_AT_ONCE = 10  # a kill leaves at most one such batch of unknown fate
BULK_SHARE = 0.8  # nudges and digests together: 24 of 30 a second
log = get()


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A message ready for the platform.

    method: text, photo, document, edit, clear (take buttons away), answer (a press) or menu. `rows` are the
    buttons as (label, data). picture: the bytes of a photo or of the document `file_name`. message_id and
    press_id are what edit, clear and answer act on.
    """

    id: uuid.UUID
    kind: Kind
    attempt: int
    chat: int
    method: str
    text: str
    rows: tuple[tuple[tuple[str, str], ...], ...]
    silent: bool
    keep_private: bool
    message_id: int | None
    press_id: str
    commands: tuple[tuple[str, str], ...]
    picture: bytes | None
    file_name: str = ""


def take(office: Office, kinds: Sequence[Kind], rate: float) -> list[Outgoing]:
    """Mark messages as `sending` and hand them out, most urgent first, within the bot's send rate."""
    now = office.clock.now()
    bulk = all(POLICIES[kind].bulk for kind in kinds)
    with office.begin() as tx:
        if not outbox.any_sendable(tx, kinds, now):
            return []
        permits = outbox.permits(tx, office.bot, rate, BULK_SHARE, bulk, MOST_AT_ONCE, now)
        taken = outbox.take(tx, office.worker, kinds, permits, now) if permits else []
    return [_outgoing(message) for message in taken]


def _outgoing(taken: Taken) -> Outgoing:
    content: dict[str, Any] = taken.content
    finished = speech.Finished("", ())
    if "copy" in content:
        finished = speech.finish(content, content.get("language", copy.FALLBACK))
    menu = content.get("commands", {})
    return Outgoing(
        id=taken.id,
        kind=taken.kind,
        attempt=taken.attempt,
        chat=taken.user_id,
        method=content["method"],
        text=finished.text,
        rows=finished.rows,
        silent=bool(content.get("silent")),
        keep_private=bool(content.get("keep_private")),
        message_id=content.get("message_id"),
        press_id=content.get("press_id", ""),
        commands=tuple((name, copy.text(copy.FALLBACK, sentence, {})) for name, sentence in menu.items()),
        picture=taken.picture,
        file_name=content.get("file_name", ""),
    )


def settle(office: Office, sent: Outgoing, result: Result) -> None:
    """Write down what became of a message, and act on it where a person has to know."""
    now = office.clock.now()
    fate = delivery.fate(sent.kind, sent.attempt, result, now)
    message_id = result.message_id if isinstance(result, Sent) else None
    with office.begin() as tx:
        settled = outbox.settle(
            tx, sent.id, office.worker, fate, now, message_id, getattr(result, "reason", None)
        )
        if isinstance(result, RetryAfter):
            outbox.hold(tx, office.bot, now + dt.timedelta(seconds=result.seconds))
        if settled and isinstance(result, Refused):
            _refused(tx, sent, result, now)
        elif settled and sent.kind is Kind.ALERT and fate.state in {State.SENT, State.REFUSED}:
            _alert_landed(tx, sent, fate.state, now)
    if not isinstance(result, Sent):
        log.warning("not_sent", message=str(sent.id), kind=sent.kind.value, state=fate.state.value)


def _refused(tx: Tx, sent: Outgoing, result: Refused, now: dt.datetime) -> None:
    """A person who cannot be reached: her therapist is told once; an alert goes to the fallback contact."""
    row = outbox.recipient(tx, sent.id)
    if result.gone:
        post.lose(tx, row.chat_id, row.role, row.owner_id, now)
    if sent.kind is Kind.ALERT:
        _alert_landed(tx, sent, State.REFUSED, now)


def _alert_landed(tx: Tx, sent: Outgoing, state: State, now: dt.datetime) -> None:
    """An alert reached somebody's chat, or never will."""
    row = outbox.recipient(tx, sent.id)
    alert_id = uuid.UUID(hex=row.key.split(":")[1])
    if state is State.SENT:
        alerts.arrived(tx, alert_id, now)
    elif row.owner_id is not None and row.role is not Role.CLIENT:
        alerts.refused(tx, alert_id, row.owner_id, now)


def sweep(office: Office) -> int:
    """Let late messages go, and decide on those whose sender died; tells how many were dealt with.

    A nudge of unknown fate is not repeated, an alert is. With one writer on the database, whatever another
    worker was sending is stranded at once.
    """
    now = office.clock.now()
    with office.begin() as tx:
        dealt = outbox.expire(tx, now)
        for lost in outbox.stranded(tx, now, office.worker if office.alone else None):
            fate = delivery.fate(lost.kind, lost.attempt, Unknown("sender stopped"), now)
            outbox.settle(tx, lost.id, lost.worker, fate, now, reason="sender stopped")
            log.warning("stranded", message=str(lost.id), kind=lost.kind.value, state=fate.state.value)
            dealt += 1
    return dealt
