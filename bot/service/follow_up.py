"""What a client hears of her own warning later on: did she reach someone, whom to ring if nobody decides."""

import datetime as dt

from bot.conversation import safety
from bot.conversation.view import card_values
from bot.domain.alerts import ORDINARY, Alert
from bot.domain.people import Stage
from bot.service import post
from bot.store import alerts, people
from bot.store.base import Tx


def write(tx: Tx, alert: Alert, now: dt.datetime) -> None:
    """Write to her once, unless the handling forbids it or she has left; the history keeps that."""
    alerts.change(tx, alert.id, client_at=None)
    client = people.client_by_id(tx, alert.client_id)
    if alert.handling != ORDINARY or client.stage is not Stage.ACTIVE:
        return
    card = people.clinic_by_id(tx, client.clinic_id).card
    say = safety.follow_up(alert, card_values(card, now))
    if post.put_for_owner(tx, client.id, say, f"follow:{alert.id.hex}", now):
        alerts.add_event(tx, alert, "asked_her" if say.rows else "told_her", now)
