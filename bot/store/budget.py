"""How many messages may go now: the bot's budget, a row in the database that all workers share."""

import datetime as dt
import math

from sqlalchemy import bindparam, func, or_, select, update

from bot.store import tables
from bot.store.base import Tx
from bot.store.types import Instant

_OUTBOX = tables.outbox.c
_CHAT = tables.chat.c
_BUDGET = tables.send_budget.c
# Built once, as they are asked all the time.
_BUDGET_OF = select(tables.send_budget).where(_BUDGET.bot == bindparam("of_bot")).with_for_update()
_HELD_UNTIL = select(_BUDGET.hold_until).where(_BUDGET.bot == bindparam("of_bot"))
_TAKEN_SINCE = (
    select(func.count())
    .select_from(tables.outbox)
    .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
    .where(
        _OUTBOX.taken_at > bindparam("since", type_=Instant),
        _CHAT.bot.concat("") == bindparam("of_bot"),  # looked up by id, never by bot
    )
)
_LAST_TAKEN_AT = select(func.max(_OUTBOX.taken_at))


def permits(
    tx: Tx, bot: str, rate: float, bulk_share: float, bulk: bool, wanted: int, now: dt.datetime
) -> int | None:
    """How many messages, up to `wanted`, may be taken now: the bot's budget, shared by all workers.

    rate: messages a second (1 and up). Nudges and digests may be at most `bulk_share` of them, and wait while
    everything together is that many: what somebody waits for always finds the rest free. The last second is
    counted, so that no second, wherever it begins, has more; what is taken without asking here counts too.
    The budget stays locked until the end of the transaction, in which the messages are to be taken. None
    while the platform has asked for a pause.
    """
    follow_clock_back(tx, bot, now)
    row = tx.connection.execute(_BUDGET_OF, {"of_bot": bot}).first()
    if row is None:
        tx.put_once(tables.send_budget, {"bot": bot}, "bot")
        row = tx.connection.execute(_BUDGET_OF, {"of_bot": bot}).one()
    if row.hold_until is not None and row.hold_until > now:
        return None
    return max(0, min(wanted, _left(tx, bot, rate * bulk_share if bulk else rate, now)))


def _left(tx: Tx, bot: str, rate: float, now: dt.datetime) -> int:
    """What a rate leaves in the second that ends now; longer where it allows less than one a second."""
    window_s = max(1.0, 1 / rate)
    values = {"since": now - dt.timedelta(seconds=window_s), "of_bot": bot}
    allowed = math.floor(rate * window_s + 1e-9)  # 0.8 * 30 are 24, whatever the machine makes of it
    return allowed - (tx.connection.scalar(_TAKEN_SINCE, values) or 0)


def follow_clock_back(tx: Tx, bot: str, now: dt.datetime) -> None:
    """What was taken before the clock was set back counts from now on, and not until that time comes again.

    A pause that the platform asked for moves with the clock. Less than a second ahead is another worker's
    clock, and is left alone.
    """
    last = tx.connection.scalar(_LAST_TAKEN_AT)
    soon = now + dt.timedelta(seconds=1)
    if last is None or last <= soon:
        return
    tx.connection.execute(update(tables.outbox).where(_OUTBOX.taken_at > soon).values(taken_at=now))
    held = held_until(tx, bot)
    if held is not None and held > now:
        moved = max(now, held - (last - now))
        tx.connection.execute(update(tables.send_budget).where(_BUDGET.bot == bot).values(hold_until=moved))


def held_until(tx: Tx, bot: str) -> dt.datetime | None:
    """Until when the platform asked this bot to send nothing, None if it never did."""
    until: dt.datetime | None = tx.connection.scalar(_HELD_UNTIL, {"of_bot": bot})
    return until


def hold(tx: Tx, bot: str, until: dt.datetime) -> None:
    """Send nothing for this bot until an instant: the platform asked for it. A longer pause stays."""
    tx.put_once(tables.send_budget, {"bot": bot}, "bot")
    shorter = or_(_BUDGET.hold_until.is_(None), _BUDGET.hold_until < until)
    statement = update(tables.send_budget).where(_BUDGET.bot == bot, shorter).values(hold_until=until)
    tx.connection.execute(statement)
