"""The table of many clients: taken whole or not at all, every fault of every row in one go."""

import csv
import datetime as dt
import io
from pathlib import Path

import pytest

from bot.domain.prescription import Position
from bot.errors import RefusedError
from bot.rules import enrolment_table, prescription_file
from tests.rules.checkout import ROOT

TODAY = dt.date(2026, 3, 2)
TABLE = ROOT / "docs/examples/tables/clients.csv"
TEXT = TABLE.read_text(encoding="utf-8")
HEADINGS, *ROWS = list(csv.reader(io.StringIO(TEXT)))


def table(*rows: dict[str, str], headings: list[str] | None = None) -> str:
    """A table of the first example row, changed for each row given."""
    headings = headings or HEADINGS
    into = io.StringIO()
    writer = csv.DictWriter(into, headings)
    writer.writeheader()
    for number, row in enumerate(rows, 1):
        writer.writerow(dict(zip(HEADINGS, ROWS[0], strict=True)) | {"client": f"C{number}"} | row)
    return into.getvalue()


def refused(text: str) -> tuple[str, ...]:
    with pytest.raises(RefusedError) as error:
        enrolment_table.parse(text, "t.csv", today=TODAY)
    return error.value.faults


def test_a_row_says_what_a_file_would_say() -> None:
    """The same prescription written as TOML is the same."""
    first, second = enrolment_table.read(TABLE, today=TODAY)
    document = {
        "client": "T1",
        "zone": "Europe/Dublin",
        "birth": {"on": "2025-12-01", "mode": "vaginal"},
        "clearances": [{"by": "GP", "on": "2026-01-20", "loads": ["pressure", "rectus"]}],
        "findings": [
            {
                "on": "2026-03-02",
                "contraction": "yes",
                "full_release": "yes",
                "how": "finger assessment",
                "perfect": "3/5/6//8",
            }
        ],
        "programme": {
            "starts_on": "2026-03-03",
            "review_on": "2026-04-13",
            "sets_a_day": 3,
            "nudge_times": ["08:30", "13:00", "18:30"],
            "contractions": [
                {
                    "exercise": "pelvic-floor-long-hold",
                    "repetitions": 6,
                    "hold_s": 5,
                    "rest_s": 8,
                    "position": "lying",
                },
                {
                    "exercise": "pelvic-floor-quick",
                    "repetitions": 8,
                    "hold_s": 1,
                    "rest_s": 1,
                    "position": "lying",
                },
            ],
        },
    }
    assert first == prescription_file.from_document(document, "T1")
    assert (second.client, second.birth, len(second.programme.contractions)) == ("T2", None, 1)


def test_every_fault_of_every_row_is_told_in_one_go() -> None:
    text = table(
        {"hold_s_1": "90", "zone": "Europe/Dublen"},
        {},
        {"birth_on": "2026-13-45", "repetitions_2": "ten", "nudge_times": "08:30 13:00"},
        {"client": "C2", "position_1": "", "exercise_2": "xyzzy"},
    )
    assert refused(text) == (
        "t.csv: row 2: zone: There is no time zone 'Europe/Dublen': did you mean Europe/Dublin?",
        "t.csv: row 2: hold_s_1: Input should be less than or equal to 10",
        "t.csv: row 4: birth_on: expected a day such as 2026-03-02",
        "t.csv: row 4: nudge_times: 2 given, expected one for each of 3 sets",
        "t.csv: row 4: repetitions_2: expected a whole number",
        "t.csv: row 5: client: C2 stands in an earlier row already",
        "t.csv: row 5: position_1: missing; expected a value",
        "t.csv: row 5: exercise_2: 'xyzzy' is not an exercise we know; see `programme-bot catalogue`",
    )


def test_a_gate_stands_against_a_row_too() -> None:
    headings = [*HEADINGS, "adjunct_1", "adjunct_position_1", "adjunct_repetitions_1"]
    row = {"adjunct_1": "curl-up", "adjunct_position_1": "lying", "adjunct_repetitions_1": "10"}
    (fault,) = refused(table({}, row, headings=headings))
    assert fault.startswith("t.csv: row 3: adjunct_1: curl-up is not allowed yet on 2026-03-03: ")


def test_numbers_that_were_left_out_close_up_and_faults_keep_their_column() -> None:
    empty = {"exercise_1": "", "repetitions_1": "", "hold_s_1": "", "rest_s_1": "", "position_1": ""}
    (file,) = enrolment_table.parse(table(empty), "t.csv", today=TODAY)
    assert [entry.exercise for entry in file.programme.contractions] == ["pelvic-floor-quick"]
    assert refused(table({**empty, "hold_s_2": "12"})) == (
        "t.csv: row 2: hold_s_2: Input should be less than or equal to 10",
    )


