"""The plain table of days: figures anybody can check, and a line for each fault."""

import json
from pathlib import Path

import pytest

from bot import commands
from bot.domain.adherence import DayState
from bot.errors import RefusedError
from bot.rules import adherence_table

HEAD = "date,prescribed,reported"


def table(*cells: str, head: str = HEAD) -> str:
    """A table with one row for each of `cells`, on days from 2 March 2026 on."""
    return "\n".join((head, *(f"2026-03-{2 + n:02},{row}" for n, row in enumerate(cells))))


def made(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    """What the verb prints as JSON."""
    file = tmp_path / "days.csv"
    file.write_text(text, encoding="utf-8")
    assert commands.run(["adherence", str(file), "--json"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    document: dict[str, object] = json.loads(line)
    return document


def test_bounds_of_a_week_with_missing_days(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Worst and best case of what is missing (Manski 2005), worked by hand: 13 of 21 done, 5 unknown."""
    found = made(table("4,4", "3,3", "3,3", "3,3", "3,0", "3,", "2,"), tmp_path, capsys)
    assert (found["prescribed"], found["done"], found["unknown"]) == (21, 13, 5)
    assert found["lower"] == 13 / 21
    assert found["upper"] == 18 / 21
    assert found["on_answered"] == 13 / 16
    assert found["answered_share"] == 5 / 7
    assert found["standing"] == "cannot tell"


def test_reports_are_capped_day_by_day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """17 sets were done of 21, and 15 count: extra sets never cover missed ones (worked by hand)."""
    found = made(table("3,5", "3,3", "3,3", "3,0", "3,3", "3,3", "3,0"), tmp_path, capsys)
    assert (found["done"], found["extra"], found["lower"]) == (15, 2, 15 / 21)


def test_days_covered_by_both_meanings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Days covered out of days in the window (Pharmacy Quality Alliance, read); a week worked by hand."""
    found = made(table("3,3", "3,3", "3,3", "3,3", "3,2", "3,2", "3,1"), tmp_path, capsys)
    assert found["days_covered"] == {
        "all sets": {"at_least": 4, "at_most": 4, "days": 7, "lower": 4 / 7, "upper": 4 / 7},
        "any set": {"at_least": 7, "at_most": 7, "days": 7, "lower": 1.0, "upper": 1.0},
    }


def test_nothing_to_divide_is_null(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    apart = table("3,3,paused", "3,,stopped", head=f"{HEAD},state")
    for text in (HEAD, table("0,", "0,2"), apart):
        found = made(text, tmp_path, capsys)
        assert [found[name] for name in ("lower", "upper", "on_answered", "answered_share")] == [None] * 4
    found = made(apart, tmp_path, capsys)
    assert (found["paused_days"], found["stopped_days"], found["extra"]) == (1, 1, 3)


def test_a_table_as_a_spreadsheet_saves_it() -> None:
    text = "\ufeffReported , STATE,Date,Prescribed\r\n2,,2026-03-02,3\r\n,Paused,2026-03-03,3\r\n,,,\r\n"
    days = adherence_table.parse(text, "days.csv")
    assert [(day.on.day, day.prescribed, day.reported, day.state) for day in days] == [
        (2, 3, 2, DayState.ACTIVE),
        (3, 3, None, DayState.PAUSED),
    ]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", ["days.csv: empty; expected a table of days (CSV with the headings date,prescribed,reported)"]),
        (
            "date,prescribed\n2026-03-02,3",
            [f"days.csv: row 1: reported: missing; expected {adherence_table.EXPECTED}"],
        ),
        (
            f"{HEAD},date\n",
            ["days.csv: row 1: 'date': expected some of date, prescribed, reported, state, each once"],
        ),
        (
            f"{HEAD},state\n2026-13-02,x,-1,asleep\n2026-03-02,3\n2026-03-02,101,2.5,\n2026-03-02,3,,,9",
            [
                "days.csv: row 2: date: '2026-13-02': expected a day such as 2026-03-02",
                "days.csv: row 2: prescribed: 'x': expected a whole number from 0 to 100",
                "days.csv: row 2: reported: '-1': expected a whole number from 0 to 100 or nothing",
                "days.csv: row 2: state: 'asleep': expected active, paused, stopped, travel or nothing",
                "days.csv: row 4: prescribed: '101': expected a whole number from 0 to 100",
                "days.csv: row 4: reported: '2.5': expected a whole number from 0 to 100 or nothing",
                "days.csv: row 5: 5 cells; expected 4",
            ],
        ),
        (
            table("3,3") + "\n2026-03-02,3,1",
            ["days.csv: date: 2026-03-02 stands twice; a local date is one diary day"],
        ),
        (
            f'{HEAD}\n2026-03-02,3,"3',
            [f"days.csv: not CSV (unexpected end of data); expected {adherence_table.EXPECTED}"],
        ),
    ],
)
def test_every_fault_has_its_line(text: str, faults: list[str]) -> None:
    with pytest.raises(RefusedError) as refused:
        adherence_table.parse(text, "days.csv")
    assert list(refused.value.faults) == faults


def test_a_missing_file_is_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert commands.run(["adherence", str(tmp_path / "none.csv")]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.endswith("none.csv: cannot be read (No such file or directory)\n")


def test_the_figures_in_words(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "days.csv"
    file.write_text(table("3,3", "3,"), encoding="utf-8")
    assert commands.run(["adherence", str(file)]) == 0
    assert capsys.readouterr().out == "3 to 6 of 6, answered 1 of 2 days\n"
