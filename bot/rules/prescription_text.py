"""A prescription written down as TOML, the way a therapist would write it: only what is not the default."""

import datetime as dt
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from bot.rules.prescription_models import PrescriptionFile


def to_text(file: PrescriptionFile) -> str:
    """The file as text; reading it again gives the same prescription, and writing that the same text."""
    document = file.model_dump(mode="python", exclude_defaults=True)
    return "\n".join(_table(document, ())).lstrip("\n") + "\n"


def _table(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    """Plain values first, then tables and lists of tables: what follows a heading belongs to it."""
    for key, value in table.items():
        if not isinstance(value, Mapping) and not _of_tables(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in table.items():
        place = (*path, key)
        name = ".".join(_key(step) for step in place)
        if isinstance(value, Mapping):
            yield f"\n[{name}]"
            yield from _table(value, place)
        elif _of_tables(value):
            for entry in value:
                yield f"\n[[{name}]]"
                yield from _table(entry, place)


def _of_tables(value: object) -> bool:
    return isinstance(value, Sequence) and bool(value) and isinstance(value[0], Mapping)


def _key(key: str) -> str:
    return key if key and key.isascii() and key.replace("_", "").isalnum() else _string(key)


def _string(text: str) -> str:
    # JSON's strings are TOML's basic strings, but for the one control character that JSON lets stand.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case str():
            return _string(str(value))
        case dt.time():
            return f'"{value.isoformat("auto" if value.second or value.microsecond else "minutes")}"'
        case dt.date():
            return value.isoformat()
        case tuple() | list():
            return f"[{', '.join(_value(one) for one in value)}]"
        case _:
            raise TypeError(f"{type(value).__name__} has no place in a prescription")
