"""Files in the room: kept in memory, found by their id, checked as the platform checks pictures."""

import hashlib
import struct
from dataclasses import dataclass

from demo.room.shapes import bad_request
from demo.room.state import Media, MediaKind

DOWNLOAD_LIMIT = 20 * 1024 * 1024  # Bot API, getFile
UPLOAD_LIMIT = 50 * 1024 * 1024  # Bot API, sendDocument
PHOTO_LIMIT = 10 * 1024 * 1024  # Bot API, sendPhoto
PHOTO_SIDES_LIMIT = 10_000  # Bot API, sendPhoto: width and height together
PHOTO_RATIO_LIMIT = 20  # Bot API, sendPhoto

_PNG = b"\x89PNG\r\n\x1a\n"
_JPEG = b"\xff\xd8"
_JPEG_FRAMES = {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}


@dataclass(frozen=True)
class StoredFile:
    """A file and its bytes; `data` is empty where only the fact of a file matters (a voice note, say)."""

    media: Media
    data: bytes

    @property
    def path(self) -> str:
        """The path getFile gives; it tells nothing about the content."""
        return f"files/{self.media.file_unique_id}"


class Files:
    """All files of the room."""

    def __init__(self) -> None:
        self._by_id: dict[str, StoredFile] = {}

    def store(
        self,
        kind: MediaKind,
        data: bytes,
        name: str,
        mime: str,
        *,
        declared_size: int | None = None,
        duration_s: int = 0,
        sides: tuple[int, int] = (0, 0),
    ) -> Media:
        """Keep a file. declared_size: its size where the bytes themselves are not at hand."""
        number = len(self._by_id) + 1
        mark = hashlib.sha256(f"{number} {name}".encode() + data).hexdigest()
        size = len(data) if declared_size is None else declared_size
        media = Media(
            kind, f"file-{number}-{mark[:16]}", mark[16:32], name, mime, size, *sides, duration_s=duration_s
        )
        self._by_id[media.file_id] = StoredFile(media, data)
        return media

    def by_id(self, file_id: str) -> StoredFile:
        """The file. Raises the 400 the platform answers for an id that is not this bot's."""
        found = self._by_id.get(file_id)
        if found is None:
            raise bad_request("wrong file identifier/HTTP URL specified")
        return found

    def by_path(self, path: str) -> StoredFile | None:
        """The file behind a download link."""
        return next((item for item in self._by_id.values() if item.path == path), None)


def photo_size(data: bytes) -> tuple[int, int]:
    """Width and height of a PNG or JPEG that may be sent as a photo. Raises a 400 otherwise."""
    if len(data) > PHOTO_LIMIT:
        raise bad_request("file is too big for a photo")
    sides = _png_size(data) or _jpeg_size(data)
    if sides is None:
        raise bad_request("IMAGE_PROCESS_FAILED")
    if sum(sides) > PHOTO_SIDES_LIMIT or max(sides) > PHOTO_RATIO_LIMIT * min(sides):
        raise bad_request("PHOTO_INVALID_DIMENSIONS")
    return sides


def _png_size(data: bytes) -> tuple[int, int] | None:
    if not data.startswith(_PNG) or len(data) < 24:  # noqa: PLR2004 - signature, length, type, two sides
        return None
    width, height = struct.unpack(">II", data[16:24])
    return (width, height)


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    if not data.startswith(_JPEG):
        return None
    at = 2
    while at + 9 < len(data) and data[at] == 0xFF:  # noqa: PLR2004 - every segment starts with this byte
        if data[at + 1] in _JPEG_FRAMES:
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return (width, height)
        at += 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]
    return None
