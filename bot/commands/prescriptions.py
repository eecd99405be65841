"""What the verbs about prescription files share."""

import argparse
import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bot.rules.prescription_models import PrescriptionFile
    from bot.rules.rulebook import Rulebook

FARTHEST_EAST = dt.timezone(dt.timedelta(hours=14))


def add_day(parser: argparse.ArgumentParser, about: str, name: str = "--on") -> None:
    """A day; without another name the one that stands for today."""
    parser.add_argument(name, type=_day, metavar="DATE", help=about)


def _day(typed: str) -> dt.date:
    try:
        return dt.date.fromisoformat(typed)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{typed!r}: expected a day such as 2026-03-02") from None


def add_own(parser: argparse.ArgumentParser) -> None:
    """A clinic's own exercises and limits."""
    parser.add_argument("--own", type=Path, metavar="FILE", help="the clinic's own exercises and limits")


def add_json(parser: argparse._ActionsContainer) -> None:
    """The result for a script."""
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def today(zone: dt.tzinfo = FARTHEST_EAST) -> dt.date:
    """The day it is in a zone; without one, the latest day it is anywhere."""
    from bot.clock import SystemClock  # noqa: PLC0415 - see the package

    return SystemClock().now().astimezone(zone).date()


def print_json(document: object, indent: int | None = None) -> None:
    """A document on standard output; in ASCII, which is UTF-8 under every locale."""
    print(json.dumps(document, indent=indent))


def check(path: Path, rules: "Rulebook", on: dt.date, brief: bool = False) -> dict[str, Any]:
    """What a check of one file found: whether it is fit to be put in force, its faults, what it holds.

    brief: without what it holds but whose it is, as for thousands of files.
    """
    from bot.errors import RefusedError  # noqa: PLC0415 - see the package
    from bot.rules import enrolment_table, faults, prescription_check, prescription_file  # noqa: PLC0415 - same

    try:
        if enrolment_table.is_table(path):
            clients = [file.client for file in enrolment_table.read(path, rules, on)]
            return {"file": str(path), "ok": True, "clients": clients, "faults": []}
        file = prescription_file.read_any(path, rules, on)
    except RefusedError as error:
        return {"file": str(path), "ok": False, "faults": list(error.faults)}
    unfit = [
        faults.line(str(path), faults.dotted(place), message)
        for place, message in prescription_check.unfit(file, rules)
    ]
    contents = {"client": file.client} if brief else _contents(file, rules)
    return {"file": str(path), "ok": not unfit, **contents, "faults": unfit}


def _contents(file: "PrescriptionFile", rules: "Rulebook") -> dict[str, Any]:
    from bot.conversation import prescribing_words as words  # noqa: PLC0415 - see the package
    from bot.domain import dose, gating  # noqa: PLC0415 - the same
    from bot.reports import prescription as report  # noqa: PLC0415 - the same
    from bot.rules import prescription_file  # noqa: PLC0415 - the same

    plan, record = prescription_file.prescription(file), prescription_file.record(file)
    adds_up = dose.dose(plan, rules.catalogue, rules.figures)
    proposed = dose.propose(record.findings, plan.starts_on, rules.figures)
    decisions = gating.gates(rules.catalogue, record, plan.starts_on, rules.limits)
    return {
        "client": file.client,
        "summary": [
            *words.programme(file.client, plan, rules.catalogue),
            *words.dose(adds_up),
            *words.proposal(proposed, rules.catalogue, rules.figures),
            *words.gates(decisions, rules.catalogue),
            *words.record_notes(record, plan.starts_on),
        ],
        "dose": report.dose(adds_up),
        "proposal": report.proposal(proposed, rules.figures),
        **report.gates(record, plan.starts_on, decisions, rules.catalogue),
    }


def in_words(checked: dict[str, Any]) -> str:
    """A check for a person to read."""
    lines = checked.get("summary", [])
    if "clients" in checked:
        lines = [f"{len(checked['clients'])} clients: {', '.join(checked['clients'])}"]
    return "\n  ".join((f"{checked['file']}: fit to be put in force", *lines))
