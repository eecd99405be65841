"""The prescription file: one client's programme in TOML, checked before anything is stored."""

import datetime as dt
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from bot.domain.prescription import Prescription
from bot.errors import RefusedError
from bot.rules import faults, prescription_check, rulebook
from bot.rules.prescription_fields import DAYS, Context
from bot.rules.prescription_models import PrescriptionFile
from bot.rules.prescription_text import to_text
from bot.rules.prescription_values import prescription, record
from bot.rules.rulebook import Rulebook

__all__ = [
    "PrescriptionFile",
    "from_document",
    "outline",
    "parse",
    "prescription",
    "read",
    "read_any",
    "record",
    "schema",
    "to_document",
    "to_text",
]

LARGEST_FILE_BYTES = 256 * 1024
EXPECTED = "a prescription in TOML"
_FIELDS = faults.field_names(PrescriptionFile)


def read(path: Path, rules: Rulebook | None = None, today: dt.date | None = None) -> PrescriptionFile:
    """The prescription in a file, fit to be put in force: no gate stands against it on its first day.

    rules: exercises and limits, None for the packaged ones. today: no finding may be dated after it, None
    where the day is not known. Raises RefusedError with one line for each fault: the file, the field, what is
    wrong and was expected.
    """
    rules = rules or rulebook.packaged()
    file = read_any(path, rules, today)
    prescription_check.refuse_unless_fit(file, rules, str(path))
    return file


def read_any(path: Path, rules: Rulebook | None = None, today: dt.date | None = None) -> PrescriptionFile:
    """The same, whether or not a gate stands against it: to look at, not to put in force."""
    return parse(faults.read_text(path, LARGEST_FILE_BYTES, EXPECTED), str(path), rules, today)


def parse(
    text: str, name: str, rules: Rulebook | None = None, today: dt.date | None = None
) -> PrescriptionFile:
    """The prescription in a text, whether or not a gate stands against it; `name` leads every fault."""
    document = faults.read_toml(text, name, EXPECTED)
    return from_document(document, name, rules or rulebook.packaged(), today)


def from_document(
    document: Mapping[str, Any], name: str, rules: Rulebook | None = None, today: dt.date | None = None
) -> PrescriptionFile:
    """The prescription in a parsed document, whether or not a gate stands against it.

    Without `rules` its shape alone is checked, as for one that is stored: exercises may have left the
    catalogue since.
    """
    context = None if rules is None else Context(rules.catalogue, today)
    try:
        return PrescriptionFile.model_validate(document, context=context)
    except ValidationError as error:
        raise RefusedError(
            *(
                faults.line(name, faults.dotted(place), message)
                for place, message in faults.lines(error, "a prescription", _FIELDS)
            )
        ) from None


def outline(document: Mapping[str, Any]) -> Prescription:
    """How many sets are due when, of a stored document: its days and dates, and none of its exercises.

    Much quicker than reading it all; it was checked when it was stored.
    """
    programme = document["programme"]
    return _outline(
        programme["sets_a_day"], tuple(programme["days"]), programme["starts_on"], programme["review_on"]
    )


@lru_cache(maxsize=4096)
def _outline(sets_a_day: int, days: tuple[str, ...], starts_on: str, review_on: str) -> Prescription:
    return Prescription(
        contractions=(),
        sets_a_day=sets_a_day,
        days=frozenset(DAYS.index(day) for day in days),
        nudge_times=(),
        quiet_from=dt.time(),
        quiet_to=dt.time(),
        round_up_at=dt.time(),
        check_in_day=0,
        check_in_questions=(),
        starts_on=dt.date.fromisoformat(starts_on),
        review_on=dt.date.fromisoformat(review_on),
    )


def to_document(file: PrescriptionFile) -> dict[str, Any]:
    """The prescription as JSON, the way it is kept."""
    return file.model_dump(mode="json")


def schema() -> dict[str, Any]:
    """The JSON Schema of a prescription file, for an editor to complete and check it by."""
    return PrescriptionFile.model_json_schema()
