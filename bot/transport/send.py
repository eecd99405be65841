"""Sending one message through the platform's library, and telling what became of it in five words."""

import asyncio
import functools

from telegram import (
    Bot,
    BotCommand,
    BotCommandScopeChat,
    InlineKeyboardButton,
    InlineKeyboardMarkup,
    LinkPreviewOptions,
    Message,
)
from telegram.error import BadRequest, ChatMigrated, Forbidden, NetworkError, TelegramError
from telegram.error import RetryAfter as PlatformRetryAfter

from bot.domain.delivery import NotSent, Refused, Result, RetryAfter, Sent, Unknown
from bot.service.deliver import Outgoing
from bot.transport.bots import asked_pause_s, dead_token, token_is_dead
from bot.transport.line import NEVER_LEFT

WITHIN_S = 50.0  # all in all; meanwhile its worker prolongs the lease
SAME_CONTENT = "message is not modified"
NOBODY_THERE = ("chat not found", "user not found", "peer_id_invalid", "user is deactivated")
NO_PREVIEW = LinkPreviewOptions(is_disabled=True)
TEXT_UNITS = 4096  # Bot API, sendMessage and sendPhoto; counted in UTF-16 units, the stricter reading
CAPTION_UNITS = 1024
MARK = "\n[…]"


async def send(bot: Bot, out: Outgoing, within_s: float = WITHIN_S) -> Result:
    """Send a message; never raises for what the platform or the network does, but for a dead token."""
    try:
        async with asyncio.timeout(within_s):
            message = await _call(bot, out)
    except TelegramError as error:
        return classify(error)
    except TimeoutError:
        return Unknown("TimeoutError")
    return Sent(message.message_id if isinstance(message, Message) else None)


async def _call(bot: Bot, out: Outgoing) -> object:
    markup = _markup(out.rows)
    match out.method:
        case "text":
            return await bot.send_message(
                out.chat,
                fitted(out.text, TEXT_UNITS),
                reply_markup=markup,
                disable_notification=out.silent,
                protect_content=out.keep_private,
                link_preview_options=NO_PREVIEW,
            )
        case "photo":
            return await bot.send_photo(
                out.chat,
                out.picture or b"",
                caption=fitted(out.text, CAPTION_UNITS),
                filename="week.png",
                reply_markup=markup,
                disable_notification=out.silent,
                protect_content=out.keep_private,
            )
        case "document":
            return await bot.send_document(
                out.chat,
                out.picture or b"",
                caption=fitted(out.text, CAPTION_UNITS),
                filename=out.file_name,
                disable_notification=out.silent,
                protect_content=out.keep_private,
            )
        case "edit":
            return await bot.edit_message_text(
                fitted(out.text, TEXT_UNITS),
                chat_id=out.chat,
                message_id=out.message_id,
                reply_markup=markup,
                link_preview_options=NO_PREVIEW,
            )
        case "clear":
            return await bot.edit_message_reply_markup(chat_id=out.chat, message_id=out.message_id)
        case "answer":
            return await bot.answer_callback_query(out.press_id)
        case "menu":
            commands = [BotCommand(name, text) for name, text in out.commands]
            return await bot.set_my_commands(commands, scope=BotCommandScopeChat(out.chat))
        case _:
            raise ValueError(f"{out.method}: not a way to send a message")


@functools.lru_cache(maxsize=64)  # a morning's nudges have the same buttons
def _markup(rows: tuple[tuple[tuple[str, str], ...], ...]) -> InlineKeyboardMarkup | None:
    if not rows:
        return None
    return InlineKeyboardMarkup(
        [[InlineKeyboardButton(label, callback_data=data) for label, data in row] for row in rows],
    )


def fitted(text: str, limit_units: int) -> str:
    """A text the platform takes: one that is too long ends after a whole line, with a mark.

    A message that is refused for its length would be refused for ever. The most important stands first in
    all we send. Cut after a line, else after a word, unless that would leave less than half.
    """
    if len(text) * 2 <= limit_units or _units(text) <= limit_units:
        return text
    room = limit_units - _units(MARK)
    # Half a character at the cut goes with the rest.
    head = text.encode("utf-16-le", "surrogatepass")[: 2 * room].decode("utf-16-le", "ignore")
    ends = (head.rfind(stop) for stop in ("\n", " "))
    end = next((end for end in ends if end >= len(head) // 2), len(head))
    return head[:end].rstrip() + MARK


def _units(text: str) -> int:
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def classify(error: TelegramError) -> Result:
    """What an error of the library means, narrowest first, then by what caused it.

    BadRequest and TimedOut are both network errors to the library, so the class alone tells too little: a
    connection that was never made is safe to repeat, an answer that never came leaves everybody in the dark.
    Raises DeadTokenError when the platform refuses the token.
    """
    said = str(error).lower()
    if isinstance(error, PlatformRetryAfter):
        return RetryAfter(asked_pause_s(error))
    if token_is_dead(error):
        raise dead_token() from None
    if isinstance(error, Forbidden | ChatMigrated):
        return Refused("forbidden", gone=True)
    if isinstance(error, BadRequest):
        if SAME_CONTENT in said:
            return Sent(None)
        return Refused("bad request", gone=any(sign in said for sign in NOBODY_THERE))
    if isinstance(error, NetworkError) and isinstance(error.__cause__, NEVER_LEFT):
        return NotSent(type(error.__cause__).__name__)
    return Unknown(type(error.__cause__ or error).__name__)
