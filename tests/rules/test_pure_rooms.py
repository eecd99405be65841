"""The two rooms that hold the judgement stay pure: a short list says what they may import.

A list of what is forbidden would let `pathlib` or `sqlite3` slip through; this one lets nothing through that
is not named.
"""

import ast

import pytest

from tests.rules.checkout import ROOT

ALLOWED = {
    # the standard library's pure parts
    *("collections", "dataclasses", "datetime", "enum", "fractions", "functools", "itertools", "math", "re"),
    *("statistics", "types", "typing", "unicodedata", "zoneinfo"),
    "uuid",  # for the type of an id; making one is refused below
    # pure libraries: alike words, number words, months and recurrences, the zones' data
    *("rapidfuzz", "text_to_num", "dateutil", "tzdata"),
    "scipy",  # slopes and intervals: figures in, figures out
    # ours
    *("bot.errors", "bot.domain"),
}
ROOMS = {"bot/domain": ALLOWED, "bot/conversation": ALLOWED | {"bot.conversation"}}
IMPURE_FUNCTIONS = {"open", "input", "print", "exec", "eval", "__import__"}
IMPURE_METHODS = {"now", "utcnow", "today", "uuid1", "uuid4"}  # they ask the machine


def faults(source: str, allowed: set[str]) -> list[str]:
    """A line for each import and call that a pure room may not have."""
    found = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                found += [name.name for name in names if not _is_allowed(name.name, allowed)]
            case ast.ImportFrom(module=module, names=names, level=level):
                # `from bot import domain` names the room only in its second half.
                full = [f"{module}.{name.name}" for name in names]
                found += [name for name in full if level or not _is_allowed(name, allowed)]
            case ast.Call(func=ast.Name(id=name)) if name in IMPURE_FUNCTIONS:
                found.append(f"{name}()")
            case ast.Call(func=ast.Attribute(attr=name)) if name in IMPURE_METHODS:
                found.append(f".{name}()")
    return found


def _is_allowed(module: str, allowed: set[str]) -> bool:
    return any(module == room or module.startswith(f"{room}.") for room in allowed)


@pytest.mark.parametrize("room", ROOMS)
def test_a_pure_room_imports_only_what_is_listed(room: str) -> None:
    files = sorted((ROOT / room).rglob("*.py"))
    assert files
    found = {
        str(file.relative_to(ROOT)): wrong
        for file in files
        if (wrong := faults(file.read_text(encoding="utf-8"), ROOMS[room]))
    }
    assert found == {}


@pytest.mark.parametrize(
    ("planted", "fault"),
    [
        ("import pathlib", "pathlib"),
        ("import datetime, sqlite3", "sqlite3"),
        ("from os import environ", "os.environ"),
        ("from bot import clock", "bot.clock"),
        ("from bot.store import tables", "bot.store.tables"),
        ("from bot.conversation import speech", "bot.conversation.speech"),
        ("from . import dose", "None.dose"),
        ("def later():\n    import time", "time"),
        ("words = open('words').read()", "open()"),
        ("made = datetime.datetime.now(zone)", ".now()"),
        ("number = uuid.uuid4()", ".uuid4()"),
    ],
)
def test_a_planted_fault_is_found(planted: str, fault: str) -> None:
    assert faults(planted, ALLOWED) == [fault]
    assert (
        faults("import datetime as dt\nfrom collections.abc import Sequence\nimport bot.errors", ALLOWED)
        == []
    )
