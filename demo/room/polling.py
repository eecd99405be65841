"""getUpdates: long polling, one poll at a time."""

import asyncio
from collections.abc import Callable

from demo.room.methods import Call
from demo.room.room import Room
from demo.room.shapes import Json, bad_request, conflict
from demo.room.webhook import Webhook

BATCH_LIMIT = 100  # Bot API, getUpdates
WAIT_LIMIT_S = 50  # longer waits are cut to this


class Polls:
    """Knows which poll is the newest one; an older one ends with 409."""

    def __init__(self, room: Room, webhook: Webhook) -> None:
        self._room = room
        self._webhook = webhook
        self._newest = 0

    def interrupt(self) -> None:
        """End the running poll with 409 (a webhook was set)."""
        self._newest += 1
        self._room.stir.ring()

    async def get_updates(self, call: Call, gone: Callable[[], bool]) -> list[Json]:
        """The waiting updates, at once or as soon as there are any.

        offset: confirms all below it; negative: keeps only that many of the newest. limit: 1-100.
        timeout: real seconds to wait, cut to 50. gone: says that the caller has hung up.
        Raises a 409 while a webhook is set and when a second poll takes over.
        """
        room, args = self._room, call.args
        if self._webhook.is_set:
            raise conflict(
                "can't use getUpdates method while webhook is active; use deleteWebhook to delete it first"
            )
        self._newest += 1
        mine = self._newest
        room.stir.ring()
        read_allowed(room, call)
        offset = args.whole("offset", 0) or 0
        if offset > 0:
            room.updates.confirm_below(offset)
        elif offset < 0:
            room.updates.keep_last(-offset)
        limit = min(max(args.whole("limit", BATCH_LIMIT) or BATCH_LIMIT, 1), BATCH_LIMIT)
        loop = asyncio.get_running_loop()
        until_s = loop.time() + min(args.whole("timeout", 0) or 0, WAIT_LIMIT_S)
        while not gone() and not room.closing:
            batch = room.updates.waiting(room.now())[:limit]
            if batch:
                if len(batch) > 1 and room.faults.take_for_updates("out-of-order"):
                    batch.reverse()
                call.notes["handed"] = len(batch)
                for pending in batch:
                    room.record_handed(pending, "poll")
                return [pending.wire() for pending in batch]
            if not await room.stir.wait(until_s - loop.time()):
                break
            if mine != self._newest:
                raise conflict(
                    "terminated by other getUpdates request; make sure that only one bot instance is running"
                )
        call.notes["handed"] = 0
        return []


def read_allowed(room: Room, call: Call) -> None:
    """Take over `allowed_updates`; left out keeps the previous list, an empty one means the default."""
    if not call.args.has("allowed_updates"):
        return
    wanted = call.args.json("allowed_updates")
    if not isinstance(wanted, list):
        raise bad_request("allowed_updates must be an array")
    room.updates.allow([str(kind) for kind in wanted])
