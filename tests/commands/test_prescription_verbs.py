"""`check`, `dose`, `gates`, `schema`, `catalogue`: no setting, no database, no network."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from bot import commands
from tests.rules.checkout import ROOT

EXAMPLES = ROOT / "docs/examples"
ON = ("--on", "2026-03-02")


class Said:
    """What a verb answered: exit code, the object it printed (or its text), its complaints."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.faults = code, out, err.splitlines()

    @property
    def json(self) -> dict[str, Any]:
        (line,) = self.out.splitlines()
        found: dict[str, Any] = json.loads(line)
        return found


@pytest.fixture
def verb(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Any:
    """Runs a verb in the checkout, with nothing set."""
    monkeypatch.chdir(ROOT)
    for name in ("DATABASE_URL", "DATA_KEYS", "DATA_KEYS_FILE", "BOT_TOKEN", "SECRETS_DIR"):
        monkeypatch.delenv(name, raising=False)

    def run(*arguments: str) -> Said:
        code = commands.run(arguments)
        return Said(code, *capsys.readouterr())

    return run


FIT = (
    "caesarean", "early-postnatal", "leakage", "never-pregnant", "prolapse", "raised-tone", "wide-separation",
)  # fmt: skip


def test_there_are_ten_examples_one_for_each_kind_of_client() -> None:
    names = {path.stem for path in EXAMPLES.glob("*.toml")}
    assert len(names) == 10
    assert set(FIT) < names
    kinds = {"early-postnatal", "caesarean", "wide-separation", "prolapse", "leakage", "never-pregnant"}
    assert kinds <= names
    listed = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    assert all(f"`{name}.toml`" in listed for name in names)


@pytest.mark.parametrize("name", FIT)
def test_a_valid_example_is_fit_to_be_put_in_force(verb: Any, name: str) -> None:
    done = verb("check", f"docs/examples/{name}.toml", *ON, "--json")
    (checked,) = done.json["files"]
    assert (done.code, done.faults, checked["ok"]) == (0, [], True)
    assert checked["summary"][0].startswith(f"{checked['client']}: from 2026-03-0")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (
            "early-postnatal",
            ["bleeding on 2026-03-02", "doming on 2026-03-02", "no PERFECT values on record"],
        ),
        (
            "caesarean",
            ["released: Bridge with ball squeeze, on 2026-03-02 by T1", "9 whole weeks since birth"],
        ),
        ("wide-separation", ["3 finger widths above the navel", "on Mon, Wed, Fri, Sat", "floor: 24 long"]),
        ("prolapse", ["released against the gate: Bridge", "over 24 months ago; is the year right?"]),
        ("leakage", ["released: Jogging on the spot", "floor: 30 long pelvic-floor contractions a day"]),
        ("never-pregnant", ["no birth on record", "as many as fit in 10 s (counted: 6)"]),
        (
            "raised-tone",
            ["no dose proposed: she cannot let go fully; raised resting tone; pain on contraction"],
        ),
    ],
)
def test_the_summary_says_the_right_thing(verb: Any, name: str, said: list[str]) -> None:
    done = verb("check", f"docs/examples/{name}.toml", *ON)
    assert (done.code, done.faults) == (0, [])
    for part in said:
        assert part in done.out


def test_a_gate_stands_against_an_example(verb: Any) -> None:
    done = verb("check", "docs/examples/curl-up-too-early.toml", *ON, "--json")
    place = "docs/examples/curl-up-too-early.toml: programme.adjuncts"
    assert done.code == 2
    assert done.faults == [
        (
            f"{place}.0.exercise: toe-taps is ready for review on 2026-03-03, not released; "
            "expected a release with its reason"
        ),
        (
            f"{place}.1.exercise: curl-up is not allowed yet on 2026-03-03: "
            "no clearance for strong rectus load; 12 whole weeks since birth, 16 wanted, so from 2026-03-30 "
            "[common practice, no source; no published week was found]; 2.5 finger widths above the navel "
            "(at head lift) on 2026-03-02, under 2 wanted [common practice, no source]"
        ),
    ]
    (checked,) = done.json["files"]
    assert (checked["ok"], checked["faults"], checked["client"]) == (False, done.faults, "X1")


