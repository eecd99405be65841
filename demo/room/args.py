"""The arguments of a call, however the body carries them: query, JSON, form or multipart."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import parse_qsl

from demo.room.shapes import Json, bad_request


@dataclass(frozen=True)
class Upload:
    """A file that came with the call."""

    name: str
    mime: str
    data: bytes


@dataclass
class Args:
    """Arguments by name. Values are text where a form brought them, and JSON values where JSON did."""

    values: dict[str, object] = field(default_factory=dict)
    files: dict[str, Upload] = field(default_factory=dict)

    def has(self, name: str) -> bool:
        """Whether the argument was given at all."""
        return name in self.values or name in self.files

    def text(self, name: str, default: str = "") -> str:
        """A text, empty when left out."""
        value = self.values.get(name)
        return default if value is None else str(value)

    def whole(self, name: str, default: int | None = None) -> int | None:
        """A whole number. Raises a 400 for anything else."""
        value = self.values.get(name)
        if value is None or value == "":
            return default
        try:
            return int(str(value))
        except ValueError as error:
            raise bad_request(f"parameter {name} must be a number") from error

    def must_whole(self, name: str) -> int:
        """A whole number that has to be there. Raises a 400."""
        value = self.whole(name)
        if value is None:
            raise bad_request(f"parameter {name} is required")
        return value

    def flag(self, name: str) -> bool:
        """A yes or no, no when left out."""
        return str(self.values.get(name, "false")).lower() in ("true", "1")

    def json(self, name: str) -> object:
        """A JSON value; None when left out. Raises a 400 if it cannot be read."""
        value = self.values.get(name)
        if not isinstance(value, str):
            return value
        if not value:
            return None
        try:
            return json.loads(value)
        except ValueError as error:
            raise bad_request(f"can't parse {name} JSON object") from error

    def json_object(self, name: str) -> Json:
        """A JSON object, empty when left out. Raises a 400."""
        value = self.json(name)
        if value is None:
            return {}
        if not isinstance(value, dict):
            raise bad_request(f"object expected as {name}")
        return value


def read(content_type: str, body: bytes, query: Mapping[str, str]) -> Args:
    """The arguments of one call. Raises a 400 for a body that cannot be read."""
    args = Args(dict(query))
    kind = content_type.partition(";")[0].strip().lower()
    if kind == "application/json":
        try:
            values = json.loads(body or b"{}")
        except ValueError as error:
            raise bad_request("can't parse JSON object") from error
        if not isinstance(values, dict):
            raise bad_request("object expected as the body")
        args.values |= values
    elif kind == "application/x-www-form-urlencoded":
        args.values |= dict(parse_qsl(body.decode(), keep_blank_values=True))
    elif kind == "multipart/form-data":
        _read_multipart(args, content_type, body)
    return args


def _read_multipart(args: Args, content_type: str, body: bytes) -> None:
    boundary = _parameters(content_type).get("boundary")
    if not boundary:
        raise bad_request("multipart body without a boundary")
    for part in body.split(b"--" + boundary.encode())[1:-1]:
        head, _, data = part.removeprefix(b"\r\n").partition(b"\r\n\r\n")
        headers = {
            name.strip().lower(): value.strip()
            for name, _, value in (line.partition(":") for line in head.decode().split("\r\n"))
        }
        disposition = _parameters(headers.get("content-disposition", ""))
        name, content = disposition.get("name", ""), data.removesuffix(b"\r\n")
        if "filename" in disposition:
            mime = headers.get("content-type", "application/octet-stream")
            args.files[name] = Upload(disposition["filename"], mime, content)
        else:
            args.values[name] = content.decode()


def _parameters(header: str) -> dict[str, str]:
    pairs = (piece.partition("=") for piece in header.split(";")[1:])
    return {name.strip().lower(): value.strip().strip('"') for name, _, value in pairs}
