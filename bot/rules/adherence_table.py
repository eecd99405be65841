"""A plain table of days (CSV: date, prescribed, reported), so that anybody can check the figures."""

import csv
import datetime as dt
import io
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from bot.domain.adherence import Day, DayState
from bot.errors import RefusedError
from bot.rules import faults

LARGEST_FILE_BYTES = 4 * 1024 * 1024
EXPECTED = "a table of days (CSV with the headings date,prescribed,reported)"
NEEDED: Final = ("date", "prescribed", "reported")
COLUMNS: Final = (*NEEDED, "state")
MOST_SETS = 100
_STATES = tuple(state.value for state in DayState)
_COUNT = re.compile(r"\d{1,3}", re.ASCII)


def read(path: Path) -> tuple[Day, ...]:
    """The days of a table, in its order; see `parse`."""
    return parse(faults.read_text(path, LARGEST_FILE_BYTES, EXPECTED), str(path))


def parse(text: str, name: str) -> tuple[Day, ...]:
    """The days of a table's text; an empty `reported` is a day nobody answered.

    A column `state` may say active (also when empty), paused, stopped or travel; beside it further columns
    are passed over, as a client's diary has them. Raises RefusedError with a
    line for each fault of each row: `name`, the row (the headings are row 1), the column, what was expected.
    """
    try:
        rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
    except csv.Error as error:
        raise RefusedError(f"{name}: not CSV ({error}); expected {EXPECTED}") from None
    if not rows:
        raise RefusedError(f"{name}: empty; expected {EXPECTED}")
    headings = [heading.strip().casefold() for heading in rows[0]]
    wrong = [
        f"{name}: row 1: {column}: missing; expected {EXPECTED}"
        for column in NEEDED
        if column not in headings
    ]
    wrong += [
        f"{name}: row 1: {_shown(heading)}: expected some of {', '.join(COLUMNS)}, each once"
        for place, heading in enumerate(headings)
        if (heading not in COLUMNS and "state" not in headings) or heading in headings[:place]
    ]
    if wrong:
        raise RefusedError(*wrong)
    days: list[Day] = []
    for number, cells in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        found = _row(cells, headings)
        wrong += (f"{name}: row {number}: {fault}" for fault in found[1])
        if found[0] is not None:
            days.append(found[0])
    twice = sorted(on for on, times in Counter(day.on for day in days).items() if times > 1)
    wrong += (f"{name}: date: {on} stands twice; a local date is one diary day" for on in twice)
    if wrong:
        raise RefusedError(*wrong)
    return tuple(days)


def _shown(typed: str) -> str:
    return repr(faults.dotted((typed,)))


def _row(cells: Sequence[str], headings: Sequence[str]) -> tuple[Day | None, list[str]]:
    """The day of a row, or None and what is wrong with it."""
    if len(cells) > len(headings):
        return None, [f"{len(cells)} cells; expected {len(headings)}"]
    row = dict(zip(headings, (cell.strip() for cell in cells), strict=False))
    wrong = list(_wrong(row))
    if wrong:
        return None, wrong
    reported = row.get("reported", "")
    return (
        Day(
            dt.date.fromisoformat(row["date"]),
            int(row["prescribed"]),
            int(reported) if reported else None,
            DayState(row.get("state", "").casefold() or DayState.ACTIVE),
        ),
        [],
    )


def _wrong(row: Mapping[str, str]) -> Iterator[str]:
    try:
        dt.date.fromisoformat(row.get("date", ""))
    except ValueError:
        yield f"date: {_shown(row.get('date', ''))}: expected a day such as 2026-03-02"
    for column in ("prescribed", "reported"):
        typed = row.get(column, "")
        if (column == "reported" and not typed) or (_COUNT.fullmatch(typed) and int(typed) <= MOST_SETS):
            continue
        empty = " or nothing" if column == "reported" else ""
        yield f"{column}: {_shown(typed)}: expected a whole number from 0 to {MOST_SETS}{empty}"
    state = row.get("state", "").casefold()
    if state and state not in _STATES:
        yield f"state: {_shown(state)}: expected {', '.join(_STATES)} or nothing"