def test_slips_and_days_are_told_in_one_go(verb: Any) -> None:
    done = verb("check", "docs/examples/slips-of-the-pen.toml", "docs/examples/days-out-of-order.toml", *ON)
    assert (done.code, done.out) == (2, "")
    names = [line.split(": ")[0].rpartition("/")[2] for line in done.faults]
    assert (names.count("slips-of-the-pen.toml"), names.count("days-out-of-order.toml")) == (12, 4)
    helpful = ("expected", "did you mean", "Input should be", "not a field")
    assert all(any(word in line for word in helpful) for line in done.faults)


def test_valid_and_invalid_files_in_one_call(verb: Any) -> None:
    done = verb("check", *map(str, sorted(EXAMPLES.glob("*.toml"))), "nowhere.toml", *ON, "--json")
    assert done.code == 2
    assert done.json["ok"] is False
    fit = {Path(one["file"]).stem for one in done.json["files"] if one["ok"]}
    assert fit == set(FIT)
    assert done.faults[-1] == "nowhere.toml: cannot be read (No such file or directory)"


def test_in_brief_only_whether_a_file_is_fit(verb: Any) -> None:
    names = [f"docs/examples/{name}.toml" for name in FIT]
    done = verb("check", *names, "docs/examples/curl-up-too-early.toml", "--brief", *ON)
    assert done.out.splitlines() == [f"{name}: fit to be put in force" for name in names]
    assert (done.code, len(done.faults)) == (2, 2)
    (one,) = verb("check", names[0], "--brief", "--json", *ON).json["files"]
    assert one == {"file": names[0], "ok": True, "client": "C1", "faults": []}


def test_a_table_is_checked_whole(verb: Any, tmp_path: Path) -> None:
    done = verb("check", "docs/examples/tables/clients.csv", *ON)
    assert (done.code, done.out.splitlines()[1]) == (0, "  2 clients: T1, T2")
    text = (EXAMPLES / "tables/clients.csv").read_text(encoding="utf-8")
    faulty = tmp_path / "clients.CSV"
    faulty.write_text(text.replace("pelvic-floor-quick,8", "pelvic-floor-quick,80"), encoding="utf-8")
    done = verb("check", str(faulty), *ON, "--json")
    assert done.code == 2
    assert done.faults == [f"{faulty}: row 2: repetitions_2: Input should be less than or equal to 30"]
    assert "clients" not in done.json["files"][0]


def test_a_finding_may_not_be_dated_after_the_day(verb: Any) -> None:
    done = verb("check", "docs/examples/raised-tone.toml", "--on", "2026-03-01")
    assert done.faults == [
        (
            "docs/examples/raised-tone.toml: findings.0.on: 2026-03-02 lies in the future; "
            "expected a day up to 2026-03-01"
        )
    ]


def test_the_dose_of_a_file(verb: Any) -> None:
    """Never pregnant, 3/5/4//7 three times a day: slow 12 a day, below the floor of 24 (NICE NG123)."""
    told = verb("dose", "docs/examples/never-pregnant.toml", "--json").json
    assert told["client"] == "N1"
    assert (told["a_set"]["contractions"], told["a_day"]["contractions"]) == (10, 30)
    assert (told["a_week"]["contractions"], told["by_weekday"][6]["contractions"]) == (180, 0)
    assert told["a_day"]["held_s"] == 60
    assert (told["floor"]["counted"], told["floor"]["floor"], told["floor"]["is_met"]) == (12, 24, False)
    proposal = told["proposal"]
    assert proposal["proposed"] is True
    assert [(one["repetitions"], one["hold_s"]) for one in proposal["contractions"]] == [(4, 5), (7, 1)]
    assert "Laycock" in proposal["source"]


def test_a_dose_that_is_not_proposed(verb: Any) -> None:
    proposal = verb("dose", "docs/examples/raised-tone.toml", "--json").json["proposal"]
    assert proposal == {
        "proposed": False,
        "reasons": ["release-not-full", "raised-tone", "pain-on-contraction"],
    }
    assert "no dose proposed: she cannot let go" in verb("dose", "docs/examples/raised-tone.toml").out


