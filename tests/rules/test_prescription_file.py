"""The prescription file: what it takes, what it refuses in a clear line, and that it comes back unchanged."""

import copy
import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from bot.domain.prescription import Adjunct, Position
from bot.errors import RefusedError
from bot.rules import faults, prescription_file, rulebook
from bot.rules.prescription_models import PrescriptionFile
from tests.fixtures.documents import documents
from tests.rules.checkout import ROOT

TODAY = dt.date(2026, 3, 2)
EXAMPLES = ROOT / "docs/examples"
WHOLE = tomllib.loads((EXAMPLES / "wide-separation.toml").read_text(encoding="utf-8"))
RULES = rulebook.packaged()


def changed(path: str, value: object) -> dict[str, Any]:
    """The example with one value set, added, or (...) left out."""
    document = copy.deepcopy(WHOLE)
    *steps, last = (int(step) if step.isdigit() else step for step in path.split("/"))
    table: Any = document
    for step in steps:
        table = table[step]
    if value is ...:
        del table[last]
    else:
        table[last] = value
    return document


def refused(document: dict[str, Any]) -> tuple[str, ...]:
    with pytest.raises(RefusedError) as error:
        prescription_file.from_document(document, "K.toml", RULES, TODAY)
    return error.value.faults


def test_the_example_is_taken() -> None:
    file = prescription_file.from_document(WHOLE, "K.toml", RULES, TODAY)
    assert file.client == "W1"
    assert prescription_file.prescription(file).adjuncts == (
        Adjunct("heel-lift", Position.LYING, repetitions=10),
    )
    record = prescription_file.record(file)
    assert [distance.width for distance in record.findings[1].distances] == [3, 3, 1.5]


