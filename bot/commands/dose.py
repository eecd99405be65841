"""Show the dose of a prescription, and the first dose its findings would suggest."""

import argparse
from pathlib import Path

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The file."""
    parser.add_argument("file", type=Path, help="prescription in TOML")
    prescriptions.add_own(parser)
    prescriptions.add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Work it out. A dose below the published floor gets a note, not an error."""
    from bot.conversation import prescribing_words as words  # noqa: PLC0415 - see the package
    from bot.domain import dose  # noqa: PLC0415 - the same
    from bot.reports import prescription as report  # noqa: PLC0415 - the same
    from bot.rules import prescription_file, rulebook  # noqa: PLC0415 - the same

    rules = rulebook.with_own(args.own)
    file = prescription_file.read_any(args.file, rules)
    plan = prescription_file.prescription(file)
    adds_up = dose.dose(plan, rules.catalogue, rules.figures)
    proposed = dose.propose(prescription_file.record(file).findings, plan.starts_on, rules.figures)
    if args.json:
        proposal = report.proposal(proposed, rules.figures)
        prescriptions.print_json({"client": file.client, **report.dose(adds_up), "proposal": proposal})
    else:
        print("\n".join(words.dose(adds_up)))
        print("\n".join(words.proposal(proposed, rules.catalogue, rules.figures)))
    return 0
