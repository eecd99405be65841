"""The verbs that report: one clinic's history, each form of it, and refusals in one line."""

import csv
import datetime as dt
import io
import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from bot import commands
from bot.domain.alerts import Alert, Outcome
from bot.domain.levels import Level
from bot.store import alerts, vault
from bot.store.ids import new_id
from tests.fixtures import histories
from tests.rules.checkout import ROOT
from tests.store import prepared

JOINED = dt.datetime(2026, 2, 9, 9, tzinfo=dt.UTC)
MONDAY = dt.date(2026, 3, 2)
Run = Callable[..., str]


@pytest.fixture(scope="module")
def settings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """A database with two clients: C1 with three weeks and an alert, C2 who was enrolled yesterday."""
    url = f"sqlite:///{tmp_path_factory.mktemp('clinic') / 'clinic.sqlite3'}"
    keys = vault.new_master_key()
    prepared.at_head(url)
    store = prepared.open_store(url, JOINED, keys)
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        histories.prescribe(tx, anna, 1, dt.date(2026, 2, 10), 3, JOINED)
        histories.prescribe(tx, anna, 2, dt.date(2026, 3, 4), 2, JOINED + dt.timedelta(weeks=3), hold_s=8)
        for n, sets in enumerate((3, 3, 2, 1, None, None, 2)):
            if sets is not None:
                histories.did(tx, anna, MONDAY + dt.timedelta(days=n), sets)
        for n, leaks in enumerate((7, 3, 3, 1)):
            histories.answered(tx, anna, dt.date(2026, 2, 15) + dt.timedelta(weeks=n), "leaks", leaks)
        at = JOINED + dt.timedelta(days=10)
        alert = Alert(new_id(at), anna.id, Level.SAME_DAY, "usual", ("leak_worse",), "wet", at, 0)
        alerts.add(tx, alert)
        alerts.add_event(tx, alert, "closed", at, note="GP today")
        alerts.change(tx, alert.id, closed_at=at, outcome=Outcome.PASSED_ON.value)
        histories.wrote(tx, anna, "=cmd is swimming fine?", at)
        new = histories.joined(tx, "C2", dt.datetime(2026, 3, 8, 9, tzinfo=dt.UTC))
        histories.prescribe(tx, new, 1, dt.date(2026, 3, 8), 3, JOINED)
    store.close()
    return {"DATABASE_URL": url, "DATA_KEYS": keys}


