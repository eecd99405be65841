"""Inline keyboards: read and checked as the platform checks them, and written back."""

from demo.room.shapes import Json, bad_request
from demo.room.state import Button, Keyboard

DATA_LIMIT_BYTES = 64  # Bot API, InlineKeyboardButton.callback_data: 1-64 bytes
BUTTON_LIMIT = 100  # from memory: more are refused


def read(raw: object) -> Keyboard:
    """The keyboard of a request's `reply_markup`; empty for none. Raises a 400 for what is not allowed."""
    if raw is None:
        return ()
    if not isinstance(raw, dict):
        raise bad_request("object expected as reply markup")
    if not raw:
        return ()
    rows = raw.get("inline_keyboard")
    if not isinstance(rows, list):
        raise bad_request("the local room knows inline keyboards only")
    keyboard = tuple(tuple(_button(item) for item in row) for row in rows if row)
    if sum(len(row) for row in keyboard) > BUTTON_LIMIT:
        raise bad_request("reply markup is too long")
    return keyboard


def _button(item: object) -> Button:
    if not isinstance(item, dict):
        raise bad_request("an inline keyboard button must be an object")
    text, data, url = str(item.get("text", "")), item.get("callback_data"), item.get("url")
    if not text.strip():
        raise bad_request("inline keyboard button text must be non-empty")
    if url is not None and data is None:
        return Button(text, url=str(url))
    if data is None:
        raise bad_request("text buttons are unallowed in the inline keyboard")
    if not 1 <= len(str(data).encode()) <= DATA_LIMIT_BYTES:
        raise bad_request("BUTTON_DATA_INVALID")
    return Button(text, data=str(data))


def write(keyboard: Keyboard) -> Json:
    """The keyboard as `reply_markup` shows it."""
    return {"inline_keyboard": [[_write_button(button) for button in row] for row in keyboard]}


def _write_button(button: Button) -> Json:
    if button.url is not None:
        return {"text": button.text, "url": button.url}
    return {"text": button.text, "callback_data": button.data}
