"""When she wants to be asked again, in her own words: "in 20 minutes", "at 4", "this evening"."""

import datetime as dt
import re

from bot.conversation.choosing import read_time
from bot.conversation.view import ClientView
from bot.domain import local_time

_IN = re.compile(
    r"\bin\s+(?:about\s+)?(?:(\d{1,3})|(an?|one)|(half an)|(a couple of|two)|(three))\s*"
    r"(min|mins|minute|minutes|m|h|hr|hrs|hour|hours)\b",
    re.IGNORECASE,
)
_AT = re.compile(r"\b(?:at|after|around)\s+(\d{1,2})\b(?!\s*[:.\d])", re.IGNORECASE)
_EVENING = re.compile(r"\b(?:tonight|this evening|in the evening)\b", re.IGNORECASE)
NOON = 12
LEAST = dt.timedelta(minutes=5)


def named(view: ClientView, text: str) -> dt.datetime | None:
    """The instant a text names, None where it names none; a bare hour is the next one that comes."""
    found = _IN.search(text)
    if found is not None:
        return max(view.now + LEAST, view.now + _span(found))
    if _EVENING.search(text) and view.in_force is not None:
        return local_time.instant(view.today, view.in_force.prescription.round_up_at, view.zone)
    wall, _ = read_time(text)
    if wall is not None:
        return local_time.instant(view.today, wall, view.zone)
    hour = _AT.search(text)
    return _next_hour(view, int(hour[1])) if hour is not None else None


def _span(found: re.Match[str]) -> dt.timedelta:
    figure, one, half, two, _, unit = found.groups()
    number = float(figure) if figure else 1 if one else 0.5 if half else 2 if two else 3
    hours = unit.casefold().startswith("h")
    return dt.timedelta(hours=number) if hours else dt.timedelta(minutes=number)


def _next_hour(view: ClientView, hour: int) -> dt.datetime | None:
    if not 1 <= hour <= NOON:
        return None
    instants = [
        local_time.instant(view.today, dt.time(hour % NOON + shift), view.zone) for shift in (0, NOON)
    ]
    return next((at for at in instants if at > view.now), None)
