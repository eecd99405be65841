"""Many prescriptions in one table (CSV): a row for each client, as a spreadsheet saves it.

The columns stand in `COLUMNS`; a client has one row, one set of findings and up to eight exercises. The table
is taken whole or not at all, and every fault of every row is told in one go.
"""

import csv
import datetime as dt
import io
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from bot.errors import RefusedError
from bot.rules import faults, prescription_check, rulebook
from bot.rules.faults import Place
from bot.rules.prescription_fields import Context
from bot.rules.prescription_models import PrescriptionFile
from bot.rules.rulebook import Rulebook

LARGEST_FILE_BYTES = 4 * 1024 * 1024
EXPECTED = "a table of clients (CSV with a line of headings)"
MOST_EXERCISES = 8


class Cell(Enum):
    """What a cell holds."""

    TEXT = auto()
    WHOLE = auto()
    NUMBER = auto()
    FLAG = auto()
    LIST = auto()


@dataclass(frozen=True, slots=True)
class Column:
    """Where a cell belongs in a prescription, and what it holds."""

    place: Place
    cell: Cell = Cell.TEXT


def _columns() -> Iterator[tuple[str, Column]]:
    def of(place: Place, **cells: Cell) -> Iterator[tuple[str, Column]]:
        return ((name, Column((*place, name), cell)) for name, cell in cells.items())

    text, whole, number, flag, several = Cell.TEXT, Cell.WHOLE, Cell.NUMBER, Cell.FLAG, Cell.LIST
    yield from of((), client=text, initials=text, zone=text, language=text, goal=text)
    yield from of((), baby_at_home=flag, most_messages_a_day=whole, pregnant_since_on=text)
    yield "birth_on", Column(("birth", "on"))
    yield "birth_mode", Column(("birth", "mode"))
    yield "tear", Column(("birth", "tear"))
    yield "cleared_on", Column(("clearances", 0, "on"))
    yield "cleared_by", Column(("clearances", 0, "by"))
    yield "cleared_for", Column(("clearances", 0, "loads"), several)
    found: Place = ("findings", 0)
    yield "found_on", Column((*found, "on"))
    yield from of(found, contraction=text, full_release=text, how=text, tone=text, perfect=text)
    yield from of(found, pain_on_contraction=flag, doming=flag, heaviness=whole, pain=whole, bleeding=flag)
    yield from of(found, leaks_a_week=whole, leakage=text, prolapse_stage=whole, pessary=flag)
    yield from of(found, red_flags_screened=flag, impact_screen=flag, note=text)
    for name in ("state", "method", "unit"):
        yield f"distance_{name}", Column((*found, "distances", 0, name))
    for name in ("above", "at", "below"):
        yield f"distance_{name}", Column((*found, "distances", 0, name), number)
    plan: Place = ("programme",)
    yield from of(plan, starts_on=text, review_on=text, sets_a_day=whole, days=several)
    yield from of(plan, quiet_from=text, quiet_to=text, nudge_times=several, round_up_at=text, pause_s=whole)
    for index in range(MOST_EXERCISES):
        entry: Place = ("programme", "contractions", index)
        yield f"exercise_{index + 1}", Column((*entry, "exercise"))
        for name in ("repetitions", "hold_s", "rest_s"):
            yield f"{name}_{index + 1}", Column((*entry, name), whole)
        yield f"position_{index + 1}", Column((*entry, "position"))
    for index in range(MOST_EXERCISES):
        entry = ("programme", "adjuncts", index)
        yield f"adjunct_{index + 1}", Column((*entry, "exercise"))
        yield f"adjunct_position_{index + 1}", Column((*entry, "position"))
        for name in ("repetitions", "hold_s", "minutes", "times_a_day"):
            yield f"adjunct_{name}_{index + 1}", Column((*entry, name), whole)
    yield "check_in_day", Column(("check_in", "day"))
    yield "check_in_questions", Column(("check_in", "questions"), several)


COLUMNS: Final[Mapping[str, Column]] = dict(_columns())
_HEADINGS: Final = {column.place: name for name, column in COLUMNS.items()}
_FLAGS: Final = {"yes": True, "y": True, "true": True, "1": True} | {
    "no": False,
    "n": False,
    "false": False,
    "0": False,
}


def is_table(path: Path) -> bool:
    """Whether a file is named like a table."""
    return path.suffix.casefold() == ".csv"


def read(
    path: Path, rules: Rulebook | None = None, today: dt.date | None = None
) -> tuple[PrescriptionFile, ...]:
    """Every prescription of a table, each fit to be put in force; see `prescription_file.read`.

    Raises RefusedError with one line for each fault of each row: the file, the row (the headings are row 1),
    the column, what is wrong and was expected.
    """
    return tuple(file for _, file in read_rows(path, rules, today))


def read_rows(
    path: Path,
    rules: Rulebook | None = None,
    today: dt.date | None = None,
    taken: Collection[str] = (),
) -> tuple[tuple[str, PrescriptionFile], ...]:
    """The same, each with the place of its row. taken: codes that no row may have, of clients enrolled."""
    text = faults.read_text(path, LARGEST_FILE_BYTES, EXPECTED)
    return _parse(text, str(path), rules, today, taken)


