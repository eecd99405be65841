"""From a library's report about a faulty file to one clear line for each fault."""

import datetime as dt
import re
import tomllib
from collections.abc import Callable, Collection, Iterator
from pathlib import Path
from typing import Annotated, Any, Final, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, WithJsonSchema
from rapidfuzz import fuzz, process

from bot.errors import RefusedError

NEAR_ENOUGH = 70.0  # of 100, rapidfuzz's ratio; found by trying slips of the finger on field names
LONGEST_SHOWN = 60
_NOT_SHOWN = re.compile(r"[^\w .,:;+/()-]")
_INSIDE = re.compile(r"([a-z0-9_]+(?:\.[a-z0-9_]+)*): ", re.ASCII)

Place = tuple[int | str, ...]
First = TypeVar("First")
Second = TypeVar("Second")

_PLAIN: Final = {
    "missing": "missing; expected a value",
    "string_pattern_mismatch": "expected letters, digits and hyphens only",
    "int_type": "expected a whole number",
    "float_type": "expected a number",
    "finite_number": "expected a number",
    "bool_type": "expected true or false",
    "string_type": "expected text in quotes",
    "tuple_type": "expected a list in square brackets",
    "model_type": "expected a table of fields",
    "model_attributes_type": "expected a table of fields",
    "dict_type": "expected a table of fields",
}


class Strict(BaseModel):
    """A table that takes only the fields it knows, and does not quote what was typed."""

    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


def read_text(path: Path, most_bytes: int, expected: str) -> str:
    """The text of a file, of at most so many bytes; a byte order mark and Windows line ends are taken.

    Raises RefusedError in one line, naming the file.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(most_bytes + 1)
    except OSError as error:
        raise RefusedError(f"{path}: cannot be read ({error.strerror})") from None
    return text_of(raw, str(path), most_bytes, expected)


def text_of(raw: bytes, name: str, most_bytes: int, expected: str) -> str:
    """The text in the bytes of a file, of at most so many; a byte order mark is taken.

    Raises RefusedError in one line, with `name` in front.
    """
    if len(raw) > most_bytes:
        raise RefusedError(f"{name}: more than {most_bytes} bytes; expected {expected}")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RefusedError(f"{name}: not a text file in UTF-8; expected {expected}") from None


def read_toml(text: str, name: str, expected: str) -> dict[str, Any]:
    """The document in a text. Raises RefusedError in one line, with `name` in front."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    if not text.strip():
        raise RefusedError(f"{name}: empty; expected {expected}")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # Besides its own error the parser lets through those of huge numbers and of brackets without end.
        known = isinstance(error, tomllib.TOMLDecodeError)
        reason = str(error) if known else "a number or nesting beyond all measure"
        raise RefusedError(f"{name}: not TOML ({reason}); expected {expected}") from None


def lines(error: ValidationError, kind: str, fields: Collection[str] = ()) -> Iterator[tuple[Place, str]]:
    """Each fault as its place and one line: what is wrong, what was expected.

    kind: what the file is, as in "not a field of a prescription". fields: every name there is, for a hint. A
    message of our own with several lines is several faults; a line that opens with a place inside the field
    and a colon, such as "0.on: too early", belongs there.
    """
    found = error.errors(include_url=False, include_input=False)
    places = [fault["loc"] for fault in found]
    for fault in found:
        place: Place = tuple(step for step in fault["loc"] if step != "[key]")
        if fault["type"] == "too_short" and any(
            one != place and one[: len(place)] == place for one in places
        ):
            continue  # its entries are there, and at fault themselves
        if fault["type"] == "extra_forbidden":
            near = nearest(str(place[-1]), fields)
            hint = f"; did you mean {near}?" if near and near != place[-1] else ""
            yield place, f"not a field of {kind}{hint}"
        elif fault["type"] == "value_error":
            for said in str(fault["ctx"]["error"]).splitlines():
                inside = _INSIDE.match(said)
                steps = inside.group(1).split(".") if inside else []
                yield (*place, *steps), said[inside.end() :] if inside else said
        elif fault["type"] in {"too_short", "too_long"}:
            least, most = fault["ctx"].get("min_length"), fault["ctx"].get("max_length")
            yield place, f"expected at least {least}" if least else f"expected at most {most}"
        else:
            yield place, _PLAIN.get(fault["type"], str(fault["msg"]))


def dotted(place: Place) -> str:
    """A place in a document, such as programme.contractions.0.hold_s; always one short line."""
    return ".".join(_NOT_SHOWN.sub("?", str(step))[:LONGEST_SHOWN] for step in place)


def line(name: str, place: str, message: str) -> str:
    """One line for a person: the file, the field, what is wrong."""
    return f"{name}: {place}: {message}" if place else f"{name}: {message}"


def nearest(typed: str, known: Collection[str]) -> str | None:
    """The known name that somebody may have meant, None when none is near."""
    found = process.extractOne(typed, list(known), scorer=fuzz.ratio, score_cutoff=NEAR_ENOUGH)
    return found[0] if found else None


def field_names(model: type[BaseModel]) -> frozenset[str]:
    """Every field name that occurs anywhere in a model."""

    def walk(schema: Any) -> Iterator[str]:  # noqa: ANN401 - JSON
        if isinstance(schema, dict):
            yield from schema.get("properties", {})
            for part in schema.values():
                yield from walk(part)
        elif isinstance(schema, list):
            for part in schema:
                yield from walk(part)

    return frozenset(walk(model.model_json_schema()))


def together(first: Callable[[], First], second: Callable[[], Second]) -> tuple[First, Second]:
    """Both results; a refusal of either waits for the other, so that all faults are told in one go."""
    try:
        one = first()
    except RefusedError as fault:
        try:
            second()
        except RefusedError as other:
            raise RefusedError(*fault.faults, *other.faults) from None
        raise
    return one, second()


def plain(error: RefusedError) -> ValueError:
    """A refusal as the validation library takes it, one line for each fault."""
    return ValueError("\n".join(error.faults))


def _day(value: object) -> object:
    """A day is written as one: a number would be read as seconds since 1970, a time would lose its hours."""
    if isinstance(value, str):
        try:
            value = dt.date.fromisoformat(value)
        except ValueError:
            value = None
    if not isinstance(value, dt.date) or isinstance(value, dt.datetime):
        raise ValueError("expected a day such as 2026-03-02")  # noqa: TRY004 - the library wants this class
    return value


def _time(value: object) -> object:
    """A time is written "08:30" or as a TOML local time."""
    if isinstance(value, str):
        try:
            value = dt.time.fromisoformat(value)
        except ValueError:
            value = None
    if not isinstance(value, dt.time) or value.tzinfo is not None:
        raise ValueError('expected a time such as "08:30"')
    return value


Day = Annotated[dt.date, BeforeValidator(_day)]
Time = Annotated[
    dt.time,
    BeforeValidator(_time),
    WithJsonSchema({"type": "string", "pattern": r"^([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?$"}),
]
