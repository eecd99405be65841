"""The list of commands a bot shows in its menu: kept by scope and language, found for a person."""

import json
import re

from demo.room.shapes import Json, bad_request
from demo.room.state import Person

COMMAND_LIMIT = 100  # Bot API, setMyCommands
DESCRIPTION_LIMIT = 256  # Bot API, BotCommand
_NAME = re.compile(r"[a-z0-9_]{1,32}")  # Bot API, BotCommand
_PLAIN_SCOPES = ("default", "all_private_chats", "all_group_chats", "all_chat_administrators")
_CHAT_SCOPES = ("chat", "chat_administrators", "chat_member")


class Commands:
    """Lists by (scope, two-letter language or "")."""

    def __init__(self) -> None:
        self._lists: dict[tuple[str, str], list[Json]] = {}

    def set(self, raw: object, scope: Json, language: str) -> None:
        """Replace one list. Raises a 400 for what the platform would refuse."""
        if not isinstance(raw, list):
            raise bad_request("commands must be an array")
        if len(raw) > COMMAND_LIMIT:
            raise bad_request("too many commands specified")
        self._lists[_scope_key(scope), _language(language)] = [_command(item) for item in raw]

    def delete(self, scope: Json, language: str) -> None:
        """Forget one list; nothing happens if there is none."""
        self._lists.pop((_scope_key(scope), _language(language)), None)

    def get(self, scope: Json, language: str) -> list[Json]:
        """Exactly this list, empty if it was never set."""
        return self._lists.get((_scope_key(scope), _language(language)), [])

    def shown_to(self, person: Person) -> list[Json]:
        """What the person's menu shows in the private chat: narrowest scope first, own language first."""
        language = (person.language_code or "").split("-")[0].lower()
        for scope in (_scope_key({"type": "chat", "chat_id": person.id}), "all_private_chats", "default"):
            for code in (language, ""):
                if found := self._lists.get((scope, code)):
                    return found
        return []


def _command(item: object) -> Json:
    name, description = (
        (str(item.get("command", "")), str(item.get("description", "")))
        if isinstance(item, dict)
        else ("", "")
    )
    if not _NAME.fullmatch(name):
        raise bad_request("BOT_COMMAND_INVALID")
    if not 1 <= len(description) <= DESCRIPTION_LIMIT:
        raise bad_request("BOT_COMMAND_DESCRIPTION_INVALID")
    return {"command": name, "description": description}


def _scope_key(scope: Json) -> str:
    kind = str(scope.get("type", "default"))
    if kind in _PLAIN_SCOPES:
        return kind
    if kind in _CHAT_SCOPES:
        rest = {name: int(str(scope[name])) for name in ("chat_id", "user_id") if name in scope}
        return f"{kind} {json.dumps(rest)}"
    raise bad_request("unsupported bot command scope type")


def _language(code: str) -> str:
    if code and not re.fullmatch(r"[a-z]{2}", code):
        raise bad_request("invalid language code specified")
    return code