@pytest.mark.parametrize(
    ("path", "value", "fault"),
    [
        # numbers that are negative, absurd or no numbers
        ("programme/contractions/0/hold_s", 90, "Input should be less than or equal to 10"),
        ("programme/contractions/0/hold_s", 0, "Input should be greater than or equal to 1"),
        ("programme/contractions/0/hold_s", "8", "expected a whole number"),
        ("programme/contractions/0/hold_s", True, "expected a whole number"),
        ("programme/contractions/0/hold_s", 7.5, "expected a whole number"),
        ("programme/contractions/0/repetitions", -8, "Input should be greater than or equal to 1"),
        ("programme/contractions/0/repetitions", ..., "missing; expected a value"),
        ("programme/sets_a_day", 40, "Input should be less than or equal to 8"),
        ("programme/pause_s", -1, "Input should be greater than or equal to 0"),
        ("findings/0/heaviness", 11, "Input should be less than or equal to 10"),
        ("findings/0/leaks_a_week", -3, "Input should be greater than or equal to 0"),
        (
            "findings/1/perfect",
            "3/5/4",
            ("expected PERFECT values such as 3/5/4//7 (power, endurance, repetitions, fast)"),
        ),
        ("findings/1/perfect", "3/15/4//7", "endurance_s 15, expected 0 to 10"),
        ("findings/0/distances/0/above", -1, "Input should be greater than or equal to 0"),
        ("findings/0/distances/0/above", 25, "25 fingers is not possible; expected at most 10"),
        ("findings/0/distances/0/above", float("nan"), "expected a number"),
        # days
        ("programme/review_on", dt.date(2026, 3, 3), "expected a day after starts_on"),
        (
            "programme/review_on",
            dt.date(2062, 3, 3),
            "more than a year after starts_on; expected a day within it",
        ),
        ("programme/starts_on", 20260303, "expected a day such as 2026-03-02"),
        (
            "programme/starts_on",
            dt.datetime(2026, 3, 3, 8, tzinfo=dt.UTC),
            "expected a day such as 2026-03-02",
        ),
        ("programme/starts_on", "3.3.2026", "expected a day such as 2026-03-02"),
        (
            "findings/1/on",
            dt.date(2026, 3, 3),
            "2026-03-03 lies in the future; expected a day up to 2026-03-02",
        ),
        ("birth/on", dt.date(2026, 3, 9), "2026-03-09 lies in the future; expected a day up to 2026-03-02"),
        ("birth/on", dt.date(1899, 3, 9), "1899-03-09 is more than 60 years ago; expected a birth since"),
        (
            "pregnant_since_on",
            dt.date(2027, 1, 1),
            "2027-01-01 lies in the future; expected a day up to 2026-03-02",
        ),
        # what there is not
        ("zone", "Europe/Dublen", "There is no time zone 'Europe/Dublen': did you mean Europe/Dublin?"),
        (
            "programme/contractions/0/exercise",
            "pelvic-flor-long-hold",
            "'pelvic-flor-long-hold' is not an exercise we know; did you mean pelvic-floor-long-hold?",
        ),
        (
            "programme/adjuncts/0/exercise",
            "xyzzy",
            "'xyzzy' is not an exercise we know; see `programme-bot catalogue`",
        ),
        ("releases/0/exercise", "heel-lft", "'heel-lft' is not an exercise we know; did you mean heel-lift?"),
        ("programme/contractions/0/repetions", 8, "not a field of a prescription; did you mean repetitions?"),
        ("colour", "red", "not a field of a prescription"),
        (
            "check_in/questions",
            ["mood"],
            "'mood' is not a question; expected some of leaks, heaviness, pain, doming",
        ),
        ("client", "Anna Smith", "expected letters, digits and hyphens only"),
        # positions and places
        (
            "programme/contractions/0/position",
            "on the sofa",
            "Input should be 'lying', 'side-lying', 'four-point', 'sitting' or 'standing'",
        ),
        ("programme/adjuncts/0/position", "standing", "heel-lift is not done standing; expected lying"),
        ("programme/contractions/0/easier_position", "standing", "standing is not easier than sitting"),
        (
            "programme/contractions/0/exercise",
            "curl-up",
            "curl-up does not belong in a set; expected it under programme.adjuncts",
        ),
        (
            "programme/adjuncts/0/exercise",
            "both-together",
            "both-together belongs in a set; expected it under programme.contractions",
        ),
        ("programme/adjuncts/0/repetitions", ..., "missing; heel-lift is counted in repetitions"),
        ("programme/adjuncts/0/minutes", 5, "heel-lift is counted in repetitions; expected nothing here"),
        # times
        ("programme/nudge_times", ["08:30", "13:00"], "2 given, expected one for each of 3 sets"),
        (
            "programme/nudge_times",
            ["08:30", "13:00", "22:15"],
            "22:15 lies in the quiet hours 21:00 to 07:30; expected a time outside them",
        ),
        (
            "programme/nudge_times",
            ["08:30", "09:00", "18:30"],
            "expected in order of the day, at least 60 minutes apart",
        ),
        (
            "programme/nudge_times",
            ["18:30", "13:00", "08:30"],
            "expected in order of the day, at least 60 minutes apart",
        ),
        (
            "programme/round_up_at",
            "21:00",
            "21:00 lies in the quiet hours 21:00 to 07:30; expected a time outside them",
        ),
        ("programme/quiet_from", "half nine", 'expected a time such as "08:30"'),
        ("programme/days", ["mon", "mon"], "a day stands twice; expected each once"),
        ("programme/days", [], "expected at least 1"),
        ("programme/contractions", [], "expected at least 1"),
        # units
        ("findings/0/distances/0/unit", "mm", "mm do not go with fingers; expected fingers, never converted"),
        (
            "findings/0/distances/0/method",
            "ultrasound",
            "fingers do not go with ultrasound; expected mm, never converted",
        ),
        # yes and no
        ("findings/0/doming", "no", "expected true or false"),
        ("baby_at_home", 1, "expected true or false"),
        # releases
        ("releases/0/sets_aside", ["sign"], "sign cannot be set aside"),
        ("releases/0/reason", ..., "missing; expected a value"),
    ],
)
def test_one_slip_is_one_clear_line(path: str, value: object, fault: str) -> None:
    said = refused(changed(path, value))
    place = path.replace("/", ".")
    if path.endswith("distances/0/method"):
        place = place.replace("method", "unit")
    if path.endswith(("adjuncts/0/exercise", "contractions/0/exercise")) and "belong" in fault:
        assert f"K.toml: {place}: {fault}" in said
    else:
        assert said == (f"K.toml: {place}: {fault}",)


