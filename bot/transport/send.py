"""Sending one message through the platform's library, and telling what became of it in five words."""

import datetime as dt
from typing import Protocol

import httpx
from telegram import (
    Bot,
    BotCommand,
    BotCommandScopeChat,
    InlineKeyboardButton,
    InlineKeyboardMarkup,
    LinkPreviewOptions,
    Message,
)
from telegram.error import (
    BadRequest,
    Forbidden,
    InvalidToken,
    NetworkError,
    TelegramError,
)
from telegram.error import (
    RetryAfter as PlatformRetryAfter,
)

from bot.domain.delivery import NotSent, Refused, Result, RetryAfter, Sent, Unknown
from bot.errors import DeadTokenError

NEVER_LEFT = (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout)
SAME_CONTENT = "message is not modified"
NOBODY_THERE = ("chat not found", "user not found", "peer_id_invalid", "user is deactivated")
NO_PREVIEW = LinkPreviewOptions(is_disabled=True)


class Outgoing(Protocol):
    """What the sender reads of a message."""

    @property
    def chat(self) -> int:
        """The platform's number of the chat."""

    @property
    def method(self) -> str:
        """text, photo, edit, clear, answer or menu."""

    @property
    def text(self) -> str:
        """The text, or a picture's caption."""

    @property
    def rows(self) -> tuple[tuple[tuple[str, str], ...], ...]:
        """Buttons as (label, data)."""

    @property
    def silent(self) -> bool:
        """Whether it arrives without a sound."""

    @property
    def keep_private(self) -> bool:
        """Whether forwarding and saving are to be stopped."""

    @property
    def message_id(self) -> int | None:
        """The message that edit and clear act on."""

    @property
    def press_id(self) -> str:
        """The press that answer acts on."""

    @property
    def commands(self) -> tuple[tuple[str, str], ...]:
        """The menu: command and what it does."""

    @property
    def picture(self) -> bytes | None:
        """PNG bytes."""


async def send(bot: Bot, out: Outgoing) -> Result:
    """Send a message; never raises for what the platform or the network does, but for a dead token."""
    try:
        message = await _call(bot, out)
    except TelegramError as error:
        return classify(error)
    return Sent(message.message_id if isinstance(message, Message) else None)


async def _call(bot: Bot, out: Outgoing) -> object:
    markup = _markup(out.rows)
    match out.method:
        case "text":
            return await bot.send_message(
                out.chat,
                out.text,
                reply_markup=markup,
                disable_notification=out.silent,
                protect_content=out.keep_private,
                link_preview_options=NO_PREVIEW,
            )
        case "photo":
            return await bot.send_photo(
                out.chat,
                out.picture or b"",
                caption=out.text,
                filename="week.png",
                reply_markup=markup,
                disable_notification=out.silent,
                protect_content=out.keep_private,
            )
        case "edit":
            return await bot.edit_message_text(
                out.text,
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


def _markup(rows: tuple[tuple[tuple[str, str], ...], ...]) -> InlineKeyboardMarkup | None:
    if not rows:
        return None
    return InlineKeyboardMarkup(
        [[InlineKeyboardButton(label, callback_data=data) for label, data in row] for row in rows],
    )


def classify(error: TelegramError) -> Result:
    """What an error of the library means, narrowest first, then by what caused it.

    BadRequest and TimedOut are both network errors to the library, so the class alone tells too little: a
    connection that was never made is safe to repeat, an answer that never came leaves everybody in the dark.
    Raises DeadTokenError when the platform refuses the token.
    """
    said = str(error).lower()
    if isinstance(error, PlatformRetryAfter):
        pause = error.retry_after
        return RetryAfter(pause.total_seconds() if isinstance(pause, dt.timedelta) else float(pause))
    if isinstance(error, InvalidToken):
        raise DeadTokenError("BOT_TOKEN: the platform refuses it; get a new one and start again") from error
    if isinstance(error, Forbidden):
        return Refused("forbidden", gone=True)
    if isinstance(error, BadRequest):
        if SAME_CONTENT in said:
            return Sent(None)
        return Refused("bad request", gone=any(sign in said for sign in NOBODY_THERE))
    if isinstance(error, NetworkError) and isinstance(error.__cause__, NEVER_LEFT):
        return NotSent(type(error.__cause__).__name__)
    return Unknown(type(error.__cause__ or error).__name__)