@pytest.fixture
def run(settings: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    for name, value in settings.items():
        monkeypatch.setenv(name, value)

    def call(*arguments: str, code: int = 0) -> str:
        assert commands.run(arguments) == code
        captured = capsys.readouterr()
        return captured.err if code else captured.out

    return call


def test_digest_as_text_and_json(run: Run) -> None:
    assert "11 to 15 of 16" in run("digest", "--week", "2026-W10")
    found = json.loads(run("digest", "--week", "2026-W10", "--therapist", "T1", "--json"))
    assert (found["clinic"], found["therapist"]) == ("harbour", "T1")
    assert (found["first_on"], found["last_on"]) == ("2026-03-02", "2026-03-08")
    assert found["at"] == "2026-03-09T07:45:00+00:00"  # the clinic's hour on the Monday after
    one, two = found["clients"]
    wanted = ("client", "prescribed", "done", "lower", "upper", "on_answered", "answered_share")
    assert [one[name] for name in wanted] == ["Zq.W. C1", 16, 11, 11 / 16, 15 / 16, 11 / 12, 5 / 7]
    assert one["advice"] == "hold"
    assert one["symptoms"]["leaks"]["trend"] == "too few to tell"
    assert (two["client"], two["answered_share"]) == ("Zq.W. C2", 0.0)


def test_digest_as_files(run: Run, tmp_path: Path) -> None:
    png, pdf, table = (tmp_path / f"digest.{kind}" for kind in ("png", "pdf", "csv"))
    run("digest", "--week", "2026-W10", "--png", str(png), "--pdf", str(pdf), "--csv", str(table))
    with Image.open(png) as image:
        assert image.width == 1080
    assert "Zq.W. C1" in PdfReader(pdf).pages[0].extract_text()
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [row["client"] for row in rows] == ["Zq.W. C1", "Zq.W. C2"]
    assert float(rows[0]["lower"]) == 11 / 16
    assert oct(png.stat().st_mode)[-3:] == "600"  # for whoever runs it alone


def test_summary_in_every_form(run: Run, tmp_path: Path) -> None:
    pdf, table = tmp_path / "c1.pdf", tmp_path / "c1.csv"
    text = run("summary", "C1", "--on", "2026-03-09", "--pdf", str(pdf), "--csv", str(table))
    assert "Closed on Thu 19 Feb: passed on: GP today." in text
    assert "hold 6 s -> 8 s" in text
    assert len(PdfReader(pdf).pages) == 1
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [row["leaks"] for row in rows] == ["7+", "3 to 6", "3 to 6", "1 to 2"]
    found = json.loads(run("summary", "C1", "--on", "2026-03-09", "--json"))
    assert found["alerts"][0]["outcome"] == "passed_on"
    assert found["adherence"][-1]["of"] == "whole programme"
    assert found["notes"][0]["text"] == "=cmd is swimming fine?"
    before = json.loads(run("summary", "C1", "--on", "2026-02-12", "--json"))
    assert (before["alerts"], before["today"]) == ([], "2026-02-12")


def test_discharge_with_what_she_keeps_going_with(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "keep.toml"
    file.write_text(histories.FILE.replace('"K1"', '"C1"'), encoding="utf-8")
    asked = ("discharge", "C1", "--on", "2026-03-09", "--maintenance", str(file), "--until", "2026-09-30")
    text = run(*asked, "--pdf", str(tmp_path / "c1.pdf"))
    assert "Until Wed 30 Sep 2026; then a decision by T1." in text
    assert "Discharge summary" in PdfReader(tmp_path / "c1.pdf").pages[0].extract_text()
    assert json.loads(run(*asked, "--json"))["maintenance"]["until_on"] == "2026-09-30"


def test_a_diary_gives_the_adherence_verb_what_it_reads(run: Run, tmp_path: Path) -> None:
    text = run("diary", "C1", "--csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    (day,) = (row for row in rows if row["date"] == "2026-03-04")
    assert (day["prescribed"], day["reported"], day["state"], day["version"]) == ("2", "2", "active", "2")
    file = tmp_path / "diary.csv"
    file.write_text(text, encoding="utf-8", newline="")
    figures = json.loads(run("adherence", str(file), "--json"))
    assert (figures["done"], figures["answered_days"]) == (11, 5)
    found = json.loads(run("diary", "C1", "--json"))
    (one,) = (entry for entry in found["days"] if entry["date"] == "2026-03-04")
    assert [(report["meaning"], report["value"]) for report in one["reports"]] == [("total", 2)]


def test_export_for_the_record_system(run: Run, tmp_path: Path) -> None:
    bundle, calendar = tmp_path / "c1.json", tmp_path / "c1.ics"
    asked = ("export", "C1", "--on", "2026-03-09")
    run(*asked, "--fhir", "--out", str(bundle))
    run(*asked, "--ics", "--out", str(calendar))
    kinds = Counter(entry["resource"]["resourceType"] for entry in json.loads(bundle.read_bytes())["entry"])
    assert (kinds["Patient"], kinds["CarePlan"], kinds["Flag"]) == (1, 2, 1)
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("digest", "--week", "2026-10"), "--week: '2026-10': expected a week such as 2026-W10"),
        (("digest", "--week", "2025-W53"), "--week: '2025-W53': expected a week such as 2026-W10"),
        (("digest", "--therapist", "T9"), "therapist T9: unknown; known are: T1"),
        (("digest", "--clinic", "elsewhere"), "clinic elsewhere: unknown"),
        (("summary", "C9"), "client C9: unknown; enrol her with `programme-bot add-client`"),
        (("diary", "C1", "--clinic", "elsewhere"), "clinic elsewhere: unknown"),
        (
            ("digest", "--pdf", "{folder}/none/x.pdf"),
            "none/x.pdf: cannot be written (No such file or directory)",
        ),
        (("discharge", "C1", "--maintenance", "{root}/demo/prescriptions/K4.toml"), "client: K4 is not C1"),
    ],
)
def test_a_refusal_is_one_line(run: Run, tmp_path: Path, arguments: tuple[str, ...], line: str) -> None:
    filled = (argument.format(folder=tmp_path, root=ROOT) for argument in arguments)
    said = run(*filled, code=2)
    assert said.endswith(f"{line}\n")
    assert len(said.splitlines()) == 1
