"""A client is told of a new version of her plan, once."""

import datetime as dt

from bot.conversation import copy, plan_words
from bot.domain import local_time
from bot.domain.changes import changes
from bot.domain.people import Client, Stage
from bot.domain.prescription import InForce
from bot.domain.track import What
from bot.service import post, unasked
from bot.service.programme import versions_of
from bot.store import diary, notices, unasked_log
from bot.store.base import Tx
from bot.store.unasked_log import UnaskedRow


def announce(tx: Tx, client: Client, version: int, why: str, now: dt.datetime) -> None:
    """Tell a client who takes part of her new version; `why` is a sentence, "" for the usual one."""
    if client.stage is Stage.ACTIVE:
        notices.add(tx, client.id, version, why, now)
        tell_waiting(tx, client, now)


def tell_waiting(tx: Tx, client: Client, now: dt.datetime) -> None:
    """Put the message about the newest change she has not been told of, if there is one.

    It is unasked, so it counts among the day's messages and keeps to her quiet hours and pauses; while her
    programme is stopped it waits until it is resumed.
    """
    track, notice = diary.track_of(tx, client.id), notices.untold(tx, client.id)
    if track is None or notice is None or (track.pause_reason is not None and track.paused_until is None):
        return
    versions = versions_of(tx, [client.id]).get(client.id, ())
    new = next(one for one in versions if one.version == notice.version)
    at = unasked.next_moment(tx, client, new.prescription, track, now)
    on = local_time.day_in(client.zone, at)
    if not unasked_log.add(tx, client.id, UnaskedRow(What.CHANGE.value, on, notice.version, at)):
        return
    before = _version_before(versions, new)
    found = changes(before.prescription, new.prescription) if before else ()
    why = notice.why or copy.text(client.language, "plan.why.looked", {})
    say = plan_words.told_of(new, found, why, on, client.language)
    key = f"change:{client.id.hex}:{notice.version}"
    if post.put_for_owner(tx, client.id, say, key, now, at if at > now else None):
        notices.told(tx, notice, at)


def _version_before(versions: tuple[InForce, ...], new: InForce) -> InForce | None:
    earlier = [one for one in versions if one.version < new.version]
    return max(earlier, key=lambda one: one.prescription.starts_on, default=None)
