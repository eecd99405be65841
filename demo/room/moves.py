"""Moving the clock by a person's orders: to an instant, by some seconds, to the evening, a week on."""

import datetime as dt
from zoneinfo import ZoneInfo

from demo.room.args import Args
from demo.room.driver import SETTLE_REACH, Driver, DriverError
from demo.room.room import Room
from demo.room.shapes import Json, parse_instant

EVENING = dt.time(20, 0)
MORNING = dt.time(7, 0)
NEXT_CAP = dt.timedelta(days=7)
DEFAULT_ZONE = "Europe/Dublin"


class MoveError(Exception):
    """The clock cannot be moved so, or the bot did not come along; the text says why."""


class Moves:
    """Reads an order and has it carried out."""

    def __init__(self, room: Room, driver: Driver) -> None:
        self._room = room
        self._driver = driver

    async def move(self, args: Args) -> Json:
        """Carry out one order: `to` (ISO instant), `by_s`, `step`, or `stop` for the walk under way.

        step: "next" (what is planned, at most 7 days on), "evening" (the next 20:00), "tomorrow" (07:00 of
        the next day), "week" (7 days on, same wall time), all in `zone`. settle_s: how far past the target
        the clock may go for what is then nearly due; 90 for a step, 0 for `to` and `by_s`. without_bot:
        move in one jump and do not ask the bot, for a bot that is down on purpose. Raises MoveError.
        """
        if args.flag("stop"):
            self._driver.stop()
            return {"stopped": True}
        step = args.text("step")
        try:
            target_at = await self._target(args, step)
            if target_at is None:
                return {"moved": False, "why": "nothing is planned"}
            if self._driver.url is None or args.flag("without_bot"):
                self._room.move_clock(target_at)
            else:
                reach_s = SETTLE_REACH.total_seconds() if step else 0.0
                await self._driver.walk(target_at, float(args.text("settle_s") or reach_s))
        except (DriverError, ValueError, OverflowError, KeyError) as error:
            raise MoveError(str(error)) from error
        return {"moved": True}

    async def _target(self, args: Args, step: str) -> dt.datetime | None:
        now = self._room.now()
        if args.has("to"):
            return parse_instant(args.text("to"))
        if args.has("by_s"):
            return now + dt.timedelta(seconds=float(args.text("by_s")))
        local = now.astimezone(ZoneInfo(args.text("zone") or DEFAULT_ZONE))
        match step:
            case "next":
                return await self._planned(now)
            case "evening":
                return _at(local, EVENING, 0 if local.time() < EVENING else 1)
            case "tomorrow":
                return _at(local, MORNING, 1)
            case "week":
                return _at(local, local.time(), 7)
            case _:
                raise MoveError("Move the clock with `to`, `by_s`, or `step`: next, evening, tomorrow, week.")

    async def _planned(self, now: dt.datetime) -> dt.datetime | None:
        if self._driver.url is None:
            raise MoveError("No bot has registered, so nothing is known of what is planned.")
        planned_at = await self._driver.planned()
        return None if planned_at is None else min(planned_at, now + NEXT_CAP)


def _at(local: dt.datetime, wall: dt.time, days: int) -> dt.datetime:
    """That wall time so many local days on, as an instant; a missing or doubled time is read as its first."""
    day = local.date() + dt.timedelta(days=days)
    return dt.datetime.combine(day, wall.replace(fold=0, tzinfo=None), local.tzinfo).astimezone(dt.UTC)
