"""The outbox's back door: what to send now, and what became of it."""

import datetime as dt
import random
import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from bot.conversation import copy, speech
from bot.domain import delivery
from bot.domain.delivery import POLICIES, Fate, Kind, Refused, Result, RetryAfter, Sent, State, Unknown
from bot.domain.people import Role
from bot.logs import get
from bot.rules.discretion import is_sensitive
from bot.service import alerts, post
from bot.service.office import Office
from bot.store import budget, outbox
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


@dataclass(frozen=True, slots=True)
class Ended:
    """A message that was handed out, and what became of it."""

    sent: Outgoing
    result: Result


def take(office: Office, kinds: Sequence[Kind], rate: float) -> list[Outgoing]:
    """Mark messages as `sending` and hand them out, most urgent first, within the bot's send rate."""
    return turn_over(office, (), kinds, rate)


def turn_over(office: Office, ended: Sequence[Ended], kinds: Sequence[Kind], rate: float) -> list[Outgoing]:
    """Write down what became of some messages and take the next ones, in one commit."""
    now = office.clock.now()
    with office.begin() as tx:
        _settle(tx, office, ended, now)
        taken = _take(tx, office, kinds, rate, now)
    _tell(ended, now)
    return [_outgoing(message) for message in taken]


def _take(tx: Tx, office: Office, kinds: Sequence[Kind], rate: float, now: dt.datetime) -> list[Taken]:
    if not outbox.any_sendable(tx, office.bot, kinds, now):
        return []
    bulk = all(POLICIES[kind].bulk for kind in kinds)
    permits = budget.permits(tx, office.bot, rate, BULK_SHARE, bulk, MOST_AT_ONCE, now)
    if permits is None:
        return []
    # What may save somebody waits for no rate, only for a pause that the platform asked for.
    pressing = [kind for kind in kinds if not POLICIES[kind].spaced and POLICIES[kind].again_when_unknown]
    taken = outbox.take(tx, office.bot, office.worker, pressing, MOST_AT_ONCE, now) if pressing else []
    left = permits - len(taken)
    if left > 0:
        taken += outbox.take(tx, office.bot, office.worker, kinds, left, now)
    return taken


def _outgoing(taken: Taken) -> Outgoing:
    content: dict[str, Any] = taken.content
    finished = speech.Finished("", ())
    language = content.get("language", copy.FALLBACK)
    if "copy" in content:
        finished = speech.finish(content, language)
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
        keep_private=_is_private(content, finished),
        message_id=content.get("message_id"),
        press_id=content.get("press_id", ""),
        commands=tuple((name, copy.text(language, sentence, {})) for name, sentence in menu.items()),
        picture=taken.picture,
        file_name=content.get("file_name", ""),
    )


def _is_private(content: dict[str, Any], finished: speech.Finished) -> bool:
    """Whether the platform is asked to stop forwarding and saving.

    Beside what is marked so: whatever holds a health word, and what has buttons, since it may be changed in
    place into something that does, and the protection of a message cannot be changed later (Bot API,
    editMessageText: from memory).
    """
    return bool(content.get("keep_private") or finished.rows or is_sensitive(finished.text))


def settle(office: Office, ended: Sequence[Ended]) -> None:
    """Write down what became of messages, and act on it where a person has to know."""
    now = office.clock.now()
    with office.begin() as tx:
        _settle(tx, office, ended, now)
    _tell(ended, now)


def _settle(tx: Tx, office: Office, ended: Sequence[Ended], now: dt.datetime) -> None:
    arrived = []
    for one in ended:
        sent, result = one.sent, one.result
        if isinstance(result, Sent) and sent.kind is not Kind.ALERT:
            arrived.append((sent.id, result.message_id))
            continue
        fate = _fate(one, now)
        message_id = result.message_id if isinstance(result, Sent) else None
        reason = getattr(result, "reason", None)
        settled = outbox.settle(tx, sent.id, office.worker, fate, now, message_id, reason)
        if isinstance(result, RetryAfter):
            budget.hold(tx, office.bot, now + dt.timedelta(seconds=result.seconds))
        if settled and isinstance(result, Refused):
            _refused(tx, sent, result, now)
        elif settled and sent.kind is Kind.ALERT and fate.state in {State.SENT, State.REFUSED}:
            _alert_landed(tx, sent, fate.state, now)
    if arrived:
        outbox.settle_sent(tx, office.worker, arrived, now)


def _fate(one: Ended, now: dt.datetime) -> Fate:
    return delivery.fate(one.sent.kind, one.sent.attempt, one.result, now, random.random() / 2)  # noqa: S311 - no secret


def _tell(ended: Sequence[Ended], now: dt.datetime) -> None:
    for one in ended:
        if not isinstance(one.result, Sent):
            state = _fate(one, now).state
            log.warning("not_sent", message=str(one.sent.id), kind=one.sent.kind.value, state=state.value)


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


def sweep(office: Office, in_hand: Collection[uuid.UUID] = ()) -> int:
    """Let late messages go, and decide on those whose sender died; tells how many were dealt with.

    in_hand: what this process is sending; its leases are prolonged. A nudge of unknown fate is not repeated,
    an alert is, at once. With one writer on the database, whatever another worker was sending is stranded at
    once.
    """
    now = office.clock.now()
    with office.begin() as tx:
        outbox.follow_clock_back(tx, office.bot, now)
        if in_hand:
            outbox.prolong(tx, office.worker, in_hand, now)
        dealt = outbox.expire(tx, office.bot, now)
        for lost in outbox.stranded(tx, office.bot, now, office.worker if office.alone else None):
            fate = delivery.fate(lost.kind, lost.attempt, Unknown("sender stopped"), now)
            if fate.state is State.QUEUED:
                fate = Fate(State.QUEUED, now)
            outbox.settle(tx, lost.id, lost.worker, fate, now, reason="sender stopped")
            log.warning("stranded", message=str(lost.id), kind=lost.kind.value, state=fate.state.value)
            dealt += 1
    return dealt