def parse(
    text: str, name: str, rules: Rulebook | None = None, today: dt.date | None = None
) -> tuple[PrescriptionFile, ...]:
    """Every prescription of a table's text; `name` stands in front of every fault."""
    return tuple(file for _, file in _parse(text, name, rules, today, ()))


def _parse(
    text: str, name: str, rules: Rulebook | None, today: dt.date | None, taken: Collection[str]
) -> tuple[tuple[str, PrescriptionFile], ...]:
    rules = rules or rulebook.packaged()
    headings, rows = _rows(text, name)
    made: list[tuple[str, PrescriptionFile]] = []
    seen: set[str] = set()
    wrong: list[str] = []
    for number, cells in rows:
        row = f"{name}: row {number}"
        client = dict(zip(headings, map(str.strip, cells), strict=False)).get("client", "")
        if client in seen:
            wrong.append(f"{row}: client: {faults.dotted((client,))} stands in an earlier row already")
        if client in taken:
            wrong.append(f"{row}: client: {faults.dotted((client,))} is a client already")
        seen |= {client} - {""}
        try:
            made.append((row, _prescription(headings, cells, row, rules, today)))
        except RefusedError as fault:
            wrong.extend(fault.faults)
    if wrong:
        raise RefusedError(*wrong)
    if not made:
        raise RefusedError(f"{name}: no client in it; expected {EXPECTED}")
    return tuple(made)


def _rows(text: str, name: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The headings, and each row that is not blank with its number."""
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise RefusedError(f"{name}: empty; expected {EXPECTED}")
    first = text.lstrip().partition("\n")[0]
    # Spreadsheets of half of Europe put a semicolon between cells.
    between = ";" if first.count(";") > first.count(",") else ","
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True))
    except csv.Error as error:
        raise RefusedError(f"{name}: not a table ({error}); expected {EXPECTED}") from None
    numbered = [(number, cells) for number, cells in enumerate(rows, 1) if any(map(str.strip, cells))]
    headings = [heading.strip() for heading in numbered[0][1]]
    wrong = list(_wrong_headings(headings, f"{name}: row {numbered[0][0]}"))
    if wrong:
        raise RefusedError(*wrong)
    return headings, numbered[1:]


def _wrong_headings(headings: Sequence[str], row: str) -> Iterator[str]:
    for index, heading in enumerate(headings):
        if heading not in COLUMNS:
            near = faults.nearest(heading, COLUMNS.keys())
            hint = f"; did you mean {near}?" if near else ""
            yield f"{row}: {faults.dotted((heading,)) or 'a heading'}: not a column of the table{hint}"
        elif heading in headings[:index]:
            yield f"{row}: {heading}: this column stands twice"


def _prescription(
    headings: Sequence[str], cells: Sequence[str], row: str, rules: Rulebook, today: dt.date | None
) -> PrescriptionFile:
    if any(map(str.strip, cells[len(headings) :])):
        raise RefusedError(f"{row}: {len(cells)} cells, expected {len(headings)}")
    tree: dict[int | str, Any] = {"programme": {}}
    for heading, cell in zip(headings, cells, strict=False):
        if cell.strip():
            column = COLUMNS[heading]
            _put(tree, column.place, _value(cell.strip(), column.cell))
    kept = {name: sorted(tree["programme"].get(name, {})) for name in ("contractions", "adjuncts")}
    try:
        file = PrescriptionFile.model_validate(_document(tree), context=Context(rules.catalogue, today))
        found = list(prescription_check.unfit(file, rules))
    except ValidationError as error:
        file, found = None, list(faults.lines(error, "the table"))
    if file is None or found:
        raise RefusedError(*(faults.line(row, _heading(place, kept), message) for place, message in found))
    return file


def _value(cell: str, kind: Cell) -> object:
    """What a cell says; one that does not fit is left as it is, and refused where it belongs."""
    match kind:
        case Cell.WHOLE if re.fullmatch(r"[+-]?\d{1,9}", cell, re.ASCII):
            return int(cell)
        case Cell.NUMBER if re.fullmatch(r"[+-]?\d{1,9}([.,]\d{1,9})?", cell, re.ASCII):
            return float(cell.replace(",", "."))
        case Cell.FLAG:
            return _FLAGS.get(cell.casefold(), cell)
        case Cell.LIST:
            return re.split(r"[\s,;]+", cell)
        case _:
            return cell


def _put(tree: dict[int | str, Any], place: Place, value: object) -> None:
    for step in place[:-1]:
        tree = tree.setdefault(step, {})
    tree[place[-1]] = value


def _document(tree: object) -> Any:  # noqa: ANN401 - a document as TOML gives it
    """The tree with its numbered branches as lists; numbers that were left out close up."""
    if not isinstance(tree, dict):
        return tree
    if tree and all(isinstance(step, int) for step in tree):
        return [_document(tree[step]) for step in sorted(tree)]
    return {step: _document(branch) for step, branch in tree.items()}


def _heading(place: Place, kept: Mapping[str, Sequence[int]]) -> str:
    """The column a place belongs to. kept: which numbers were filled in, by list."""
    match place:
        case ("programme", str() as name, int() as index, *rest) if name in kept:
            place = ("programme", name, kept[name][index], *rest)
    for length in range(len(place), 0, -1):
        if place[:length] in _HEADINGS:
            return _HEADINGS[place[:length]]
    under = (heading for known, heading in _HEADINGS.items() if known[: len(place)] == place)
    return next(under, faults.dotted(place))
