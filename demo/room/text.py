"""Text as the platform counts and reads it: UTF-16 units, a small HTML, command entities."""

import html
import re
from dataclasses import dataclass, replace

from demo.room.shapes import Json, bad_request

TEXT_LIMIT_UNITS = 4096  # Bot API, sendMessage: after entity parsing
CAPTION_LIMIT_UNITS = 1024  # Bot API, sendPhoto and sendDocument: after entity parsing
PREVIEW_CHARACTERS = 160  # about what a lock screen shows

_TAGS = {
    "b": "bold",
    "strong": "bold",
    "i": "italic",
    "em": "italic",
    "u": "underline",
    "ins": "underline",
    "s": "strikethrough",
    "del": "strikethrough",
    "code": "code",
    "pre": "pre",
    "a": "text_link",
    "blockquote": "blockquote",
    "tg-spoiler": "spoiler",
}
_PIECE = re.compile(r"<(?P<close>/?)(?P<tag>[^\s<>/]*)(?P<rest>[^<>]*)>|(?P<text>[^<]+)|(?P<stray><)")
_HREF = re.compile(r"""\shref\s*=\s*["']([^"']*)["']""")
_COMMAND = re.compile(r"(?:^|(?<=\s))/[A-Za-z0-9_]{1,32}(?:@\w+)?")


@dataclass(frozen=True)
class Entity:
    """A marked stretch of a text; offset and length in UTF-16 units."""

    kind: str
    offset: int
    length: int
    url: str = ""

    def wire(self) -> Json:
        """The entity as the platform writes it."""
        shape: Json = {"type": self.kind, "offset": self.offset, "length": self.length}
        return {**shape, "url": self.url} if self.url else shape


def utf16_units(text: str) -> int:
    """Length as the platform counts it: a character outside the first plane counts twice."""
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def parse(text: str, parse_mode: str | None) -> tuple[str, list[Entity]]:
    """Plain text and its entities. Trailing white space goes, as on the platform.

    Raises a 400 for HTML that cannot be read and for a mode the room does not know; it knows HTML only.
    """
    if not parse_mode:
        return text.rstrip(), []
    if parse_mode.lower() != "html":
        raise bad_request("unsupported parse_mode")
    plain, entities = _parse_html(text)
    kept = plain.rstrip()
    return kept, _clip(entities, utf16_units(kept))


def _parse_html(text: str) -> tuple[str, list[Entity]]:
    plain: list[str] = []
    units = 0
    entities: list[Entity] = []
    open_tags: list[tuple[str, int, str]] = []
    for piece in _PIECE.finditer(text):
        if piece["text"] is not None:
            shown = html.unescape(piece["text"])
            plain.append(shown)
            units += utf16_units(shown)
            continue
        tag = (piece["tag"] or "").lower()
        at = len(text[: piece.start()].encode())
        if tag not in _TAGS:
            raise bad_request(f'can\'t parse entities: Unsupported start tag "{tag}" at byte offset {at}')
        if not piece["close"]:
            open_tags.append((tag, units, piece["rest"]))
            continue
        if not open_tags or open_tags[-1][0] != tag:
            raise bad_request(f'can\'t parse entities: Unexpected end tag "{tag}" at byte offset {at}')
        _, offset, rest = open_tags.pop()
        if units > offset:
            url = "".join(_HREF.findall(rest)[:1])
            entities.append(Entity(_TAGS[tag], offset, units - offset, url))
    if open_tags:
        unclosed = open_tags[-1][0]
        raise bad_request(
            f"can't parse entities: Can't find end tag corresponding to start tag \"{unclosed}\""
        )
    return "".join(plain), sorted(entities, key=lambda entity: (entity.offset, -entity.length))


def _clip(entities: list[Entity], units: int) -> list[Entity]:
    return [
        replace(entity, length=min(entity.length, units - entity.offset))
        for entity in entities
        if entity.offset < units
    ]


def command_entities(text: str) -> list[Entity]:
    """Where a person's text holds commands such as /start."""
    return [
        Entity("bot_command", utf16_units(text[: found.start()]), utf16_units(found.group()))
        for found in _COMMAND.finditer(text)
    ]


def preview(text: str) -> str:
    """The first line or two of a notification, as a locked screen would show it."""
    flat = " ".join(text.split())
    return flat if len(flat) <= PREVIEW_CHARACTERS else flat[: PREVIEW_CHARACTERS - 1] + "…"


def split_long(text: str) -> list[str]:
    """A person's long text as the messages a chat app makes of it, each within the limit."""
    parts: list[str] = []
    rest = text
    while utf16_units(rest) > TEXT_LIMIT_UNITS:
        cut = TEXT_LIMIT_UNITS
        while utf16_units(rest[:cut]) > TEXT_LIMIT_UNITS:
            cut -= 1
        parts.append(rest[:cut])
        rest = rest[cut:]
    return [*parts, rest]
