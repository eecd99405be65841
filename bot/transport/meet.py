"""One question to the platform before anything starts: does it know the bot, and what time is it there."""

import datetime as dt
from dataclasses import dataclass
from email.utils import parsedate_to_datetime

import httpx

from bot.transport.bots import address

WITHIN_S = 10.0
TOKEN_REFUSED = (401, 404)


@dataclass(frozen=True, slots=True)
class Met:
    """What came of asking. fault: a line, None when all is well. at: the platform's own time, if it said."""

    name: str | None
    at: dt.datetime | None
    fault: str | None


async def meet(token: str, api_url: str) -> Met:
    """Ask once, without waiting for the platform to come back; no text of the answer shows the token."""
    try:
        async with httpx.AsyncClient(timeout=WITHIN_S) as client:
            answer = await client.get(f"{address(token, api_url)}/getMe")
    except httpx.HTTPError as error:
        return Met(None, None, f"BOT_API_URL: the platform cannot be reached ({type(error).__name__})")
    at = _told_at(answer)
    if answer.status_code in TOKEN_REFUSED:
        return Met(None, at, "BOT_TOKEN: the platform refuses it; expected the one it gave for this bot")
    try:
        name = str(answer.json()["result"]["username"])
    except (ValueError, KeyError, TypeError):
        return Met(None, at, f"BOT_API_URL: no bot platform answers there (status {answer.status_code})")
    return Met(name, at, None)


def _told_at(answer: httpx.Response) -> dt.datetime | None:
    try:
        return parsedate_to_datetime(answer.headers["date"]).astimezone(dt.UTC)
    except (KeyError, ValueError):
        return None
