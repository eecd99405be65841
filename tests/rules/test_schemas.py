"""The published schemas against a JSON Schema library: what an editor accepts is what the program accepts."""

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from bot.rules import own_signs, prescription_file, rulebook
from tests.rules.checkout import ROOT

EXAMPLES = ROOT / "docs/examples"
SCHEMA = prescription_file.schema()
# Whose shape is right: what is wrong with the last two depends on other fields, which no schema can say.
WELL_SHAPED = (
    "caesarean", "early-postnatal", "leakage", "never-pregnant", "prolapse", "raised-tone", "wide-separation",
    "curl-up-too-early", "days-out-of-order",
)  # fmt: skip


def plain(value: Any) -> Any:
    """A TOML document as an editor sees it: days and times are texts."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [plain(one) for one in value]
    return value.isoformat() if isinstance(value, dt.date | dt.time) else value


def faults(path: Path, schema: dict[str, Any]) -> set[str]:
    """The places a schema finds fault with."""
    checker = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    document = plain(tomllib.loads(path.read_text(encoding="utf-8")))
    return {".".join(map(str, error.absolute_path)) for error in checker.iter_errors(document)}


@pytest.mark.parametrize(
    "schema", [SCHEMA, rulebook.own_schema(), own_signs.schema()], ids=["prescription", "own", "own-signs"]
)
def test_each_schema_is_one(schema: dict[str, Any]) -> None:
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("name", WELL_SHAPED)
def test_a_well_shaped_example_passes(name: str) -> None:
    assert faults(EXAMPLES / f"{name}.toml", SCHEMA) == set()


def test_slips_are_found_where_the_program_finds_them() -> None:
    """The schema misses none of the program's places but those that need another field or the catalogue."""
    found = faults(EXAMPLES / "slips-of-the-pen.toml", SCHEMA)
    assert {
        "findings.0.heaviness",
        "programme.sets_a_day",
        "programme.contractions.0.repetitions",
        "programme.contractions.0.hold_s",
    } <= found
    assert len(WELL_SHAPED) + 1 == len(list(EXAMPLES.glob("*.toml")))


def test_a_clinics_own_file_passes_its_schema() -> None:
    assert faults(EXAMPLES / "own/clinic.toml", rulebook.own_schema()) == set()