@pytest.mark.parametrize(
    ("on", "weeks", "state"),
    [("2026-03-29", 15, "not-yet"), ("2026-03-30", 16, "not-yet"), ("2026-05-01", 20, "not-yet")],
)
def test_the_gates_of_a_file_on_a_day(verb: Any, on: str, weeks: int, state: str) -> None:
    told = verb("gates", "docs/examples/curl-up-too-early.toml", "--on", on, "--json").json
    assert (told["client"], told["on"], told["weeks_since_birth"]) == ("X1", on, weeks)
    curl_up = next(gate for gate in told["gates"] if gate["exercise"] == "curl-up")
    assert curl_up["state"] == state
    reasons = {why["condition"]: why for why in curl_up["reasons"]}
    assert reasons["clearance"]["earliest_on"] is None
    assert ("weeks" in reasons) == (weeks < 16)
    if weeks < 16:
        assert reasons["weeks"]["earliest_on"] == "2026-03-30"
        assert reasons["weeks"]["limit"]["value"] == 16
    assert reasons["distance"]["lack"] == ("stale" if on > "2026-04-27" else "not-met")


def test_gates_in_words(verb: Any) -> None:
    done = verb("gates", "docs/examples/caesarean.toml", *ON)
    assert done.code == 0
    assert "ready for you to review, not released: Band pull-apart" in done.out


def test_the_catalogue_and_one_exercise(verb: Any) -> None:
    done = verb("catalogue")
    assert "curl-up: Curl-up (loads: abdominal pressure, strong rectus load)" in done.out.splitlines()
    whole = verb("catalogue", "bridge-ball-squeeze")
    assert "needs: soft ball, or a rolled towel or a small cushion" in whole.out
    assert "To get up: roll to your side" in whole.out
    (told,) = verb("catalogue", "toe-taps", "--json").json["exercises"]
    assert (told["loads"], told["easier"]) == (["pressure", "rectus"], "heel-lift")
    assert verb("catalogue", "to-taps").faults == [
        "'to-taps': not an exercise we know; did you mean toe-taps?"
    ]


def test_a_clinics_own_file_counts_everywhere(verb: Any, tmp_path: Path) -> None:
    own = ("--own", "docs/examples/own/clinic.toml")
    assert "wall-sit: Wall sit (loads: abdominal pressure)" in verb("catalogue", *own).out
    file = tmp_path / "L1.toml"
    text = (EXAMPLES / "leakage.toml").read_text(encoding="utf-8")
    # 19 weeks after the birth: enough for the packaged limit on impact, not for this clinic's.
    file.write_text(text.replace("on = 2025-02-20", "on = 2025-10-20").replace("2025-05-12", "2026-01-12"))
    assert verb("check", str(file), *ON).code == 0
    done = verb("check", str(file), *ON, *own)
    assert done.code == 2
    assert "19 whole weeks since birth, 20 wanted" in done.faults[-1]
    assert "[our clinic's agreement of January 2026]" in done.faults[-1]


def test_the_schemas(verb: Any) -> None:
    prescription = json.loads(verb("schema").out)
    assert prescription["title"] == "PrescriptionFile"
    own = json.loads(verb("schema", "own").out)
    assert {"exercise", "reword", "limits"} == set(own["properties"])
    assert own["properties"]["limits"]["properties"].keys() == {"gates", "dose", "progress"}
    for schema in (prescription, own):
        named = set(schema["$defs"])
        assert all(pointer.rpartition("/")[2] in named for pointer in _pointers(schema))


def _pointers(schema: Any) -> list[str]:
    if isinstance(schema, dict):
        inner = [pointer for part in schema.values() for pointer in _pointers(part)]
        return [*inner, schema["$ref"]] if isinstance(schema.get("$ref"), str) else inner
    return [pointer for part in schema for pointer in _pointers(part)] if isinstance(schema, list) else []


def test_a_day_that_is_none(verb: Any, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        verb("gates", "docs/examples/caesarean.toml", "--on", "tomorrow")
    assert stopped.value.code == 2
    assert "'tomorrow': expected a day such as 2026-03-02" in capsys.readouterr().err


def test_with_nothing_set_and_a_plain_locale() -> None:
    """The verb as it is started: from another process, no environment, ASCII locale."""
    done = subprocess.run(
        [sys.executable, "-m", "bot", "check", "docs/examples/prolapse.toml", *ON, "--json"],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "LC_ALL": "C"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["files"][0]["client"] == "P1"