@pytest.mark.parametrize(
    ("path", "value", "faults_"),
    [
        (
            "clearances/0/on",
            dt.date(2025, 9, 1),
            ("clearances.0.on: 2025-09-01 lies before the birth on 2025-10-01; expected a day since",),
        ),
        (
            "birth/on",
            dt.date(2026, 1, 20),
            (
                "clearances.0.on: 2026-01-12 lies before the birth on 2026-01-20; expected a day since",
                "findings.0.on: 2026-01-12 lies before the birth on 2026-01-20; expected a day since",
            ),
        ),
        (
            "findings/0/on",
            dt.date(2026, 3, 2),
            ("findings.1.on: 2026-03-02 stands twice; expected all findings of a day in one place",),
        ),
        (
            "findings/1/how",
            ...,
            ("findings.1.how: missing; expected how it was confirmed, or why it was not",),
        ),
        (
            "findings/0/distances/0",
            {"state": "rest", "method": "fingers", "unit": "fingers"},
            ("findings.0.distances.0.below: no distance given; expected one at least of above, at, below",),
        ),
        (
            "findings/0/distances",
            [
                {"state": "rest", "method": "fingers", "unit": "fingers", "at": 2},
                {"state": "rest", "method": "ultrasound", "unit": "mm", "at": 25},
            ],
            ("findings.0.distances: fingers and mm on one day at rest; expected one unit",),
        ),
        (
            "programme/days",
            ["mon", "tue"],
            (
                (
                    "programme.contractions.1.days: wed, fri, sat is no day of the programme; "
                    "expected some of mon, tue"
                ),
            ),
        ),
        (
            "programme/contractions/0/days",
            ["mon"],
            (
                (
                    "programme.contractions: nothing to do on tue, thu, sun; expected that day left out of "
                    "programme.days"
                ),
            ),
        ),
    ],
)
def test_values_that_do_not_go_together(path: str, value: object, faults_: tuple[str, ...]) -> None:
    assert refused(changed(path, value)) == tuple(f"K.toml: {fault}" for fault in faults_)


def test_all_slips_are_told_in_one_go() -> None:
    document = changed("programme/contractions/0/hold_s", 90)
    document["programme"]["contractions"][1]["exercise"] = "xyzzy"
    document["zone"] = "Nowhere/At_All"
    document["findings"][0]["heaviness"] = 12
    document["programme"]["review_on"] = dt.date(2020, 1, 1)
    assert len(refused(document)) == 5


# Files


def write(tmp_path: Path, content: bytes) -> Path:
    file = tmp_path / "K.toml"
    file.write_bytes(content)
    return file


TEXT = (EXAMPLES / "wide-separation.toml").read_bytes()


@pytest.mark.parametrize(
    "content",
    [
        TEXT,
        TEXT.replace(b"\n", b"\r\n"),
        b"\xef\xbb\xbf" + TEXT,
        b"\xef\xbb\xbf" + TEXT.replace(b"\n", b"\r\n"),
    ],
    ids=["as it is", "Windows line ends", "byte order mark", "both"],
)
def test_line_ends_and_a_byte_order_mark_do_not_matter(tmp_path: Path, content: bytes) -> None:
    expected = prescription_file.from_document(WHOLE, "K.toml")
    assert prescription_file.read(write(tmp_path, content), today=TODAY) == expected


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"", "empty; expected a prescription in TOML"),
        (b" \r\n\n", "empty; expected a prescription in TOML"),
        (b"x" * (10 * 1024 * 1024), "more than 262144 bytes; expected a prescription in TOML"),
        ("clïent".encode("utf-16"), "not a text file in UTF-8; expected a prescription in TOML"),
        (b"\x89PNG\r\n\x1a\n\0\0", "not a text file in UTF-8; expected a prescription in TOML"),
        (
            b"client: K1\n",
            (
                "not TOML (Expected '=' after a key in a key/value pair (at line 1, column 7)); "
                "expected a prescription in TOML"
            ),
        ),
        (
            b"[" * 100_000,
            (
                "not TOML (Invalid initial character for a key part (at line 1, column 3)); "
                "expected a prescription in TOML"
            ),
        ),
        (
            b"a = " + b"9" * 100_000,
            ("not TOML (a number or nesting beyond all measure); expected a prescription in TOML"),
        ),
        (
            b"a = " + b"[" * 50_000,
            ("not TOML (a number or nesting beyond all measure); expected a prescription in TOML"),
        ),
    ],
)
def test_what_is_no_prescription_at_all(tmp_path: Path, content: bytes, fault: str) -> None:
    file = write(tmp_path, content)
    with pytest.raises(RefusedError) as error:
        prescription_file.read(file)
    assert error.value.faults == (f"{file}: {fault}",)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    for path, why in ((tmp_path / "none.toml", "No such file or directory"), (tmp_path, "Is a directory")):
        with pytest.raises(RefusedError) as error:
            prescription_file.read(path)
        assert error.value.faults == (f"{path}: cannot be read ({why})",)


def test_a_fault_is_one_line_whatever_was_typed() -> None:
    said = refused(changed("a\nb\x1b[31m" + "c" * 200, 1))
    assert len(said) == 1
    assert said[0].isprintable()
    assert len(said[0]) < 200


# Gates