@pytest.mark.parametrize(
    ("headings", "cells", "expected"),
    [
        ("distance_at", "2,5", 2.5),
        ("distance_at", "2.5", 2.5),
    ],
)
def test_a_decimal_comma_is_read(headings: str, cells: str, expected: float) -> None:
    more = [headings, "distance_state", "distance_method", "distance_unit"]
    row = {
        headings: cells,
        "distance_state": "rest",
        "distance_method": "fingers",
        "distance_unit": "fingers",
    }
    (file,) = enrolment_table.parse(table(row, headings=[*HEADINGS, *more]), "t.csv", today=TODAY)
    assert file.findings[0].distances[0].at == expected


@pytest.mark.parametrize(("cell", "expected"), [("yes", True), ("No", False), ("TRUE", True), ("0", False)])
def test_yes_and_no(cell: str, expected: bool) -> None:
    text = table({"baby_at_home": cell}, headings=[*HEADINGS, "baby_at_home"])
    assert enrolment_table.parse(text, "t.csv")[0].baby_at_home is expected


def test_what_is_neither_yes_nor_no() -> None:
    text = table({"baby_at_home": "perhaps"}, headings=[*HEADINGS, "baby_at_home"])
    assert refused(text) == ("t.csv: row 2: baby_at_home: expected true or false",)


def test_mixed_units_are_refused() -> None:
    more = ["distance_at", "distance_state", "distance_method", "distance_unit"]
    row = {"distance_at": "25", "distance_state": "rest", "distance_method": "fingers", "distance_unit": "mm"}
    assert refused(table(row, headings=[*HEADINGS, *more])) == (
        "t.csv: row 2: distance_unit: mm do not go with fingers; expected fingers, never converted",
    )


@pytest.mark.parametrize(
    "text",
    [
        TEXT.replace("\n", "\r\n"),
        "\ufeff" + TEXT,
        TEXT.replace(",", ";"),
        "\n\n" + TEXT.replace("\nT2", "\n,,,\n\nT2"),
    ],
    ids=["Windows line ends", "byte order mark", "semicolons", "blank rows"],
)
def test_how_spreadsheets_save_a_table(text: str) -> None:
    expected = enrolment_table.parse(TEXT, "t.csv", today=TODAY)
    assert enrolment_table.parse(text, "t.csv", today=TODAY) == expected


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", ("t.csv: empty; expected a table of clients (CSV with a line of headings)",)),
        (
            "client,zone\n",
            ("t.csv: no client in it; expected a table of clients (CSV with a line of headings)",),
        ),
        (
            'client,zone\n"K1,Europe/Dublin\n',
            (
                (
                    "t.csv: not a table (unexpected end of data); "
                    "expected a table of clients (CSV with a line of headings)"
                ),
            ),
        ),
        (
            "client,zoen,zone,client\nK1,x,Europe/Dublin,K1",
            (
                "t.csv: row 1: zoen: not a column of the table; did you mean zone?",
                "t.csv: row 1: client: this column stands twice",
            ),
        ),
        ("client,zone\nK1,Europe/Dublin,7", ("t.csv: row 2: 3 cells, expected 2",)),
        (
            "client\nK1",
            (
                "t.csv: row 2: zone: missing; expected a value",
                "t.csv: row 2: starts_on: missing; expected a value",
                "t.csv: row 2: review_on: missing; expected a value",
                "t.csv: row 2: sets_a_day: missing; expected a value",
                "t.csv: row 2: nudge_times: missing; expected a value",
                "t.csv: row 2: exercise_1: missing; expected a value",
            ),
        ),
    ],
)
def test_what_is_no_table(text: str, faults: tuple[str, ...]) -> None:
    assert refused(text) == faults


def test_a_large_or_foreign_file(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    for content, why in (
        (b"x" * (5 * 1024 * 1024), "more than 4194304 bytes"),
        (b"\xff\xfe", "not a text file"),
    ):
        file.write_bytes(content)
        with pytest.raises(RefusedError, match=why):
            enrolment_table.read(file)


def test_every_column_leads_to_a_field_of_its_own() -> None:
    places = [column.place for column in enrolment_table.COLUMNS.values()]
    assert len(set(places)) == len(places)
    row = {
        "adjunct_3": "cat-stretch",
        "adjunct_position_3": "four-point",
        "adjunct_repetitions_3": "6",
        "adjunct_hold_s_3": "5",
    }
    (file,) = enrolment_table.parse(table(row, headings=[*HEADINGS, *row]), "t.csv")
    assert file.programme.adjuncts[0].position is Position.FOUR_POINT