def test_reading_refuses_what_a_gate_stands_against_and_looking_does_not() -> None:
    path = EXAMPLES / "curl-up-too-early.toml"
    assert prescription_file.read_any(path).client == "X1"
    with pytest.raises(RefusedError) as error:
        prescription_file.read(path)
    assert [line.split(": ")[1] for line in error.value.faults] == [
        "programme.adjuncts.0.exercise",
        "programme.adjuncts.1.exercise",
    ]


def test_a_release_whose_conditions_did_not_hold_is_refused(tmp_path: Path) -> None:
    text = (EXAMPLES / "prolapse.toml").read_text(encoding="utf-8")
    file = write(tmp_path, text.replace('sets_aside = ["heaviness"]', "").encode())
    heavy = "heaviness 3 of 10 on 2026-03-02, at most 0 wanted [common practice, no source]"
    with pytest.raises(RefusedError) as error:
        prescription_file.read(file)
    assert error.value.faults == (
        (
            f"{file}: releases.0: the conditions did not hold on 2026-03-02: {heavy}; "
            "expected a release once they hold, or an override that names them under sets_aside"
        ),
        (
            f"{file}: programme.adjuncts.0.exercise: "
            f"bridge-ball-squeeze is not allowed yet on 2026-03-03: {heavy}"
        ),
    )


# Back and forth


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(documents())
def test_any_prescription_comes_back_unchanged(document: dict[str, Any]) -> None:
    """File, model, stored document and text all say the same; written again, the text is the same too."""
    file = prescription_file.from_document(document, "K.toml", RULES)
    stored = json.loads(json.dumps(prescription_file.to_document(file)))
    assert prescription_file.from_document(stored, "stored") == file
    text = prescription_file.to_text(file)
    again = prescription_file.parse(text, "K.toml")
    assert again == file
    assert prescription_file.to_text(again) == text
    assert prescription_file.parse("\ufeff" + text.replace("\n", "\r\n"), "K.toml") == file
    assert prescription_file.prescription(again) == prescription_file.prescription(file)
    assert prescription_file.record(again) == prescription_file.record(file)


@pytest.mark.parametrize(
    "path", sorted((ROOT / "demo/prescriptions").glob("*.toml")), ids=lambda path: path.stem
)
def test_the_demos_prescriptions_are_fit(path: Path) -> None:
    file = prescription_file.read(path)
    assert prescription_file.parse(prescription_file.to_text(file), "again") == file


def test_what_was_stored_before_the_file_grew_can_still_be_read() -> None:
    """A document without findings, adjuncts and the rest, as earlier releases kept it."""
    document = {
        "client": "K1",
        "initials": None,
        "zone": "Europe/Dublin",
        "language": "en",
        "baby_at_home": True,
        "most_messages_a_day": 3,
        "programme": {
            "starts_on": "2026-03-02",
            "review_on": "2026-04-13",
            "sets_a_day": 1,
            "days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
            "nudge_times": ["08:30:00"],
            "quiet_from": "21:30:00",
            "quiet_to": "07:30:00",
            "round_up_at": "20:30:00",
            "contractions": [
                {
                    "exercise": "an-exercise-that-left",
                    "repetitions": 8,
                    "hold_s": 6,
                    "rest_s": 12,
                    "position": "lying",
                }
            ],
        },
        "check_in": {"day": "sun", "questions": ["leaks", "heaviness", "pain"]},
    }
    file = prescription_file.from_document(document, "stored")
    assert prescription_file.prescription(file).contractions[0].exercise == "an-exercise-that-left"
    assert prescription_file.record(file).findings == ()


# The schema


def test_the_schema_is_of_the_same_models() -> None:
    schema = prescription_file.schema()
    assert set(schema["properties"]) == set(PrescriptionFile.model_fields)
    assert schema["additionalProperties"] is False
    assert set(schema["required"]) == {"client", "zone", "programme"}
    programme = schema["$defs"]["Programme"]["properties"]
    assert programme["sets_a_day"]["maximum"] == 8
    assert programme["starts_on"]["format"] == "date"
    assert programme["nudge_times"]["items"]["pattern"].startswith("^([01]")
    entry = schema["$defs"]["ContractionsEntry"]["properties"]
    assert (entry["hold_s"]["minimum"], entry["hold_s"]["maximum"]) == (1, 10)
    assert schema["$defs"]["Position"]["enum"] == [position.value for position in Position]


def test_every_field_is_named_in_the_schema_for_hints() -> None:
    names = faults.field_names(PrescriptionFile)
    assert {"hold_s", "sets_aside", "tear", "endurance_s", "pregnant_since_on"} <= names
